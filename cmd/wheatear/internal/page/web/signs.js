// The shapes of verdicts: each has one of its own, to be told without colour and from afar.
import { svg } from "./draw.js";

/** The same in a letter, for lists. */
export const marks = { pass: "✓", fail: "✗", undecided: "?", unread: "∅" };

const shapes = {
  pass: () => [svg("circle", { class: "field", cx: 50, cy: 50, r: 46 }), svg("path", { class: "stroke", d: "M27 52L44 69L75 33" })],
  fail: () => [svg("rect", { class: "field", x: 6, y: 6, width: 88, height: 88 }), svg("path", { class: "stroke", d: "M29 29L71 71M71 29L29 71" })],
  undecided: () => [svg("path", { class: "field", d: "M50 2L98 50L50 98L2 50Z" }), svg("path", { class: "stroke", d: "M37 40Q37 27 50 27Q63 27 63 39Q63 47 50 54V60M50 72V74" })],
  unread: () => [svg("path", { class: "hollow", d: "M50 8A42 42 0 1 0 50.1 8M21 79L79 21" })],
  wait: () => [svg("path", { class: "hollow", d: "M14 50H86" })],
};

/** Draws the shape of a verdict; of none, nothing. */
export function sign(picture, outcome) {
  if (picture.dataset.of === (outcome ?? "")) return;
  picture.dataset.of = outcome ?? "";
  picture.replaceChildren(...(shapes[outcome]?.() ?? []));
}
