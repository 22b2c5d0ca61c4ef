// How the values of a lot spread: columns, limits, the mean, and what is left out.
import { at, fit, round, set, svg } from "./draw.js";

const top = 34, foot = 226, high = 262;

/** Draws a histogram and says in a sentence what it shows. */
export function spread(picture) {
  let last = null;
  const draw = () => {
    if (!last) return;
    const wide = fit(picture, 720, 400, high);
    picture.replaceChildren(...drawing(last.histogram, last.left_out, wide));
  };
  new ResizeObserver(draw).observe(picture);
  return (lot) => {
    last = lot;
    draw();
    return told(lot.histogram, lot.outliers);
  };
}

// ends of the axis: all columns, and the limits unless they are so far that the columns
// would be hairs beside them.
function ends(h) {
  let low = h.low, high = h.low + h.width * h.counts.length;
  const columns = high - low;
  const far = (x) => x == null || Math.max(high, x) - Math.min(low, x) > 25 * columns;
  for (const limit of [h.limit_low, h.limit_high]) {
    if (!far(limit)) [low, high] = [Math.min(low, limit), Math.max(high, limit)];
  }
  const edge = 0.05 * (high - low);
  return [low - edge, high + edge];
}

function drawing(h, left, wide) {
  const [low, end] = ends(h), most = Math.max(1, ...h.counts), side = 14;
  const x = (v) => at(side + ((v - low) / (end - low)) * (wide - 2 * side));
  const y = (n) => at(foot - (n / most) * (foot - top - 14));
  const nodes = [];
  if (h.sd) nodes.push(svg("rect", { class: "spread-band", x: x(Math.max(low, h.mean - h.sd)), y: top, width: at(x(Math.min(end, h.mean + h.sd)) - x(Math.max(low, h.mean - h.sd))), height: foot - top }));
  h.counts.forEach((n, i) => {
    const from = x(h.low + i * h.width), to = x(h.low + (i + 1) * h.width);
    if (n) nodes.push(svg("rect", { class: "column", x: at(from + 0.7), y: y(n), width: at(Math.max(1, to - from - 1.4)), height: at(foot - y(n)) }));
    if (n && to - from > 17) nodes.push(svg("text", { class: "tick", x: at((from + to) / 2), y: y(n) - 4, "text-anchor": "middle" }, String(n)));
  });
  nodes.push(svg("path", { class: "axis", d: `M${side} ${foot}H${wide - side}` }));
  for (const [name, limit] of [["limit", h.limit_low], ["limit", h.limit_high]]) nodes.push(...limitLine(name, limit, h, x, low, end, wide));
  nodes.push(svg("path", { class: "mean", d: `M${x(h.mean)} ${top}V${foot + 6}` }), words(x(h.mean), foot + 20, "mean " + digits(h.mean, end - low, h.unit), wide));
  for (const p of left) if (p.value != null) nodes.push(...outlier(p, x, low, end, side, wide));
  return nodes;
}

// words are centred where there is room.
function words(x, y, text, wide) {
  const half = text.length * 3.6;
  return svg("text", { class: "spread-word", x: at(Math.min(Math.max(x, half + 2), wide - half - 2)), y, "text-anchor": "middle" }, text);
}

function limitLine(name, limit, h, x, low, end, wide) {
  if (limit == null) return [];
  const text = `${name} ${digits(limit, end - low, h.unit)}`;
  if (limit < low) return [svg("text", { class: "spread-word", x: 4, y: 13 }, "← " + text)];
  if (limit > end) return [svg("text", { class: "spread-word", x: wide - 4, y: 13, "text-anchor": "end" }, text + " →")];
  return [svg("path", { class: "boundary", d: `M${x(limit)} ${top - 14}V${foot}` }), words(x(limit), 13, text, wide)];
}

// outlier is a cross at the value, or at the edge with an arrow where that lies beyond.
function outlier(p, x, low, end, side, wide) {
  const beyond = p.value < low ? -1 : p.value > end ? 1 : 0;
  const place = beyond < 0 ? side : beyond > 0 ? wide - side : x(p.value), y = foot - 8;
  const cross = svg("path", { class: "cross", d: `M${at(place - 5)} ${y - 5}L${at(place + 5)} ${y + 5}M${at(place + 5)} ${y - 5}L${at(place - 5)} ${y + 5}` });
  cross.append(svg("title", {}, `part ${p.no}: ${p.rule}`));
  if (!beyond) return [cross];
  return [cross, set(svg("path"), { class: "cross", fill: "none", d: beyond < 0 ? `M${side - 4} ${y - 14}l-7 4l7 4` : `M${wide - side + 4} ${y - 14}l7 4l-7 4` })];
}

// digits writes a value with as many as the axis can show.
function digits(value, span, unit) {
  const step = 10 ** Math.floor(Math.log10(span / 200));
  return round(Math.round(value / step) * step, unit, 6);
}

function told(h, outliers) {
  const n = h.counts.reduce((a, b) => a + b, 0);
  return `How many of ${n} parts have which value${h.sd ? "; the band is the mean ± the spread of the parts" : ""}${outliers ? "; crosses are parts left out" : ""}.`;
}
