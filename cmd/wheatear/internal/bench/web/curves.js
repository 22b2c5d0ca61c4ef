// |Z| and phase over frequency, each reading with its 95 % interval.
import { fit, path, round, svg } from "./draw.js";

const left = 86, top = 14, middle = 250, low = 275, bottom = 410, high = 440;
let right = 884;

export function curves(picture) {
  return (points, ends, fitted = []) => {
    right = fit(picture, 900, 520, high) - 16;
    const good = points.filter((p) => p.trusted && p.modulus_ohm.value > 0);
    const nodes = good.length ? drawing(points, good, ends, fitted) : [svg("text", { class: "tick", x: 260, y: 200, "text-anchor": "middle" }, "no point can be drawn: see the findings")];
    picture.replaceChildren(...nodes);
    picture.setAttribute("aria-label", good.length ? `Impedance and phase of ${good.length} points; the table below has them in figures` : "Nothing to draw");
  };
}

function drawing(points, good, ends, fitted) {
  const x = scale([...ends, ...points.map((p) => p.frequency_hz)], left, right, 1.2);
  const y = scale(good.flatMap((p) => [p.modulus_ohm.low, p.modulus_ohm.high, p.modulus_ohm.value]), middle, top, 3);
  const nodes = [...decades(x, "Hz", (v) => ({ line: `M${x(v)} ${top}V${middle}M${x(v)} ${low}V${bottom}`, x: x(v), y: bottom + 18, anchor: "middle" })),
    ...decades(y, "Ω", (v) => ({ line: `M${left} ${y(v)}H${right}`, x: left - 8, y: y(v) + 4, anchor: "end" }))];
  if (fitted.length) nodes.push(svg("path", { class: "trace fitted", d: path(fitted.map((p) => [x(p.frequency_hz), y(p.modulus_ohm)])) }));
  nodes.push(...curve(good, x, y, (p) => p.modulus_ohm));
  nodes.push(svg("text", { class: "axis-name", x: left + 6, y: top + 14 }, "|Z|"), svg("text", { class: "axis-name", x: left + 6, y: low + 16 }, "phase"));
  nodes.push(...phase(good, x, fitted));
  for (const p of points) if (!p.trusted) nodes.push(svg("path", { class: "cross", d: `M${x(p.frequency_hz) - 4} ${middle - 10}l8 8m0 -8l-8 8` }));
  return nodes;
}

function phase(good, x, fitted) {
  const y = (deg) => low + ((90 - Math.max(-100, Math.min(100, deg))) / 180) * (bottom - low - 8) + 4;
  const nodes = [];
  for (const deg of [-90, -45, 0, 45, 90]) {
    nodes.push(svg("path", { class: Math.abs(deg) === 45 ? "boundary" : "rule", d: `M${left} ${y(deg)}H${right}` }),
      svg("text", { class: "tick", x: left - 8, y: y(deg) + 4, "text-anchor": "end" }, String(deg).replace("-", "−") + "°"));
  }
  if (fitted.length) nodes.push(svg("path", { class: "trace fitted", d: path(fitted.map((p) => [x(p.frequency_hz), y(deg(p.phase_rad))])) }));
  const degrees = (q) => ({ value: deg(q.value), low: deg(q.low), high: deg(q.high) });
  nodes.push(...curve(good.filter((p) => p.phase_rad.value != null), x, y, (p) => degrees(p.phase_rad)));
  return nodes;
}

const deg = (rad) => (rad == null ? null : (rad * 180) / Math.PI);

function curve(points, x, y, pick) {
  const list = points.map((p) => ({ at: x(p.frequency_hz), ...pick(p) }));
  const bars = list.filter((p) => p.low != null && p.high != null).map((p) => `M${p.at.toFixed(1)} ${y(p.low).toFixed(1)}V${y(p.high).toFixed(1)}`).join("");
  return [svg("path", { class: "bars", d: bars }), svg("path", { class: "trace input1", d: path(list.map((p) => [p.at, y(p.value)])) }),
    ...list.map((p) => svg("circle", { class: "dot", cx: p.at.toFixed(1), cy: y(p.value).toFixed(1), r: 3 }))];
}

// scale is logarithmic, at least as wide as a ratio.
function scale(values, from, to, ratio) {
  const list = values.filter((v) => v > 0 && Number.isFinite(v));
  let low = Math.min(...list), high = Math.max(...list);
  const grow = Math.max(1.05, Math.sqrt(ratio / (high / low)));
  [low, high] = [low / grow, high * grow];
  const f = (v) => from + ((to - from) * Math.log(Math.max(v, low) / low)) / Math.log(high / low);
  return Object.assign(f, { low, high });
}

// decades are the rules of a logarithmic axis: every decade, or 1, 2, 5 in a short one.
function decades(axis, unit, place) {
  const nodes = [], short = axis.high / axis.low < 50;
  for (let power = Math.floor(Math.log10(axis.low)); power <= Math.log10(axis.high); power++) {
    for (const step of short ? [1, 2, 5] : [1]) {
      const v = step * 10 ** power;
      if (v < axis.low || v > axis.high) continue;
      const p = place(v);
      nodes.push(svg("path", { class: "rule", d: p.line }), svg("text", { class: "tick", x: p.x, y: p.y, "text-anchor": p.anchor }, round(v, unit)));
    }
  }
  return nodes;
}
