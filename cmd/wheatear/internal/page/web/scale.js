// From values to pixels and back.

/** A scale of kind "linear", "log" or "time" that puts low at the pixel from and high at to. */
export function scale(kind, low, high, from, to) {
  const log = kind === "log" && low > 0;
  const f = log ? Math.log : (v) => v, back = log ? Math.exp : (v) => v;
  const a = f(low), b = f(high);
  return {
    kind, low, high, from, to,
    px: (v) => from + ((to - from) * (f(log ? Math.max(v, 1e-300) : v) - a)) / (b - a),
    value: (px) => back(a + ((b - a) * (px - from)) / (to - from)),
  };
}

/** The part of a range about a place that zooming by a factor leaves; share is where the place stays, 0 to 1. */
export function zoomed({ kind, low, high }, at, factor) {
  const log = kind === "log" && low > 0, f = log ? Math.log : (v) => v, back = log ? Math.exp : (v) => v;
  const c = f(at);
  return [back(c + (f(low) - c) * factor), back(c + (f(high) - c) * factor)];
}

/** A range moved by a share of its length. */
export function moved({ kind, low, high }, share) {
  const log = kind === "log" && low > 0, f = log ? Math.log : (v) => v, back = log ? Math.exp : (v) => v;
  const d = (f(high) - f(low)) * share;
  return [back(f(low) + d), back(f(high) + d)];
}

/**
 * The range of an axis for values: every value is on it, ends of intervals as far as
 * they are not far wider than most. least is the smallest span (a ratio on log axes).
 */
export function covering(kind, values, ends, least) {
  const ok = (v) => Number.isFinite(v) && (kind !== "log" || v > 0);
  const list = values.filter(ok);
  if (!list.length) return kind === "log" ? [1, 10] : [0, 1];
  let low = list.reduce((a, b) => Math.min(a, b)), high = list.reduce((a, b) => Math.max(a, b));
  if (kind === "log") {
    for (const v of ends.filter(ok)) if (v > low / 3 && v < high * 3) [low, high] = [Math.min(low, v), Math.max(high, v)];
    const grow = Math.max(1.08, Math.sqrt((least ?? 1.5) / (high / low)));
    return [low / grow, high * grow];
  }
  const room = Math.max(high - low, Math.abs(high) * 1e-9, 1e-30);
  for (const v of ends.filter(ok)) if (v > low - 2 * room && v < high + 2 * room) [low, high] = [Math.min(low, v), Math.max(high, v)];
  const more = Math.max((high - low) * 0.07, ((least ?? 0) - (high - low)) / 2, Math.abs(high) * 1e-9, 1e-30);
  return [low - more, high + more];
}
