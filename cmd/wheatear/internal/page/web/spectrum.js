// What both inputs hear, over frequency.
import { Chart } from "./chart.js";

const low = -150;

/** Draws the spectrum into a box; told has the inputs. */
export function spectrum(host) {
  let chart = null;
  return (s, inputs) => {
    if (!s) return;
    const step = Math.log(s.high_hz / s.low_hz);
    const spec = {
      slim: true, label: "spectrum of both inputs", x: { kind: "log", name: "", unit: "Hz", range: [s.low_hz, s.high_hz] },
      panels: [{ name: "level", unit: "dBFS", kind: "linear", range: [low, 0] }],
      curves: s.db.map((list, i) => ({ key: "input" + i, name: `${i + 1}: ${inputs[i]?.carries ?? ""}`, tone: "ab"[i], joined: true, bare: true,
        points: list.map((db, c) => ({ x: s.low_hz * Math.exp((step * (c + 0.5)) / list.length), y: [Math.max(low, db)] })) })),
      below: [["tone", s.tones_hz], ["harmonic", s.harmonics_hz], ["mains", s.mains_hz]],
    };
    chart ??= new Chart(host, spec);
    chart.set(spec);
  };
}
