// The impedance as an arrow in its plane: resistance to the right, reactance up. The
// lines at 45 degrees part what is mostly a resistor from what is mostly a coil or a
// capacitor.
import { at, fit, nextRound, round, set, svg } from "./draw.js";
import { interval } from "./told.js";

const high = 560;
const origin = { x: 70, y: high / 2 };
const reach = 240;
const names = [["inductor", -67], ["resistor", 0], ["capacitor", 67]];

/** The picture; nothing is what it says while there is no reading. */
export function phasor(picture, nothing = "nothing is read yet") {
  const parts = still(picture);
  let scale = 0, spoken = 0;
  const draw = (sheet) => {
    const arrow = sheet?.arrow;
    parts.wide = fit(picture, 720, 500, high);
    const seen = sheet?.trusted && arrow;
    parts.moving.style.display = seen ? "" : "none";
    write(parts, sheet, nothing);
    if (seen) scale = place(parts, arrow, scale);
    else {
      scale = 0;
      parts.rings.forEach((label) => (label.textContent = ""));
      beside(parts, sheet ? { x: origin.x + reach * 0.4, y: origin.y } : { x: origin.x + reach, y: origin.y - 60 });
    }
    if (Date.now() - spoken > 2000) {
      spoken = Date.now();
      picture.setAttribute("aria-label", spokenText(sheet));
    }
  };
  draw(null);
  return draw;
}

// still draws what does not move.
function still(picture) {
  const { x, y } = origin;
  const diagonal = reach * Math.SQRT1_2 + 14;
  picture.replaceChildren(
    svg("path", { class: "resistive", d: `M${x} ${y}L${at(x + diagonal)} ${at(y - diagonal)}A${reach + 20} ${reach + 20} 0 0 1 ${at(x + diagonal)} ${at(y + diagonal)}Z` }),
    svg("path", { class: "axis", d: `M${x} ${y - reach - 20}V${y + reach + 20}M${x - 44} ${y}H${x + reach + 26}` }),
    svg("path", { class: "boundary", d: `M${x} ${y}L${at(x + diagonal)} ${at(y - diagonal)}M${x} ${y}L${at(x + diagonal)} ${at(y + diagonal)}` }),
    svg("text", { class: "axis-name", x: x + reach + 30, y: y + 5 }, "R"),
    svg("text", { class: "axis-name", x: x - 8, y: y - reach - 8, "text-anchor": "end" }, "+X"),
    svg("text", { class: "axis-name", x: x - 8, y: y + reach + 18, "text-anchor": "end" }, "−X"),
    svg("text", { class: "axis-name", x: x + diagonal + 4, y: y - diagonal + 2 }, "45°"),
  );
  const rings = [1, 0.5].map((share) => {
    const ring = svg("path", { class: "ring", d: `M${x} ${y - reach * share}A${reach * share} ${reach * share} 0 0 1 ${x} ${y + reach * share}` });
    const label = svg("text", { class: "ring-name", x: x - 6, y: y - reach * share + 16, "text-anchor": "end" });
    picture.append(ring, label);
    return label;
  });
  const kinds = {};
  for (const [name, angle] of names) {
    const turn = (angle * Math.PI) / 180, far = reach * 0.62;
    kinds[name] = svg("text", { class: "kind", x: at(x + far * Math.cos(turn)), y: at(y + far * Math.sin(turn) - 8), "text-anchor": "middle" }, name);
    picture.append(kinds[name]);
  }
  const moving = svg("g", { class: "arrow" });
  const line = svg("line", { x1: x, y1: y, x2: x, y2: y }), head = svg("path", { d: "M0 0L-24 -10L-19 0L-24 10Z" }), region = svg("ellipse", { class: "region" });
  moving.append(region, line, head);
  const text = svg("g", { class: "value" });
  const value = svg("text", { class: "figure" }), half = svg("text", { class: "half" }), name = svg("text", { class: "name" });
  text.append(value, half, name);
  picture.append(moving, text);
  return { picture, rings, kinds, moving, line, head, region, text, value, half, name };
}

function write(parts, sheet, nothing) {
  const head = sheet?.headline;
  parts.value.textContent = sheet?.refused ? "no value" : head?.value ?? "";
  parts.half.textContent = interval(head?.half);
  parts.name.textContent = !sheet ? nothing : sheet.refused ? "refused: " + sheet.refused : [sheet.kind, head?.name].filter(Boolean).join(": ");
  parts.text.setAttribute("class", sheet?.refused ? "value refused" : "value");
  for (const [kind, node] of Object.entries(parts.kinds)) node.classList.toggle("is", sheet != null && (kind === sheet.kind || !sheet.arrow)); // what the value would cover
  size(parts);
}

// size makes the value as large as the picture lets it be, for reading it from afar.
function size(parts) {
  const most = parts.wide > 600 ? 80 : 64, room = parts.wide - 20;
  set(parts.value, { "font-size": most });
  const long = parts.value.getComputedTextLength();
  const font = long > room ? (most * room) / long : most;
  parts.font = font;
  set(parts.value, { "font-size": at(font) });
  set(parts.half, { "font-size": at(font / 2), y: at(font * 0.58) });
  const below = parts.half.textContent ? font * 0.58 + 32 : parts.value.textContent ? 36 : 0;
  set(parts.name, { "font-size": 22, y: at(below) });
  const name = parts.name.getComputedTextLength();
  if (name > room) set(parts.name, { "font-size": at((22 * room) / name) });
  parts.below = below + 8;
}

// place turns the arrow and returns the scale in use: ohm at the outer ring.
function place(parts, arrow, scale) {
  const size = Math.hypot(arrow.re, arrow.im);
  if (!(size > 0.3 * scale && size <= scale)) scale = nextRound(Math.max(size, 1e-6) * 1.02);
  const k = reach / scale;
  const end = { x: origin.x + arrow.re * k, y: origin.y - arrow.im * k };
  set(parts.line, { x2: at(end.x), y2: at(end.y) });
  const turn = (-Math.atan2(arrow.im, arrow.re) * 180) / Math.PI;
  set(parts.head, { transform: `translate(${at(end.x)} ${at(end.y)}) rotate(${at(turn)})` });
  ellipse(parts.region, arrow, end, k);
  parts.rings.forEach((label, i) => (label.textContent = round(scale / (i + 1), "Ω")));
  beside(parts, end);
  return scale;
}

// ellipse is the region that holds the impedance with 95 %: the axes are those of
// the covariance.
function ellipse(node, a, end, k) {
  const xx = a.u_re ** 2, yy = a.u_im ** 2, xy = a.correlation * a.u_re * a.u_im;
  const middle = (xx + yy) / 2, apart = Math.hypot((xx - yy) / 2, xy);
  const turn = (0.5 * Math.atan2(2 * xy, xx - yy) * 180) / Math.PI;
  set(node, {
    cx: at(end.x), cy: at(end.y), transform: `rotate(${at(-turn)} ${at(end.x)} ${at(end.y)})`,
    rx: at(Math.min(900, a.k * k * Math.sqrt(middle + apart))), ry: at(Math.min(900, a.k * k * Math.sqrt(Math.max(0, middle - apart)))),
  });
}

// beside writes the value where the arrow ends: to its right where there is room, else
// on the inner side of the arrow, so that it never lies on it.
function beside(parts, end) {
  const long = Math.max(...[parts.value, parts.half, parts.name].map((t) => t.getComputedTextLength()));
  const above = parts.font * 0.76, beyond = Math.max(end.x, origin.x) + 30;
  const x = Math.max(8, Math.min(beyond, parts.wide - long - 8));
  let y = end.y + (end.y > origin.y + 60 ? -18 : 22);
  if (x < beyond - 10) {
    const gap = 22, slope = (end.y - origin.y) / Math.max(1, end.x - origin.x);
    const line = origin.y + slope * (Math.max(x, origin.x) - origin.x);
    y = end.y > origin.y + 20 ? Math.min(line, end.y) - gap - parts.below : Math.max(line, end.y) + gap + above;
  }
  y = Math.min(high - parts.below, Math.max(above + 4, y));
  set(parts.text, { transform: `translate(${at(x)} ${at(y)})` });
}

function spokenText(sheet) {
  if (!sheet) return "No reading yet";
  if (!sheet.trusted) return "Reading refused: " + sheet.refused;
  const half = sheet.headline.half ? " " + interval(sheet.headline.half).replace("±", "plus or minus") : "";
  return `${sheet.kind || sheet.state}: ${sheet.headline.name} ${sheet.headline.value}${half}`;
}
