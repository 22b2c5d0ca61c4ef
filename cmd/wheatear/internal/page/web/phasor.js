// The impedance as an arrow in its plane: resistance to the right, reactance up. On the
// lines at 45 degrees |Q| is 1: they part what is mostly a resistor from what is mostly
// a coil or a capacitor.
import { at, nextRound, round, set, svg } from "./draw.js";
import { sentenceOf } from "./figure.js";
import { interval } from "./told.js";

const origin = { x: 72, y: 165 };
const reach = 138;
const names = [["inductor", -66], ["resistor", 9], ["capacitor", 66]];

/** The picture; nothing is what it says while there is no reading. */
export function phasor(picture, nothing = "nothing is read yet") {
  const parts = still(picture);
  let scale = 0, spoken = 0;
  const draw = (sheet) => {
    const arrow = sheet?.arrow, seen = sheet?.trusted && arrow;
    parts.moving.style.display = seen ? "" : "none";
    parts.none.textContent = seen ? "" : sheet?.refused ? "not worked out" : sheet ? "beyond the picture" : nothing;
    if (seen) scale = place(parts, arrow, scale);
    else {
      scale = 0;
      parts.rings.forEach((label) => (label.textContent = ""));
    }
    for (const [kind, node] of Object.entries(parts.kinds)) node.classList.toggle("is", kind === sheet?.kind);
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
  const diagonal = (reach + 12) * Math.SQRT1_2;
  picture.replaceChildren(
    svg("path", { class: "boundary", d: `M${x} ${y}L${at(x + diagonal)} ${at(y - diagonal)}M${x} ${y}L${at(x + diagonal)} ${at(y + diagonal)}` }),
    svg("path", { class: "axis", d: `M${x} ${y - reach - 12}V${y + reach + 12}M${x - 8} ${y}H${x + reach + 18}` }),
    svg("text", { class: "axis-name", x: x + reach + 22, y: y + 4 }, "R"),
    svg("text", { class: "axis-name", x: x + 7, y: y - reach - 4 }, "+X"),
    svg("text", { class: "axis-name", x: x + 7, y: y + reach + 14 }, "−X"),
    ...[-1, 1].map((side) => svg("text", { class: "ring-name", x: at(x + diagonal + 4), y: at(y + side * diagonal + (side > 0 ? 10 : 0)) }, "|Q| = 1")),
  );
  const rings = [1, 0.5].map((share) => {
    const r = reach * share;
    picture.append(svg("path", { class: "ring", d: `M${x} ${y - r}A${r} ${r} 0 0 1 ${x} ${y + r}` }));
    const label = svg("text", { class: "ring-name", x: x - 6, y: y - r + 4, "text-anchor": "end" });
    picture.append(label);
    return label;
  });
  const kinds = {};
  for (const [name, angle] of names) {
    const turn = (angle * Math.PI) / 180, far = reach * 0.78;
    kinds[name] = svg("text", { class: "kind", x: at(x + far * Math.cos(turn)), y: at(y + far * Math.sin(turn)), "text-anchor": "middle" }, name);
    picture.append(kinds[name]);
  }
  const line = svg("line", { x1: x, y1: y, x2: x, y2: y }), head = svg("path", { d: "M0 0L-13 -6L-10 0L-13 6Z" }), region = svg("ellipse", { class: "region" });
  const arc = svg("path", { class: "turn" }), angle = svg("text", { class: "angle" });
  const moving = svg("g", { class: "arrow" });
  moving.append(arc, region, line, head, angle);
  const none = svg("text", { class: "none", x: x + reach / 2, y: y - 10, "text-anchor": "middle" });
  picture.append(moving, none);
  return { rings, kinds, moving, line, head, region, arc, angle, none };
}

// place turns the arrow and returns the scale in use: ohm at the outer ring.
function place(parts, arrow, scale) {
  const size = Math.hypot(arrow.re, arrow.im);
  if (!(size > 0.3 * scale && size <= scale)) scale = nextRound(Math.max(size, 1e-6) * 1.02);
  const k = reach / scale, end = { x: origin.x + arrow.re * k, y: origin.y - arrow.im * k };
  set(parts.line, { x2: at(end.x), y2: at(end.y) });
  const turn = Math.atan2(arrow.im, arrow.re);
  set(parts.head, { transform: `translate(${at(end.x)} ${at(end.y)}) rotate(${at((-turn * 180) / Math.PI)})` });
  ellipse(parts.region, arrow, end, k);
  const r = 34, tip = { x: origin.x + r * Math.cos(turn), y: origin.y - r * Math.sin(turn) };
  set(parts.arc, { d: `M${origin.x + r} ${origin.y}A${r} ${r} 0 0 ${turn > 0 ? 0 : 1} ${at(tip.x)} ${at(tip.y)}` });
  const half = turn / 2, away = r + 8;
  set(parts.angle, { x: at(origin.x + away * Math.cos(half)), y: at(origin.y - away * Math.sin(half) + 4) });
  parts.angle.textContent = Math.abs(turn) < 0.02 ? "" : ((turn * 180) / Math.PI).toFixed(1).replace("-", "−") + "°";
  parts.rings.forEach((label, i) => (label.textContent = round(scale / (i + 1), "Ω")));
  return scale;
}

// ellipse is the region that contains the impedance with 95 %: the axes are those of
// the covariance.
function ellipse(node, a, end, k) {
  const xx = a.u_re ** 2, yy = a.u_im ** 2, xy = a.correlation * a.u_re * a.u_im;
  const middle = (xx + yy) / 2, apart = Math.hypot((xx - yy) / 2, xy);
  const turn = (0.5 * Math.atan2(2 * xy, xx - yy) * 180) / Math.PI;
  set(node, {
    cx: at(end.x), cy: at(end.y), transform: `rotate(${at(-turn)} ${at(end.x)} ${at(end.y)})`,
    rx: at(Math.min(500, Math.max(2.5, a.k * k * Math.sqrt(middle + apart)))), ry: at(Math.min(500, Math.max(2.5, a.k * k * Math.sqrt(Math.max(0, middle - apart))))),
  });
}

function spokenText(sheet) {
  if (!sheet) return "No reading yet";
  const half = sheet.headline.half ? " " + interval(sheet.headline.half).replace("±", "plus or minus") : "";
  return sheet.trusted ? `${sentenceOf(sheet) || sheet.state} ${sheet.headline.value}${half}` : "Reading " + sentenceOf(sheet);
}
