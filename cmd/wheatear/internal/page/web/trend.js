// The last minutes of the main value: points with the interval of each as a band.
import { Chart } from "./chart.js";
import { get } from "./bench.js";

const minutes = 5;

export function trend(host) {
  let points = [], of = null;
  const spec = () => {
    const last = points.at(-1), now = last?.t ?? Date.now();
    const same = points.filter((p) => p.unit === last?.unit && p.text === last?.text);
    return {
      label: `the last ${minutes} minutes`, x: { kind: "time", name: "", range: [now - minutes * 60e3, now] },
      panels: [{ name: last?.text ?? "", unit: last?.unit ?? "", kind: "linear", share: 0.75 }],
      curves: [{ key: "trend", name: "", tone: "a", joined: true, points: same.map((p, i) => ({ x: p.t, gap: i > 0 && p.t - same[i - 1].t > 5e3, y: [{ value: p.value, low: p.low, high: p.high }] })) }],
    };
  };
  let chart = null;
  const draw = () => {
    chart ??= new Chart(host, spec());
    chart.set(spec());
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
      if (of !== null && part !== of) points = [];
      of = part;
      if (!point) return;
      points.push(dated(point));
      points = points.filter((p) => points.at(-1).t - p.t < minutes * 60e3);
      draw();
    },
  };
}

const dated = (p) => ({ ...p, t: Date.parse(p.time) });
