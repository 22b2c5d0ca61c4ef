// What each surroundings leave of a part: intervals on one scale, the answer above.
import { fit, round, set, svg } from "./draw.js";

const left = 150, row = 34, top = 12;

/** Draws the answer and the values under each surroundings that agree with the readings. */
export function leaves(picture, result) {
  const rows = [];
  if (result.told && known(result.value)) rows.push({ name: "what all leave", class: "answer", ...result.value });
  for (const m of result.models) if (known(m.value)) rows.push({ name: m.around ? m.around + " around it" : "nothing around it", class: "", ...m.value });
  const high = top + row * Math.max(rows.length, 1) + 30, width = fit(picture, 640, 400, high), right = width - 16;
  if (!rows.length) {
    picture.replaceChildren(svg("text", { class: "tick", x: width / 2, y: high / 2, "text-anchor": "middle" }, "no surroundings leave a value"));
    return;
  }
  const ends = rows.flatMap((r) => [r.low, r.high]), low = Math.min(...ends), most = Math.max(...ends), room = Math.max(most - low, Math.abs(most) * 1e-4) * 0.08;
  const x = (v) => left + ((v - low + room) / (most - low + 2 * room)) * (right - left);
  const bottom = top + row * rows.length;
  const nodes = scale(low, most).map((v) => [svg("path", { class: "rule", d: `M${x(v)} ${top}V${bottom}` }), svg("text", { class: "tick", x: x(v), y: bottom + 18, "text-anchor": "middle" }, round(v, result.unit, 6))]).flat();
  rows.forEach((r, i) => {
    const y = top + row * (i + 0.5);
    nodes.push(svg("text", { class: "tick", x: left - 10, y: y + 4, "text-anchor": "end" }, r.name),
      svg("path", { class: "span " + r.class, d: `M${x(r.low)} ${y}H${x(r.high)}M${x(r.low)} ${y - 7}v14M${x(r.high)} ${y - 7}v14` }),
      svg("circle", { class: "dot", cx: x(r.value), cy: y, r: r.class ? 6 : 4 }));
  });
  picture.replaceChildren(...nodes);
  set(picture, { "aria-label": `Values of the part under ${rows.length} surroundings; the table below has them in figures` });
}

const known = (q) => q != null && q.value != null && q.low != null && q.high != null;

// scale has three or so round places between two ends.
function scale(low, high) {
  const wide = high - low || Math.abs(high) * 1e-4, power = 10 ** Math.floor(Math.log10(wide / 2));
  const step = [5, 2, 1].map((s) => s * power).find((s) => wide / s >= 2) ?? power;
  const out = [];
  for (let v = Math.ceil(low / step) * step; v <= high + step * 1e-9; v += step) out.push(v);
  return out.length ? out : [low];
}
