// How far |Z| can be read over frequency: what is known to 10 %, 1 % and 0.1 %, lines of
// constant C and L, and the part among them.
import { fit, path, round, set, svg } from "./draw.js";

const left = 64, top = 12, bottom = 404, high = 440, least = 1e-2, most = 1e7;
const farads = [1e-11, 1e-8, 1e-5, 1e-2], henries = [1e-6, 1e-3, 1];

export function reach(picture) {
  return (plan, choice) => {
    const of = plan.reach?.references.find((r) => r.reference_ohm === choice.reference_ohm);
    const right = fit(picture, 640, 400, high) - 12;
    if (!of) {
      picture.replaceChildren(svg("text", { class: "tick", x: left, y: 200 }, "no chart for this reference"));
      return;
    }
    const x = scale(of.frequencies_hz[0], of.frequencies_hz.at(-1), left, right);
    const y = scale(least, most, bottom, top);
    const clip = svg("clipPath", { id: "reach-clip" });
    clip.append(svg("rect", { x: left, y: top, width: right - left, height: bottom - top }));
    const drawn = svg("g", { "clip-path": "url(#reach-clip)" });
    drawn.append(...of.within.map((w) => region(w, of.frequencies_hz, x, y)), ...guides(x, y, right), part(plan, x, y));
    picture.replaceChildren(clip, ...axes(x, y, right, of.frequencies_hz), drawn, ...names(of, x, y), ...mark(plan, choice, x, y, right));
    set(picture, { "aria-label": `With ${choice.words.reference}: ${spoken(of, choice)}` });
  };
}

function scale(low, highest, from, to) {
  return (v) => from + ((to - from) * Math.log(v / low)) / Math.log(highest / low);
}

// region is what is known so well, where anything is.
function region(w, hz, x, y) {
  const there = hz.map((_, i) => i).filter((i) => w.low_ohm[i] != null && w.high_ohm[i] != null);
  const d = there.length < 2 ? "" : path([...there.map((i) => [x(hz[i]), y(w.low_ohm[i])]), ...there.reverse().map((i) => [x(hz[i]), y(w.high_ohm[i])])]) + "Z";
  return svg("path", { class: "within", d });
}

function guides(x, y, right) {
  const nodes = [], f0 = 20, f1 = 2e4;
  const line = (text, z, at) => {
    nodes.push(svg("path", { class: "guide", d: path([[x(f0), y(z(f0))], [x(f1), y(z(f1))]]) }));
    const px = x(at), py = y(z(at));
    if (px < right - 30 && py > top + 12 && py < bottom - 6) nodes.push(svg("text", { class: "tick", x: px + 4, y: py - 4 }, text));
  };
  for (const c of farads) line(round(c, "F"), (f) => 1 / (2 * Math.PI * f * c), c < 1e-9 ? 2500 : 24);
  for (const l of henries) line(round(l, "H"), (f) => 2 * Math.PI * f * l, 6000);
  return nodes;
}

const part = (plan, x, y) => svg("path", { class: "trace part", d: path(plan.reach.part.frequencies_hz.map((f, i) => [x(f), y(Math.max(least / 10, plan.reach.part.modulus_ohm[i]))])) });

function axes(x, y, right, hz) {
  const nodes = [];
  for (let p = -2; p <= 7; p++) {
    const at = y(10 ** p);
    nodes.push(svg("path", { class: "rule", d: `M${left} ${at}H${right}` }));
    if (p % 2 === 0) nodes.push(svg("text", { class: "tick", x: left - 6, y: at + 4, "text-anchor": "end" }, round(10 ** p, "Ω")));
  }
  for (const f of [20, 100, 1e3, 1e4]) {
    if (f < hz[0] * 0.999 || f > hz.at(-1)) continue;
    nodes.push(svg("path", { class: "rule", d: `M${x(f)} ${top}V${bottom}` }),
      svg("text", { class: "tick", x: x(f), y: bottom + 18, "text-anchor": "middle" }, round(f, "Hz")));
  }
  return nodes;
}

// names stand at the upper end of each region, or at the lower where that is beyond the
// chart.
function names(of, x, y) {
  return of.within.flatMap((w) => {
    const i = Math.round(0.62 * (of.frequencies_hz.length - 1)), highest = w.high_ohm[i], lowest = w.low_ohm[i];
    if (highest == null) return [];
    const above = highest < 0.9 * most;
    if (!above && lowest < 1.1 * least) return [];
    return [svg("text", { class: "region-name", x: x(of.frequencies_hz[i]), y: above ? y(highest) + 15 : y(lowest) - 5, "text-anchor": "middle" }, `± ${+(100 * w.half_width).toPrecision(2)} %`)];
  });
}

// mark is the part at the frequency that was chosen.
function mark(plan, choice, x, y, right) {
  const hz = plan.reach.part.frequencies_hz, f = choice.frequency_hz;
  const i = hz.findIndex((v) => v >= f);
  if (i < 1) return [];
  const t = Math.log(f / hz[i - 1]) / Math.log(hz[i] / hz[i - 1]), z = plan.reach.part.modulus_ohm;
  const ohm = Math.min(most, Math.max(least, z[i - 1] * (z[i] / z[i - 1]) ** t));
  const near = x(f) > right - 130;
  return [svg("path", { class: "chosen", d: `M${x(f)} ${top}V${bottom}` }), svg("circle", { class: "here", cx: x(f), cy: y(ohm), r: 7 }),
    svg("text", { class: "part-name", x: x(f) + (near ? -12 : 12), y: y(ohm) - 10, "text-anchor": near ? "end" : "start" }, plan.part)];
}

// spoken tells the regions at the frequency that was chosen.
function spoken(of, choice) {
  const i = of.frequencies_hz.reduce((best, f, k) => (Math.abs(Math.log(f / choice.frequency_hz)) < Math.abs(Math.log(of.frequencies_hz[best] / choice.frequency_hz)) ? k : best), 0);
  return of.within.map((w) => (w.low_ohm[i] == null ? "" : `|Z| from ${round(w.low_ohm[i], "Ω", 2)} to ${round(w.high_ohm[i], "Ω", 2)} is known to ${100 * w.half_width} %`)).filter(Boolean).join("; ") + ` near ${choice.words.frequency}`;
}
