// What the tests of charts do in the page.
import { Chart } from "/web/chart.js";
import { ticks } from "/web/ticks.js";

const freqs = Array.from({ length: 41 }, (_, i) => 20 * 1000 ** (i / 40));

// A coil with resistance and the capacitance of its winding across it.
const coil = (r, l, c) => freqs.map((x) => {
  const w = 2 * Math.PI * x, den = (1 - w * w * l * c) ** 2 + (w * r * c) ** 2;
  const re = r / den, im = (w * l * (1 - w * w * l * c) - w * c * r * r) / den, size = Math.hypot(re, im), angle = (Math.atan2(im, re) * 180) / Math.PI;
  return { x, y: [{ value: size, low: size * 0.97, high: size * 1.03 }, { value: angle, low: angle - 1, high: angle + 1 }] };
});
const a = coil(33, 92e-3, 1.1e-9), b = coil(40, 66e-3, 0.7e-9);
const spec = {
  label: "two coils over frequency",
  x: { kind: "log", name: "frequency", unit: "Hz" },
  panels: [{ name: "|Z|", unit: "Ω", kind: "log" }, { name: "phase", unit: "°", kind: "linear", range: [-95, 95], share: 0.6 }],
  curves: [
    { key: "1", name: "valve coil 2", tone: "a", points: a, fit: a.map((p) => ({ x: p.x, y: p.y.map((v) => v.value) })) },
    { key: "2", name: "valve coil 3", tone: "b", points: b },
  ],
};
window.chart = new Chart(document.getElementById("host"), spec);
window.measured = (x) => freqs.includes(x);

let seed = 1;
const random = () => (seed = (seed * 1664525 + 1013904223) % 4294967296) / 4294967296;

const range = {
  linear() {
    const middle = (random() - 0.5) * 2 * 10 ** (random() * 20 - 12);
    const span = Math.abs(middle) * 10 ** (-11 * random()) * (random() < 0.3 ? 10 ** (13 * random()) : 1);
    return [middle - span * random(), span];
  },
  log() {
    const low = 10 ** (random() * 20 - 12);
    return [low, low * (10 ** (10 * random() ** 4 + 1e-6) - 1)];
  },
  time: () => [Date.parse("2020-01-01") + random() * 3e11, 10 ** (random() * 10.5 + 1.3)],
};

window.manyTicks = (count) => {
  const kinds = Object.keys(range), units = ["Ω", "F", "°", "", "%", "Hz", "H"], bad = [];
  for (let i = 0; i < count; i++) {
    const kind = kinds[i % 3], [low, span] = range[kind](), high = low + span;
    if (!(high > low)) continue;
    const most = 3 + Math.floor(random() * 10), unit = units[i % units.length];
    const { labels } = ticks(kind, low, high, most, unit), texts = new Set(labels.map((l) => l.text));
    const within = labels.every((l) => l.value >= low - 1e-6 * span && l.value <= high + 1e-6 * span);
    if (labels.length < 3 || texts.size !== labels.length || !within) bad.push([kind, low, high, most, unit, [...texts]].join(" "));
  }
  return { count, bad };
};

window.panLong = async (points, steps) => {
  const list = Array.from({ length: points }, (_, i) => ({ x: 1e12 + 1000 * i, y: [{ value: Math.sin(i / 300) + random() / 5, low: -1.2, high: 1.2 }] }));
  const long = new Chart(document.getElementById("long"), {
    label: "a long trend", x: { kind: "time", name: "" }, panels: [{ name: "C", unit: "F" }],
    curves: [{ key: "t", name: "trend", tone: "a", joined: true, points: list }],
  });
  const frame = () => new Promise(requestAnimationFrame);
  await frame();
  const began = performance.now();
  for (let i = 0; i < steps; i++) {
    long.zoom(i % 2 ? 1.9 : 0.5, 1e12 + 1000 * ((i * points) / steps));
    await frame();
  }
  long.all();
  await frame();
  await frame();
  return (performance.now() - began) / steps;
};

const cases = await (await fetch("ticks.json")).json();
window.comparedTicks = cases.length;
document.getElementById("cases").textContent = cases.filter((c) => {
  const got = ticks(c.kind, c.low, c.high, c.most, c.unit);
  return got.unit !== c.in || got.labels.map((l) => l.text).join() !== c.labels.join();
}).map((c) => c.name).join("; ");
