// The Allan deviation of the ratio of the inputs over the time of averaging, both axes
// in decades.
import { fit, path, svg } from "./draw.js";

const left = 76, top = 14, bottom = 190;

/** Draws it; false where there is nothing to draw. */
export function allan(picture, list) {
  const good = list.filter((p) => p.tau_s > 0 && p.deviation > 0);
  if (good.length < 2) return false;
  const width = fit(picture, 640, 400, 232), right = width - 16;
  const ends = good.flatMap((p) => [p.deviation, p.low, p.high]).filter((v) => v > 0);
  const x = decades(good.map((p) => p.tau_s), left, right), y = decades(ends, bottom, top);
  const nodes = [...x.ticks.map((v) => mark(v + " s", `M${x(v)} ${top}V${bottom}`, x(v), bottom + 18, "middle")),
    ...y.ticks.map((v) => mark(share(v), `M${left} ${y(v)}H${right}`, left - 8, y(v) + 4, "end"))].flat();
  nodes.push(svg("path", { class: "bars", d: good.map((p) => `M${x(p.tau_s)} ${y(p.low || p.deviation)}V${y(p.high || p.deviation)}`).join("") }),
    svg("path", { class: "trace", d: path(good.map((p) => [x(p.tau_s), y(p.deviation)])) }),
    ...good.map((p) => svg("circle", { class: "dot", cx: x(p.tau_s), cy: y(p.deviation), r: 4 })),
    svg("text", { class: "tick", x: (left + right) / 2, y: bottom + 36, "text-anchor": "middle" }, "averaged over"));
  picture.replaceChildren(...nodes);
  return true;
}

const share = (v) => (v >= 1e-3 ? +(100 * v).toPrecision(2) + " %" : +(1e6 * v).toPrecision(2) + " ppm");
const mark = (text, d, x, y, anchor) => [svg("path", { class: "rule", d }), svg("text", { class: "tick", x, y, "text-anchor": anchor }, text)];

// decades is a logarithmic scale with ticks at 1, 2, 5.
function decades(values, from, to) {
  const low = Math.log10(Math.min(...values)) - 0.08, high = Math.log10(Math.max(...values)) + 0.08;
  const at = (v) => from + ((Math.log10(v) - low) / (high - low)) * (to - from);
  at.ticks = [];
  for (let p = Math.floor(low); p <= high; p++) for (const s of [1, 2, 5]) {
    const v = s * 10 ** p, l = Math.log10(v);
    if (l >= low && l <= high) at.ticks.push(+v.toPrecision(3));
  }
  return at;
}
