// One part over time: its readings with their intervals, and the line through them.
import { clock } from "./bench.js";
import { at, path, round, set, svg } from "./draw.js";

const high = 260;

/** Draws a history into a picture. open is the number of the entry that is looked at; go is called with that of one that is chosen. */
export function history(picture, told, open, go) {
  // A unit of the drawing is a pixel, so that letters are as large as they say.
  const draw = () => {
    const width = Math.max(300, Math.round(picture.clientWidth) || 720);
    set(picture, { viewBox: `0 0 ${width} ${high}` }).replaceChildren(...drawing(told, { left: width < 420 ? 72 : 92, right: width - 16, top: 14, bottom: 214 }, open, go));
  };
  draw();
  return draw;
}

function drawing(told, area, open, go) {
  const points = told.points.map((p) => ({ ...p, t: Date.parse(p.time) }));
  const line = told.line.map((p) => ({ ...p, t: Date.parse(p.time) }));
  const [from, to] = spread(points[0].t, points.at(-1).t, 0.04, 60e3);
  const [low, top] = limits(points, line);
  const x = (t) => area.left + ((t - from) / (to - from)) * (area.right - area.left);
  const y = (v) => at(area.bottom - ((Math.min(top, Math.max(low, v)) - low) / (top - low)) * (area.bottom - area.top));
  const nodes = [...values(low, top, told.unit, area, y), ...times(from, to, area, x)];
  if (line.length) {
    const band = [...line.map((p) => [x(p.t), y(p.high)]), ...line.toReversed().map((p) => [x(p.t), y(p.low)])];
    nodes.push(svg("path", { class: "band", d: path(band) + "Z" }), svg("path", { class: "trend-line", d: path(line.map((p) => [x(p.t), y(p.value)])) }));
  }
  const crowded = points.length > 120;
  for (const p of points) nodes.push(reading(p, x(p.t), y, p.id === open, crowded, go));
  return nodes;
}

/** The axis must hold every value and what the line may be, and intervals as far as they leave the values to be seen. */
function limits(points, line) {
  const all = [...points.map((p) => p.value), ...line.flatMap((p) => [p.low, p.high])];
  let low = Math.min(...all), high = Math.max(...all);
  const room = Math.max(high - low, ...points.map((p) => 2.2 * p.u), Math.abs(high) * 1e-7, 1e-15);
  for (const p of points) {
    low = Math.min(low, Math.max(p.low ?? -Infinity, low - room));
    high = Math.max(high, Math.min(p.high ?? Infinity, high + room));
  }
  return spread(low, high, 0.06, 1e-15);
}

function spread(low, high, share, least) {
  const more = Math.max((high - low) * share, least);
  return [low - more, high + more];
}

function reading(p, x, y, isOpen, crowded, go) {
  const group = svg("g", { class: "past-reading" + (isOpen ? " is-open" : "") });
  const low = p.low ?? -Infinity, high = p.high ?? Infinity;
  group.append(svg("title", {}, `${clock(p.time)}: ${p.text}`));
  const bar = `M${at(x)} ${y(low)}V${y(high)}`;
  group.append(svg("path", { class: "error-bar", d: crowded ? bar : `${bar}M${at(x) - 4} ${y(low)}h8M${at(x) - 4} ${y(high)}h8` }));
  group.append(svg("circle", { class: "dot", cx: at(x), cy: y(p.value), r: isOpen ? 6 : crowded ? 2.5 : 4 }));
  group.addEventListener("click", () => go(p.id));
  return group;
}

/** Ticks of values: as many digits as their distance needs. */
function values(low, high, unit, area, y) {
  const nodes = [];
  const raw = (high - low) / 4, power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].find((s) => s * power >= raw * 0.999) * power;
  const digits = Math.max(2, Math.ceil(Math.log10(Math.max(Math.abs(low), Math.abs(high)) / step)) + 2);
  for (let i = Math.ceil(low / step); i * step <= high; i++) {
    nodes.push(svg("path", { class: "rule", d: `M${area.left} ${y(i * step)}H${area.right}` }),
      svg("text", { class: "tick", x: area.left - 8, y: y(i * step) + 5, "text-anchor": "end" }, round(i * step, unit, Math.min(digits, 9))));
  }
  return nodes;
}

const second = 1e3, hour = 3600e3, day = 24 * hour;
const steps = [10 * second, 30 * second, 60 * second, 5 * 60 * second, 15 * 60 * second, hour, 3 * hour, 6 * hour, 12 * hour, day, 2 * day, 7 * day, 14 * day, 30 * day, 91 * day, 182 * day, 365 * day, 730 * day, 3650 * day];

/** Ticks of time, at round ones of the clock on the wall. */
function times(from, to, area, x) {
  const room = Math.max(2, Math.floor((area.right - area.left) / 68));
  const step = steps.find((s) => (to - from) / s <= room) ?? 36500 * day;
  const how = step < 60 * second ? { hour: "2-digit", minute: "2-digit", second: "2-digit" } : step < day ? { hour: "2-digit", minute: "2-digit" } : step < 30 * day ? { day: "numeric", month: "short" } : { month: "short", year: "numeric" };
  const shift = new Date(from).getTimezoneOffset() * 60e3;
  const nodes = [svg("path", { class: "axis", d: `M${area.left} ${area.bottom}H${area.right}` })];
  const inside = step < day && new Date(from).toDateString() !== new Date(to).toDateString();
  for (let t = Math.ceil((from - shift) / step) * step + shift; t <= to; t += step) {
    const when = new Date(t);
    nodes.push(svg("path", { class: "axis", d: `M${at(x(t))} ${area.bottom}v6` }),
      svg("text", { class: "tick", x: at(x(t)), y: area.bottom + 23, "text-anchor": "middle" }, when.toLocaleString([], how)));
    if (inside) nodes.push(svg("text", { class: "tick", x: at(x(t)), y: area.bottom + 39, "text-anchor": "middle" }, when.toLocaleDateString([], { day: "numeric", month: "short" })));
  }
  return nodes;
}
