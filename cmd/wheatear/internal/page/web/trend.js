// The last minutes of the value that dominates, with its interval as a band.
import { get } from "./bench.js";
import { fit, path, round, svg } from "./draw.js";

const area = { left: 78, right: 0, top: 10, bottom: 88 };
const seconds = 300;

export function trend(picture) {
  let points = [], of = null;
  const draw = () => {
    const right = fit(picture, 720, 400, 110) - 8;
    picture.replaceChildren(...drawing(points, { ...area, right }));
  };
  const fill = async () => {
    points = ((await get("trend")) ?? []).map(dated);
    draw();
  };
  fill();
  return {
    fill,
    /** Adds a point of a part; another part begins anew. */
    add(point, part) {
      if (of !== null && part !== of && points.length) {
        points = [];
        draw();
      }
      of = part;
      if (!point) return;
      points.push(dated(point));
      points = points.filter((p) => points.at(-1).t - p.t < seconds);
      draw();
    },
  };
}

const dated = (p) => ({ ...p, t: Date.parse(p.time) / 1000 });

function drawing(all, area) {
  const last = all.at(-1);
  if (!last) return [svg("text", { class: "tick", x: area.right / 2, y: 56, "text-anchor": "middle" }, "a point a second will appear here")];
  const points = all.filter((p) => p.unit === last.unit && p.text === last.text && last.t - p.t < seconds);
  let low = Math.min(...points.map((p) => p.low)), high = Math.max(...points.map((p) => p.high));
  const least = Math.abs(last.value) * 1e-5 || 1e-12;
  if (high - low < least) [low, high] = [low - least / 2, high + least / 2];
  const x = (t) => area.right - ((last.t - t) / seconds) * (area.right - area.left);
  const y = (v) => area.bottom - ((v - low) / (high - low)) * (area.bottom - area.top);
  const band = [...points.map((p) => [x(p.t), y(p.high)]), ...points.toReversed().map((p) => [x(p.t), y(p.low)])];
  const nodes = [
    svg("path", { class: "rule", d: `M${area.left} ${area.top}H${area.right}M${area.left} ${area.bottom}H${area.right}` }),
    svg("path", { class: "band", d: path(band) + "Z" }),
    svg("path", { class: "trace input1", d: path(points.map((p) => [x(p.t), y(p.value)])) }),
    svg("circle", { class: "dot", cx: x(last.t), cy: y(last.value), r: 3 }),
    svg("text", { class: "tick", x: area.left - 6, y: area.top + 5, "text-anchor": "end" }, digits(high, low, last.unit)),
    svg("text", { class: "tick", x: area.left - 6, y: area.bottom + 4, "text-anchor": "end" }, digits(low, high, last.unit)),
  ];
  for (const back of [60, 120, 180, 240]) {
    nodes.push(svg("text", { class: "tick", x: x(last.t - back), y: 106, "text-anchor": "middle" }, `−${back / 60} min`));
  }
  return nodes;
}

// digits writes a limit with as many as the height of the picture needs.
function digits(value, other, unit) {
  const step = 10 ** Math.floor(Math.log10(Math.abs(value - other)) - 1);
  return round(Math.round(value / step) * step, unit, 6);
}
