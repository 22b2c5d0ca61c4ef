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
  const [value, half] = element.text.split(" ± ");
  g.append(svg("text", { class: "element", x, y, "text-anchor": "middle" }, `${element.letter} ${value}`));
  if (half) g.append(svg("text", { class: "element-half", x, y: y + 15, "text-anchor": "middle" }, "± " + half));
  return g;
}

/** One element behind the other. */
export function series(picture, elements) {
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
  picture.replaceChildren(...nodes);
  if (!elements.length) picture.append(svg("text", { class: "element-half", x: 150, y: 58, "text-anchor": "middle" }, "nothing can be told of it"));
  describe(picture, "in series", elements);
}

/** One element above the other. */
export function parallel(picture, elements) {
  const step = 54, top = 20, bottom = top + step * Math.max(0, elements.length - 1), middle = (top + bottom) / 2;
  const nodes = [svg("circle", { class: "terminal", cx: 10, cy: middle, r: 4 }), svg("circle", { class: "terminal", cx: 290, cy: middle, r: 4 })];
  let wires = `M14 ${middle}H30M286 ${middle}H270M30 ${top}V${bottom}M270 ${top}V${bottom}`;
  elements.forEach((e, i) => {
    const y = top + i * step;
    wires += `M30 ${y}H40M100 ${y}H270`;
    nodes.push(symbol(e, 40, y), label(e, 190, y + 18));
  });
  nodes.push(svg("path", { class: "symbol", d: wires }));
  picture.setAttribute("viewBox", `0 0 300 ${bottom + 40}`);
  picture.replaceChildren(...nodes);
  describe(picture, "in parallel", elements);
}

function describe(picture, how, elements) {
  picture.setAttribute("aria-label", elements.length ? how + ": " + elements.map((e) => `${e.letter} ${e.text}`).join(", ") : how + ": nothing can be told");
}
