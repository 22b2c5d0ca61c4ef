// Small helpers for drawings.

const svgNS = "http://www.w3.org/2000/svg";

/** A new SVG element. */
export function svg(name, attributes = {}, text) {
  const node = document.createElementNS(svgNS, name);
  set(node, attributes);
  if (text !== undefined) node.textContent = text;
  return node;
}

export function set(node, attributes) {
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  return node;
}

const prefixes = { "-12": "p", "-9": "n", "-6": "µ", "-3": "m", 0: "", 3: "k", 6: "M", 9: "G" };

/** Writes a round number of an axis, such as 0.002 Ω as 2 mΩ. */
export function round(value, unit, most = 4) {
  if (value === 0) return "0 " + unit;
  const power = Math.max(-12, Math.min(9, 3 * Math.floor(Math.log10(Math.abs(value)) / 3 + 1e-9)));
  return `${+(value / 10 ** power).toPrecision(most)} ${prefixes[power]}${unit}`;
}

/** The next of 1, 2, 5 times a power of ten that is not below. */
export function nextRound(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  for (const step of [1, 2, 5]) if (value <= step * power * 1.0000001) return step * power;
  return 10 * power;
}

/** Chooses the width of a drawing for the room there is, so that its letters stay large enough. */
export function fit(picture, wide, narrow, high) {
  const width = picture.clientWidth > 0 && picture.clientWidth < 520 ? narrow : wide;
  const box = `0 0 ${width} ${high}`;
  if (picture.getAttribute("viewBox") !== box) picture.setAttribute("viewBox", box);
  return width;
}

/** Rounds places for a path. */
export const at = (x) => Math.round(x * 10) / 10;

export const path = (points) => points.map(([x, y], i) => `${i ? "L" : "M"}${at(x)} ${at(y)}`).join("");
