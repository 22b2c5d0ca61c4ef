// Two equivalents, drawn as the circuits they are.
import { svg } from "./draw.js";

// Symbols, 60 wide, on a wire at y = 0.
const symbols = {
  R: "M0 0H8M8 -9H52V9H8ZM52 0H60",
  C: "M0 0H26M26 -15V15M34 -15V15M34 0H60",
  L: "M0 0H6a8 8 0 0 1 16 0a8 8 0 0 1 16 0a8 8 0 0 1 16 0H60",
};

function symbol(element, x, y) {
  const g = svg("g", { transform: `translate(${x} ${y})` });
  g.append(svg("path", { class: "symbol", d: symbols[element.letter] }));
  return g;
}

function label(element, x, y) {
  const g = svg("g");
  const value = element.value ?? element.text;
  g.append(svg("text", { class: "element", x, y, "text-anchor": "middle" }, `${element.letter} ${value}`));
  if (element.half) g.append(svg("text", { class: "element-half", x, y: y + 15, "text-anchor": "middle" }, element.half));
  return g;
}

// told parts what can be drawn from what is only bounded on both sides of zero: there
// is no circuit with a coil and a capacitor that stand for the same unknown reactance.
function told(elements) {
  const both = ["C", "L"].every((letter) => elements.some((e) => e.letter === letter));
  if (!both) return [elements, ""];
  const rest = elements.filter((e) => e.letter !== "R");
  return [elements.filter((e) => e.letter === "R"), "reactance: none told, " + rest.map((e) => `${e.letter} ${e.text}`).join(" or ")];
}

const note = (text, y) => svg("text", { class: "element-half", x: 150, y, "text-anchor": "middle" }, text);

/** One element behind the other. */
export function series(picture, all) {
  const [elements, more] = told(all);
  const room = 280 / Math.max(1, elements.length), y = 24;
  const nodes = [svg("circle", { class: "terminal", cx: 10, cy: y, r: 4 }), svg("circle", { class: "terminal", cx: 290, cy: y, r: 4 })];
  let x = 14, wires = "";
  elements.forEach((e, i) => {
    const middle = 10 + room * (i + 0.5);
    wires += `M${x} ${y}H${middle - 30}`;
    x = middle + 30;
    nodes.push(symbol(e, middle - 30, y), label(e, middle, y + 34));
  });
  nodes.push(svg("path", { class: "symbol", d: wires + `M${x} ${y}H286` }));
  picture.setAttribute("viewBox", `0 0 300 ${more ? 100 : 84}`);
  picture.replaceChildren(...nodes);
  if (more) picture.append(note(more, 92));
  if (!elements.length) picture.append(note("nothing can be told of it", 58));
  describe(picture, "in series", all);
}

/** One element above the other. */
export function parallel(picture, all) {
  const [elements, more] = told(all);
  const step = 54, top = 20, bottom = top + step * Math.max(0, elements.length - 1), middle = (top + bottom) / 2;
  const nodes = [svg("circle", { class: "terminal", cx: 10, cy: middle, r: 4 }), svg("circle", { class: "terminal", cx: 290, cy: middle, r: 4 })];
  let wires = `M14 ${middle}H30M286 ${middle}H270M30 ${top}V${bottom}M270 ${top}V${bottom}`;
  elements.forEach((e, i) => {
    const y = top + i * step;
    wires += `M30 ${y}H40M100 ${y}H270`;
    nodes.push(symbol(e, 40, y), label(e, 190, y + 18));
  });
  nodes.push(svg("path", { class: "symbol", d: wires }));
  picture.setAttribute("viewBox", `0 0 300 ${bottom + (more ? 62 : 40)}`);
  picture.replaceChildren(...nodes);
  if (more) picture.append(note(more, bottom + 52));
  if (!elements.length) picture.append(note("nothing can be told of it", 24));
  describe(picture, "in parallel", all);
}

function describe(picture, how, elements) {
  picture.setAttribute("aria-label", elements.length ? how + ": " + elements.map((e) => `${e.letter} ${e.text}`).join(", ") : how + ": nothing can be told");
}
