// A sweep over frequency: two quantities, each reading with its 95 % interval, and
// what a fit leaves of them.
import { fit, path, round, svg } from "./draw.js";

const left = 92, top = 14, lowest = { bare: 440, fitted: 580 };
let right = 884;

const plain = (pick) => pick;
const scaled = (pick, by) => (p) => {
  const q = pick(p);
  return q && { value: times(q.value, by), low: times(q.low, by), high: times(q.high, by) };
};
const times = (v, by) => (v == null ? null : v * by);
const degrees = 180 / Math.PI;

// The quantities that can be looked at. calc is what a fitted curve has of them.
const size = { name: "|Z|", unit: "Ω", log: true, pick: plain((p) => p.modulus_ohm), calc: (f) => f.modulus_ohm };
const angle = { name: "phase", unit: "°", ends: [-95, 95], pick: scaled((p) => p.phase_rad, degrees), calc: (f) => f.phase_rad * degrees };
const real = { name: "R", unit: "Ω", pick: plain((p) => p.re_ohm), calc: (f) => f.modulus_ohm * Math.cos(f.phase_rad) };
const imaginary = { name: "X", unit: "Ω", pick: plain((p) => p.im_ohm), calc: (f) => f.modulus_ohm * Math.sin(f.phase_rad) };
const farad = { name: "C, in series", unit: "F", pick: plain((p) => p.c_f), calc: (f) => -1 / (2 * Math.PI * f.frequency_hz * imaginary.calc(f)) };
const henry = { name: "L, in series", unit: "H", pick: plain((p) => p.l_h), calc: (f) => imaginary.calc(f) / (2 * Math.PI * f.frequency_hz) };
const loss = { name: "D", unit: "", log: true, pick: plain((p) => p.d), calc: (f) => Math.abs(1 / Math.tan(f.phase_rad)) };

function chosen(view, good) {
  if (view === "rx") return [real, imaginary];
  if (view !== "element") return [size, angle];
  const coils = good.filter((p) => p.l_h?.value > 0).length, caps = good.filter((p) => p.c_f?.value > 0).length;
  return [coils > caps ? henry : farad, loss];
}

/** Draws points of a sweep, and a fit where there is one. */
export function curves(picture) {
  return (points, ends, fit_ = null, view = "z") => {
    const high = fit_ ? lowest.fitted : lowest.bare;
    right = fit(picture, 900, 520, high) - 16;
    const good = points.filter((p) => p.trusted && p.modulus_ohm?.value > 0);
    const nodes = good.length ? drawing(points, good, ends, fit_, chosen(view, good)) : [svg("text", { class: "tick", x: 260, y: 200, "text-anchor": "middle" }, "no point can be drawn: see the findings")];
    picture.replaceChildren(...nodes);
    picture.setAttribute("aria-label", good.length ? `${good.length} points over frequency; the table below has them in figures` : "Nothing to draw");
  };
}

function drawing(points, good, ends, fit_, [above, below]) {
  const x = logarithmic([...ends, ...points.map((p) => p.frequency_hz)], left, right, 1.2);
  const curve = fit_?.curve ?? [];
  const nodes = [...panel(above, good, curve, x, 250, top), ...panel(below, good, curve, x, 410, 275)];
  const bottom = fit_ ? 550 : 410;
  if (fit_) nodes.push(...left_over(fit_.residuals, good, x, 550, 440));
  nodes.unshift(...rules(x, "Hz", (v) => ({ line: `M${x(v)} ${top}V${bottom}`, x: x(v), y: bottom + 18, anchor: "middle" })));
  for (const p of points) {
    if (p.trusted) continue;
    const cross = svg("path", { class: "cross", d: `M${x(p.frequency_hz) - 5} 238l10 10m0 -10l-10 10` });
    cross.append(svg("title", {}, `${p.at}: refused: ${p.refused}`));
    nodes.push(cross);
  }
  return nodes;
}

// panel draws one quantity; its axis is logarithmic where it spans much and has one sign.
function panel(what, good, curve, x, from, to) {
  const list = good.map((p) => ({ at: x(p.frequency_hz), ...what.pick(p) })).filter((p) => p.value != null);
  if (!list.length) return [svg("text", { class: "axis-name", x: left + 6, y: to + 14 }, what.name + ": nothing known")];
  const all = list.flatMap((p) => [p.value, p.low, p.high]).filter((v) => v != null && Number.isFinite(v));
  const bare = list.map((p) => p.value);
  const log = what.log ? Math.min(...bare) > 0 : !what.ends && Math.min(...bare) > 0 && Math.max(...bare) > 20 * Math.min(...bare);
  const y = log ? logarithmic(all, from, to, 1.5) : linear(what.ends ?? spread(bare, all), from, to);
  const nodes = rules(y, what.unit, (v) => ({ line: `M${left} ${y(v)}H${right}`, x: left - 8, y: y(v) + 4, anchor: "end" }), what.ends && [-90, -45, 0, 45, 90]);
  const fitted = curve.map((f) => [x(f.frequency_hz), what.calc(f)]).filter(([, v]) => Number.isFinite(v) && (!log || v > 0));
  if (fitted.length) nodes.push(svg("path", { class: "trace fitted", d: path(fitted.map(([at, v]) => [at, y(v)])) }));
  nodes.push(...dots(list, y, true), svg("text", { class: "axis-name", x: left + 6, y: to + 15 }, what.name));
  return nodes;
}

// spread holds the values, and their intervals where those are not far wider.
function spread(values, all) {
  const low = Math.min(...values), high = Math.max(...values), room = Math.max(high - low, Math.abs(high) * 0.02);
  return [Math.max(Math.min(...all), low - room) - 0.06 * room, Math.min(Math.max(...all), high + room) + 0.06 * room];
}

// left_over draws what the fit leaves of |Z|, in per cent, each with the interval of
// its reading: about zero where the circuit is the part.
function left_over(residuals, good, x, from, to) {
  const by = new Map(good.map((p) => [p.frequency_hz, p.modulus_ohm]));
  const list = residuals.map((r) => {
    const near = [...by.keys()].reduce((a, b) => (Math.abs(b - r.frequency_hz) < Math.abs(a - r.frequency_hz) ? b : a));
    const q = by.get(near), value = 100 * r.modulus;
    const side = (v) => (v == null ? null : value + 100 * (v / q.value - 1));
    return { at: x(r.frequency_hz), value, low: side(q.low), high: side(q.high) };
  });
  const most = Math.max(1e-4, ...list.flatMap((p) => [p.value, p.low, p.high]).filter((v) => v != null).map(Math.abs)) * 1.05;
  const y = linear([-most, most], from, to);
  return [...rules(y, "%", (v) => ({ line: `M${left} ${y(v)}H${right}`, x: left - 8, y: y(v) + 4, anchor: "end" })),
    ...dots(list, y, false), svg("text", { class: "axis-name", x: left + 6, y: to + 15 }, "reading less fit, of |Z|")];
}

function dots(list, y, joined) {
  const bars = list.filter((p) => p.low != null && p.high != null).map((p) => `M${p.at.toFixed(1)} ${y(p.low).toFixed(1)}V${y(p.high).toFixed(1)}`).join("");
  const nodes = [svg("path", { class: "bars", d: bars })];
  if (joined) nodes.push(svg("path", { class: "trace input1", d: path(list.map((p) => [p.at, y(p.value)])) }));
  return [...nodes, ...list.map((p) => svg("circle", { class: "dot", cx: p.at.toFixed(1), cy: y(p.value).toFixed(1), r: 3 }))];
}

// logarithmic is a scale at least as wide as a ratio.
function logarithmic(values, from, to, ratio) {
  const list = values.filter((v) => v > 0 && Number.isFinite(v));
  let low = Math.min(...list), high = Math.max(...list);
  const grow = Math.max(1.05, Math.sqrt(ratio / (high / low)));
  [low, high] = [low / grow, high * grow];
  const f = (v) => from + ((to - from) * Math.log(Math.max(v, low) / low)) / Math.log(high / low);
  return Object.assign(f, { low, high, log: true });
}

function linear([low, high], from, to) {
  const f = (v) => from + ((to - from) * (Math.max(low, Math.min(high, v)) - low)) / (high - low);
  return Object.assign(f, { low, high });
}

// places are those of the rules: decades, or 1, 2, 5 in a short axis; round steps of a
// linear one.
function places(axis) {
  const out = [];
  if (!axis.log) {
    const rough = (axis.high - axis.low) / 4, power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((s) => s * power).find((s) => s >= rough);
    for (let k = Math.ceil(axis.low / step); k * step <= axis.high; k++) out.push(k * step);
    return out;
  }
  const steps = axis.high / axis.low < 50 ? [1, 2, 5] : [1];
  for (let power = Math.floor(Math.log10(axis.low)); power <= Math.log10(axis.high); power++) {
    out.push(...steps.map((s) => s * 10 ** power).filter((v) => v >= axis.low && v <= axis.high));
  }
  return out;
}

function rules(axis, unit, place, at = places(axis)) {
  return at.flatMap((v) => {
    const p = place(v);
    return [svg("path", { class: unit === "°" && Math.abs(v) === 45 ? "boundary" : "rule", d: p.line }),
      svg("text", { class: "tick", x: p.x, y: p.y, "text-anchor": p.anchor }, label(v, unit))];
  });
}

function label(v, unit) {
  const text = unit === "°" ? v + "°" : unit === "%" ? `${+v.toPrecision(2)} %` : unit === "" ? String(+v.toPrecision(2)) : round(v, unit);
  return text.replace("-", "−").trim();
}
