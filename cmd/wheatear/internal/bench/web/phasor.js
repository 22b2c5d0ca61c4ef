// The impedance as an arrow in its plane: resistance to the right, reactance up. The
// lines at 45 degrees part what is mostly a resistor from what is mostly a coil or a
// capacitor.
import { at, fit, nextRound, round, set, svg } from "./draw.js";

const origin = { x: 70, y: 240 };
const reach = 212;
const names = [["inductor", -67], ["resistor", 0], ["capacitor", 67]];

export function phasor(picture) {
  const parts = still(picture);
  let scale = 0, spoken = 0;
  return (sheet) => {
    const arrow = sheet?.arrow;
    parts.wide = fit(picture, 720, 500, 480);
    const seen = sheet?.trusted && arrow;
    parts.moving.style.display = seen ? "" : "none";
    write(parts, sheet);
    if (seen) scale = place(parts, arrow, scale);
    else beside(parts, { x: origin.x + reach, y: origin.y - 40 });
    if (Date.now() - spoken > 2000) {
      spoken = Date.now();
      picture.setAttribute("aria-label", spokenText(sheet));
    }
  };
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
  const line = svg("line", { x1: x, y1: y }), head = svg("path", { d: "M0 0L-24 -10L-19 0L-24 10Z" }), region = svg("ellipse", { class: "region" });
  moving.append(region, line, head);
  const text = svg("g", { class: "value" });
  const value = svg("text", { class: "figure" }), half = svg("text", { class: "half", y: 38 }), name = svg("text", { class: "name", y: 66 });
  text.append(value, half, name);
  picture.append(moving, text);
  return { picture, rings, kinds, moving, line, head, region, text, value, half, name };
}

function write(parts, sheet) {
  const head = sheet?.headline;
  parts.value.textContent = head?.value ?? "";
  parts.half.textContent = head?.half ? "± " + head.half : "";
  parts.name.textContent = sheet?.refused ? "refused: " + sheet.refused : [sheet?.kind, head?.name].filter(Boolean).join(": ");
  for (const [kind, node] of Object.entries(parts.kinds)) node.classList.toggle("is", kind === sheet?.kind);
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

// beside writes the value where the arrow ends, but within the picture.
function beside(parts, end) {
  const long = Math.max(...[parts.value, parts.half, parts.name].map((t) => t.getComputedTextLength()));
  const x = Math.max(8, Math.min(end.x + 26, parts.wide - long - 6));
  const y = Math.min(400, Math.max(62, end.y + (end.y > origin.y + 60 ? -18 : 22)));
  set(parts.text, { transform: `translate(${at(x)} ${at(y)})` });
}

function spokenText(sheet) {
  if (!sheet) return "No reading yet";
  if (!sheet.trusted) return "Reading refused: " + sheet.refused;
  const half = sheet.headline.half ? " plus or minus " + sheet.headline.half : "";
  return `${sheet.kind || sheet.state}: ${sheet.headline.name} ${sheet.headline.value}${half}`;
}
