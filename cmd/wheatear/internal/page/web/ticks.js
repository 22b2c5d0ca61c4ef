// Places on an axis that are worth a label. plot/ticks.go follows the same rules; one
// table of cases holds both to them (plot/testdata/ticks.json).

const prefixes = ["f", "p", "n", "µ", "m", "", "k", "M", "G", "T"], leastPrefix = -15;
const degreeSteps = [15, 30, 45, 90];

/** The power of ten of the prefix for a value; some units take none. */
export function engineering(value, unit) {
  if (!(value > 0) || ["", "°", "%", "dB", "dBFS", "ppm", "u"].includes(unit)) return 0;
  const power = 3 * Math.floor(Math.log10(value) / 3 + 1e-9);
  return Math.max(leastPrefix, Math.min(leastPrefix + 3 * (prefixes.length - 1), power));
}

/** A unit with the prefix for a power of ten. */
export const prefixed = (exponent, unit) => prefixes[(exponent - leastPrefix) / 3] + unit;

/** A number as people read it: a real minus sign, no "−0". */
export function written(value, decimals) {
  const text = value.toFixed(Math.min(100, Math.max(0, decimals)));
  return /^-[0.]*$/.test(text) ? text.slice(1) : text.replace("-", "−");
}

/**
 * Labelled and minor ticks of an axis from low to high. kind is "linear", "log" or
 * "time"; most is how many labels there is room for. At least three come back,
 * whatever the range, and no two read alike. unit is what belongs in the title: with
 * a prefix on linear axes, empty on logarithmic ones, where each label has its own.
 * base is set where values differ in digits too late to be written out: labels then
 * say by how much a value exceeds it.
 */
export function ticks(kind, low, high, most, unit = "") {
  if (kind === "time") return clock(low, high, most);
  if (kind === "log" && low > 0 && high / low >= 10) return decades(low, high, most, unit);
  return even(low, high, most, unit);
}

// choose takes the densest of sets that fits, or else thins the sparsest that has
// three, as far as three are left.
function choose(sets, most) {
  const enough = sets.filter((s) => s.length >= 3);
  const fits = enough.find((s) => s.length <= most), last = enough.at(-1);
  if (fits || !last) return fits;
  let every = 1;
  while (Math.ceil(last.length / every) > most && Math.ceil(last.length / (every + 1)) >= 3) every++;
  return last.filter((_, i) => i % every === 0);
}

// multiples of a step within a range, as whole numbers of steps.
function multiples(low, high, step, slack = 1e-9) {
  const out = [];
  for (let n = Math.ceil(low / step - slack), end = Math.floor(high / step + slack); n <= end && out.length < 500; n++) out.push(n);
  return out;
}

function even(low, high, most, unit) {
  const span = high - low;
  // Where digits come too late, places are counted from a round value in the range.
  const far = Math.max(Math.abs(low), Math.abs(high)) / span > 1e6;
  const coarse = 10 ** Math.ceil(Math.log10(span));
  const base = far ? Math.floor(low / coarse) * coarse : 0;
  const from = low - base, to = high - base;
  const sets = ladder(span, unit).map((step) => multiples(from, to, step).map((n) => ({ n, step })));
  const chosen = choose(sets.filter((s) => s.length < 400), most), step = chosen[0].step;
  const exponent = engineering(Math.max(Math.abs(from), Math.abs(to)), unit), scale = 10 ** exponent;
  const decimals = Math.max(0, exponent - Math.floor(Math.log10(step) + 1e-9));
  const sign = (n) => (base && n > 0 ? "+" : "");
  const labels = chosen.map(({ n }) => ({ value: base + n * step, text: sign(n) + written((n * step) / scale, decimals) + (unit === "°" ? "°" : "") }));
  return { labels, minor: minors(from, to, step, base), unit: unit === "°" ? "" : prefixed(exponent, unit), base: base || null };
}

// ladder of steps from fine to coarse: 1, 2, 5; parts of a circle for angles.
function ladder(span, unit) {
  const out = [];
  const first = Math.floor(Math.log10(span)) - 2;
  for (let e = first; e <= first + 3; e++) for (const m of [1, 2, 5]) out.push(m * 10 ** e);
  if (unit !== "°" || span < 15 || span > 360) return out;
  return [...out.filter((s) => s <= 10), ...degreeSteps];
}

function minors(from, to, step, base) {
  const part = [5, 2].map((by) => multiples(from, to, step / by)).find((list) => list.length <= 120) ?? [];
  const by = multiples(from, to, step / 5).length <= 120 ? 5 : 2;
  return part.filter((n) => n % by !== 0).map((n) => base + (n * step) / by);
}

function decades(low, high, most, unit) {
  const at = [];
  for (let e = Math.floor(Math.log10(low)); e <= Math.ceil(Math.log10(high)); e++) {
    for (let m = 1; m <= 9; m++) {
      const value = +`${m}e${e}`;
      if (value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)) at.push({ value, m, e });
    }
  }
  const powers = at.filter((t) => t.m === 1);
  const sets = [at.filter((t) => [1, 2, 5].includes(t.m)), powers];
  for (let every = 2; every < 40; every++) {
    const phases = Array.from({ length: every }, (_, i) => powers.filter((t) => (((t.e - i) % every) + every) % every === 0));
    sets.push(phases.reduce((a, b) => (b.length > a.length ? b : a)));
  }
  const chosen = choose(sets, most);
  const labels = chosen.map((t) => ({ value: t.value, text: short(t.value, unit) }));
  const wide = at.length > 120;
  const minor = (wide ? powers : at).filter((t) => !chosen.includes(t)).map((t) => t.value);
  return { labels, minor, unit: "", base: null };
}

// short writes 1, 2, 5 times a power of ten with its unit.
function short(value, unit) {
  if (unit === "") return value >= 1e-3 && value < 1e6 ? String(+value.toPrecision(3)) : value.toExponential(0).replace("-", "−").replace("+", "");
  const exponent = engineering(value, unit);
  const text = +(value / 10 ** exponent).toPrecision(3);
  return `${text}${unit === "°" ? "" : " "}${prefixed(exponent, unit)}`;
}

const second = 1000, minute = 60 * second, hour = 60 * minute, day = 24 * hour;
const clockSteps = [1, 2, 5, 10, 20, 50, 100, 200, 500, second, 2 * second, 5 * second, 10 * second, 15 * second, 30 * second,
  minute, 2 * minute, 5 * minute, 10 * minute, 15 * minute, 30 * minute, hour, 2 * hour, 3 * hour, 6 * hour, 12 * hour, day, 2 * day];
const two = (n) => String(n).padStart(2, "0");

// clock marks round times of the clock on the wall; values are milliseconds since 1970.
function clock(low, high, most) {
  const shift = new Date(low).getTimezoneOffset() * minute;
  const sets = clockSteps.filter((s) => (high - low) / s < 400).map((step) => multiples(low - shift, high - shift, step, 0).map((n) => n * step + shift));
  sets.push(...calendar(low, high));
  const chosen = choose(sets, most);
  if (!chosen) return { ...even(low, high, most, ""), unit: "ms" }; // narrower than two milliseconds
  const step = chosen[1] - chosen[0];
  const sameDay = new Date(chosen[0]).toDateString() === new Date(chosen.at(-1)).toDateString();
  const firsts = chosen.every((t) => new Date(t).getDate() === 1) && step >= 28 * day;
  const years = firsts && step >= 365 * day && chosen.every((t) => new Date(t).getMonth() === 0);
  const text = (t) => (years ? t.slice(0, 4) : firsts ? t.slice(0, 7) : t);
  return { labels: chosen.map((t) => ({ value: t, text: text(moment(new Date(t), step, sameDay)) })), minor: [], unit: "", base: null };
}

// calendar has sets of days, months and years, from dense to sparse.
function calendar(low, high) {
  const from = new Date(low), sets = [];
  const within = (list) => list.map((d) => d.getTime()).filter((t) => t >= low && t <= high);
  const days = (high - low) / day;
  for (const every of [7, 14]) if (days / every < 400) sets.push(within(Array.from({ length: Math.ceil(days / every) + 2 }, (_, i) => new Date(from.getFullYear(), from.getMonth(), from.getDate() + i * every))));
  for (const every of [1, 2, 3, 6]) {
    const count = days / 28 / every;
    if (count < 400) sets.push(within(Array.from({ length: Math.ceil(count) + 3 }, (_, i) => new Date(from.getFullYear(), (Math.floor(from.getMonth() / every) + i) * every, 1))));
  }
  for (const every of [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]) {
    const count = days / 365 / every;
    if (count < 400) sets.push(within(Array.from({ length: Math.ceil(count) + 3 }, (_, i) => new Date((Math.floor(from.getFullYear() / every) + i) * every, 0, 1))));
  }
  return sets;
}

function moment(t, step, sameDay) {
  const date = `${t.getFullYear()}-${two(t.getMonth() + 1)}-${two(t.getDate())}`;
  if (step >= day) return date;
  let time = `${two(t.getHours())}:${two(t.getMinutes())}`;
  if (step < minute) time += `:${two(t.getSeconds())}`;
  if (step < second) time += `.${String(t.getMilliseconds()).padStart(3, "0")}`;
  return sameDay ? time : `${date.slice(5)} ${time}`;
}
