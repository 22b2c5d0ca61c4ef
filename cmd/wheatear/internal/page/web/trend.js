// The last minutes of the main value: points, with the scatter of one reading as a band.
// What all readings share is in the interval of the result, not in the band.
import { Chart } from "./chart.js";
import { get } from "./bench.js";

const minutes = 5;

export function trend(host) {
  let points = [], of = null;
  const spec = () => {
    const last = points.at(-1), now = last?.t ?? Date.now();
    const same = points.filter((p) => p.unit === last?.unit && p.text === last?.text);
    const half = scatter(same), least = 1e-4 * Math.abs(last?.value ?? 0); // that noise does not fill the axis
    return {
      label: `the last ${minutes} minutes`, x: { kind: "time", name: "", range: [now - minutes * 60e3, now] },
      panels: [{ name: last?.text ?? "", unit: last?.unit ?? "", kind: "linear", share: 0.6, least }],
      curves: [{ key: "trend", name: "", tone: "a", joined: true, points: same.map((p, i) => ({ x: p.t, gap: i > 0 && p.t - same[i - 1].t > 5e3, y: [half > 0 ? { value: p.value, low: p.value - half, high: p.value + half } : p.value] })) }],
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

// scatter is the half-width that one reading scatters by (95 %), from neighbours.
function scatter(list) {
  if (list.length < 5) return 0;
  const steps = list.slice(1).map((p, i) => Math.abs(p.value - list[i].value)).sort((a, b) => a - b);
  return (1.96 * steps[steps.length >> 1]) / (0.6745 * Math.SQRT2);
}

const dated = (p) => ({ ...p, t: Date.parse(p.time) });
