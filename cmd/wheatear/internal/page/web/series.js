// Lists of points, and how a value of one is written.
import { engineering, prefixed, written } from "./ticks.js";

/** The number in a value of a point; NaN for none. */
export const value = (v) => (v == null ? NaN : typeof v === "number" ? v : v.value ?? NaN);

// below is the index of the last point not beyond x, or −1.
export function below(list, x) {
  let low = 0, high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle].x <= x) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

export function inView(list, x, more = 0) { return list.slice(Math.max(0, below(list, x.low) + 1 - more), below(list, x.high) + 1 + more); }

export function spanOf(values) {
  const list = values.filter((v) => v > 0);
  return list.length ? list.reduce((a, b) => Math.max(a, b)) / list.reduce((a, b) => Math.min(a, b)) : 1;
}

// runsOf are stretches of neighbours that have a value; a point with gap set begins a new one.
export function runsOf(list, i) {
  const out = [];
  let open = false;
  for (const p of list) {
    if (!Number.isFinite(value(p.y[i]))) { open = false; continue; }
    if (!open || p.gap) out.push([]);
    open = true;
    out.at(-1).push(p);
  }
  return out;
}

// thin keeps what pixels can show of a long line: the least and the greatest of each
// column, or, for the edge of a band, the outermost of them.
export function thin(points, edge) {
  if (points.length < 1500) return points;
  const out = [];
  for (let i = 0; i < points.length;) {
    const column = Math.floor(points[i][0]);
    let least = i, most = i;
    for (; i < points.length && Math.floor(points[i][0]) === column; i++) {
      if (points[i][1] < points[least][1]) least = i;
      if (points[i][1] > points[most][1]) most = i;
    }
    if (edge) out.push(points[edge === "high" ? least : most]);
    else out.push(...(least === most ? [points[least]] : least < most ? [points[least], points[most]] : [points[most], points[least]]));
  }
  return out;
}

/** A number with its prefix, for places where the program has written none. */
export function plain(v, unit = "", digits = 4) {
  if (!Number.isFinite(v)) return "–";
  const exponent = engineering(Math.abs(v), unit), scaled = v / 10 ** exponent;
  const decimals = scaled === 0 ? 0 : Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(scaled))));
  return `${written(scaled, Math.min(decimals, 9))}${unit === "°" || unit === "" ? "" : " "}${unit === "u" ? "u" : prefixed(exponent, unit)}`;
}

export function figure(v, unit) {
  if (v == null || !Number.isFinite(value(v))) return "–";
  if (v.text) return v.half ? `${v.text} ± ${v.half}` : v.text;
  if (unit === "u") return plain(value(v), unit, 2);
  if (typeof v === "number" || v.low == null || v.high == null) return plain(value(v), unit);
  const half = (v.high - v.low) / 2;
  const digits = half > 0 ? Math.max(2, Math.min(9, 2 + Math.floor(Math.log10(Math.abs(v.value) / half)))) : 5;
  return `${plain(v.value, unit, digits)} ± ${plain(half, unit, 2)}`;
}

// against is the difference of two values: per cent for sizes, the plain one for angles.
export function against(a, b, { unit, kind }) {
  const [p, q] = [value(a), value(b)];
  if (unit === "u" || !Number.isFinite(p) || !Number.isFinite(q)) return "–";
  if (unit === "°" || unit === "" || kind === "linear" || p === 0 || p * q < 0) return plain(q - p, unit, 3);
  const percent = 100 * (q / p - 1);
  return (percent > 0 ? "+" : "") + written(percent, Math.abs(percent) < 1 ? 2 : 1) + " %";
}
