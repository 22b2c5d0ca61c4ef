// What a sweep can be looked at as, and how its readings become points of a chart.

const degrees = 180 / Math.PI;
const times = (q, by) => q && Object.fromEntries(["value", "low", "high"].map((k) => [k, q[k] == null ? null : q[k] * by]));

// pick takes a quantity of a reading; calc takes the same of a place on a fitted curve.
const modulus = { name: "|Z|", unit: "Ω", kind: "log", pick: (p) => p.modulus_ohm, calc: (f) => f.modulus_ohm };
const phase = { name: "phase", unit: "°", kind: "linear", range: [-95, 95], share: 0.65, pick: (p) => times(p.phase_rad, degrees), calc: (f) => f.phase_rad * degrees };
const re = { name: "R", unit: "Ω", kind: "auto", pick: (p) => p.re_ohm, calc: (f) => f.modulus_ohm * Math.cos(f.phase_rad) };
const im = { name: "X", unit: "Ω", kind: "auto", pick: (p) => p.im_ohm, calc: (f) => f.modulus_ohm * Math.sin(f.phase_rad) };
const farad = { name: "C, in series", unit: "F", kind: "auto", pick: (p) => p.c_f, calc: (f) => -1 / (2 * Math.PI * f.frequency_hz * im.calc(f)) };
const henry = { name: "L, in series", unit: "H", kind: "auto", pick: (p) => p.l_h, calc: (f) => im.calc(f) / (2 * Math.PI * f.frequency_hz) };
const loss = { name: "D", unit: "", kind: "auto", share: 0.65, pick: (p) => p.d, calc: (f) => Math.abs(1 / Math.tan(f.phase_rad)) };
const esr = { name: "ESR", unit: "Ω", kind: "auto", share: 0.65, pick: re.pick, calc: re.calc };
const quality = { name: "Q", unit: "", kind: "auto", share: 0.65, pick: (p) => p.q, calc: (f) => Math.abs(Math.tan(f.phase_rad)) };

/** The quantities of a view; "element" looks at what most readings are. */
export function quantities(view, sweeps) {
  if (view === "rx") return [re, im];
  if (view !== "element") return [modulus, phase];
  const all = sweeps.flatMap((s) => s.points), count = (has) => all.filter(has).length;
  if (count((p) => p.l_h?.value > 0) > count((p) => p.c_f?.value > 0)) return [henry, quality];
  return [farad, esr, loss];
}

/** Readings of a measuring or sweep document as points. */
export const pointsOf = (readings) => readings.map((r) => ({
  frequency_hz: r.frequency_hz?.value ?? r.frequency_nominal_hz, trusted: r.trusted, ...r.z, c_f: r.series?.c_f, l_h: r.series?.l_h, d: r.d, q: r.q,
}));

const tones = ["a", "b", "c", "d"];

/** The chart of up to four sweeps: {name, points, fit: {curve, residuals}}. */
export function sweepChart(sweeps, view, label) {
  const list = quantities(view, sweeps), fitted = sweeps.some((s) => s.fit?.residuals?.length);
  const panels = list.map(({ name, unit, kind, range, share }) => ({ name, unit, kind, range, share, least: kind === "log" ? 1.5 : undefined }));
  if (fitted) panels.push({ name: "residual of |Z|, in standard uncertainties", unit: "u", kind: "linear", range: [-4, 4], shade: [-2, 2], share: 0.42 });
  return {
    label, panels, x: { kind: "log", name: "frequency", unit: "Hz" },
    curves: sweeps.map((s, i) => ({
      key: s.key, name: s.name, tone: tones[i % tones.length], joined: !s.fit,
      points: s.points.filter((p) => p.trusted).map((p) => ({ x: p.frequency_hz, y: [...list.map((q) => q.pick(p)), residual(s.fit, p)] })),
      fit: s.fit?.curve?.map((f) => ({ x: f.frequency_hz, y: [...list.map((q) => q.calc(f)), null] })),
    })),
  };
}

// residual is what a fit leaves of |Z|, in standard uncertainties of the reading.
function residual(fit, p) {
  const r = fit?.residuals?.find((r) => Math.abs(r.frequency_hz / p.frequency_hz - 1) < 1e-4);
  const q = p.modulus_ohm, u = q?.high != null && q?.low != null ? (q.high - q.low) / 4 : null;
  return r && u > 0 ? (r.modulus * q.value) / u : null;
}
