// What is seen of a standard as it settles: |Z| over the last seconds, and where it
// should come to lie.
import { fit, path, round, svg } from "./draw.js";

const seconds = 20, area = { left: 78, top: 8, bottom: 108 };

export function settling(picture) {
  let points = [], of = "";
  /** Adds what is seen now; within are the ends of what is expected, 0 for none. */
  return (part, ohm, within) => {
    const now = Date.now() / 1000;
    if (part !== of) [points, of] = [[], part];
    if (ohm > 0) points.push({ t: now, ohm });
    points = points.filter((p) => now - p.t < seconds);
    draw(picture, points, within, now);
  };
}

function draw(picture, points, within, now) {
  const right = fit(picture, 720, 500, 120) - 8;
  const [low, high] = ends(points, within);
  const x = (t) => right - ((now - t) / seconds) * (right - area.left);
  const y = (v) => area.bottom - (Math.log(Math.max(low, Math.min(high, v)) / low) / Math.log(high / low)) * (area.bottom - area.top);
  const top = y(within?.[1] || high), bottom = y(within?.[0] || low);
  const nodes = [
    svg("rect", { class: "band", x: area.left, y: top, width: right - area.left, height: Math.max(2, bottom - top) }),
    svg("path", { class: "rule", d: `M${area.left} ${area.top}H${right}M${area.left} ${area.bottom}H${right}` }),
    svg("text", { class: "tick", x: area.left - 6, y: area.top + 5, "text-anchor": "end" }, round(high, "Ω", 2)),
    svg("text", { class: "tick", x: area.left - 6, y: area.bottom + 4, "text-anchor": "end" }, round(low, "Ω", 2)),
    svg("path", { class: "trace input1", d: path(points.map((p) => [x(p.t), y(p.ohm)])) }),
  ];
  const last = points.at(-1);
  if (last) nodes.push(svg("circle", { class: "dot", cx: x(last.t), cy: y(last.ohm), r: 4 }));
  picture.replaceChildren(...nodes);
}

// ends are whole decades that hold all that was seen and what is expected, two at least.
function ends(points, within) {
  const all = [...points.map((p) => p.ohm), ...(within ?? []).filter((v) => v > 0)];
  let low = 10 ** Math.floor(Math.log10(Math.min(...all, 1e9))), high = 10 ** Math.ceil(Math.log10(Math.max(...all, 1e-6)));
  if (high <= 10 * low) [low, high] = [low / 10, high * 10];
  return [low, high];
}
