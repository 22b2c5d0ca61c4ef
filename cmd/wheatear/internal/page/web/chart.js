// One module draws every axis of the page: sweeps, trends, spectra, histories.
//
//   const chart = new Chart(host, spec);   chart.set(spec) keeps cursor, zoom and keys
//
// spec = {
//   label,                         what the chart shows, for those who cannot see it
//   x: {kind, name, unit, range},  kind "log", "linear" or "time" (ms since 1970)
//   panels: [{name, unit, kind, share, range, shade: [low, high], least}],
//   curves: [{key, name, tone: "a"…"d", joined, bare, points: [{x, y: [v…], id}], fit: [{x, y: […]}], of}],
//   marks: [{x, name}],            lines across all panels
//   below: [[name, [x…]]…],        short marks under the axis: tone, harmonic, mains
//   slim,                          without readout and buttons, for a small picture
//   difference, pick(point, curve), moved(x)
// }
// v is null, a number, or {value, low, high, text, half}: text and half as the program
// has written them. All panels share x, cursor and zoom; y follows what is in view.
import { el } from "./bench.js";
import { path, set, svg } from "./draw.js";
import { covering, moved, scale, zoomed } from "./scale.js";
import { against, below, figure, inView, plain, runsOf, spanOf, thin, value } from "./series.js";
import { ticks } from "./ticks.js";

const left = 64, right = 14, head = 20, foot = 40, mostMarkers = 400;
const hollow = new Set(["b", "d"]);

export class Chart {
  #host; #spec; #view = null; #cursor = null; #held = false; #hidden = new Set();
  #svg; #readout; #legend; #zoom; #x; #ys = []; #drag = null; #touches = new Map(); #frame = 0; #lines = new Map();

  constructor(host, spec) {
    this.#host = host;
    this.#svg = svg("svg", { class: "chart-svg", tabindex: "0", role: "slider", "aria-orientation": "horizontal" });
    this.#readout = el("div", { class: "chart-read" });
    this.#legend = el("ul", { class: "chart-keys" });
    const tool = (name, text, does) => el("button", { type: "button", class: "small", "aria-label": name, title: name, on: { click: does } }, text);
    this.#zoom = { less: tool("Zoom out", "−", () => this.zoom(2)), more: tool("Zoom in", "+", () => this.zoom(0.5)), all: tool("Show all", "Show all", () => this.all()) };
    host.classList.add("chart-box");
    host.replaceChildren(this.#readout, el("div", { class: "chart-head" }, this.#legend, el("div", { class: "chart-tools no-print" }, ...Object.values(this.#zoom))), this.#svg);
    this.#listen();
    new ResizeObserver(() => this.#later()).observe(host);
    this.set(spec);
  }

  /** Shows other data; cursor, zoom and hidden curves stay. */
  set(spec) {
    this.#spec = spec;
    this.#host.classList.toggle("slim", spec.slim === true);
    this.#lines = new Map(spec.curves.map((c) => [c.key, c.points.toSorted((p, q) => p.x - q.x)]));
    if (this.#view && !this.#overlaps(this.#view)) this.#view = null;
    if (this.#cursor != null) this.#cursor = this.#nearest(this.#cursor)?.x ?? null;
    this.#later();
  }

  get cursor() { return this.#cursor; }
  get view() { return this.#view ?? this.#ends(); }

  /** Puts the cursor at the measured point nearest to x. */
  point(x) {
    this.#cursor = this.#nearest(x)?.x ?? null;
    this.#intoView();
    this.#spec.moved?.(this.#cursor);
    this.#later();
  }

  /** Zooms about the cursor, or a place; factors below 1 go in. */
  zoom(factor, at) {
    const now = this.#scaleOf(this.view);
    const middle = at ?? (this.#cursor != null && this.#cursor > now.low && this.#cursor < now.high ? this.#cursor : now.value((now.from + now.to) / 2));
    this.#show(zoomed(now, middle, factor));
  }

  all() { this.#view = null; this.#later(); }

  #later() {
    if (!this.#frame) this.#frame = requestAnimationFrame(() => { this.#frame = 0; this.#draw(); });
  }

  #visible() { return this.#spec.curves.filter((c) => !this.#hidden.has(c.key) && !this.#hidden.has(c.of)); }

  #ends() {
    const { kind, range } = this.#spec.x;
    if (range) return range;
    const list = this.#spec.curves.flatMap((c) => [this.#lines.get(c.key)[0]?.x, this.#lines.get(c.key).at(-1)?.x]).filter((x) => Number.isFinite(x) && (kind !== "log" || x > 0));
    if (!list.length) return kind === "log" ? [20, 20e3] : kind === "time" ? [Date.now() - 3e5, Date.now()] : [0, 1];
    const low = Math.min(...list), high = Math.max(...list);
    if (kind === "log") return high / low < 1.001 ? [low / 1.5, high * 1.5] : moved({ kind, low, high }, 0).map((v, i) => v * (high / low) ** (i ? 0.02 : -0.02));
    const more = high > low ? (high - low) * 0.02 : kind === "time" ? 30e3 : Math.abs(high) * 0.1 || 1;
    return [low - more, high + more];
  }

  #overlaps([low, high]) { const [a, b] = this.#ends(); return low < b && high > a; }

  #scaleOf([low, high]) { return scale(this.#spec.x.kind, low, high, left, Math.max(left + 40, this.#width() - right)); }

  #width() { return Math.max(240, Math.round(this.#host.clientWidth) || 720); }

  // #show takes a view, kept within all there is and above what numbers can tell apart.
  #show([low, high]) {
    const [a, b] = this.#ends();
    low = Math.max(low, a); high = Math.min(high, b);
    const log = this.#spec.x.kind === "log";
    const enough = log ? high / low > 1.0005 : high - low > Math.max((b - a) * 1e-5, this.#spec.x.kind === "time" ? 20 : 0);
    if (!(high > low) || !enough) return;
    this.#view = low <= a && high >= b ? null : [low, high];
    this.#later();
  }

  #intoView() {
    if (!this.#view || this.#cursor == null) return;
    const s = this.#scaleOf(this.#view);
    if (this.#cursor < s.low || this.#cursor > s.high) this.#show(moved(s, (s.px(this.#cursor) - (s.from + s.to) / 2) / (s.to - s.from)));
  }

  // #nearest is the measured point of any visible curve that is nearest to x on paper.
  #nearest(x) {
    const s = this.#scaleOf(this.view);
    let best = null, least = Infinity;
    for (const curve of this.#visible()) {
      const list = this.#lines.get(curve.key);
      const i = below(list, x);
      for (const p of [list[i], list[i + 1]]) {
        const d = p ? Math.abs(s.px(p.x) - s.px(x)) : Infinity;
        if (d < least) [best, least] = [p, d];
      }
    }
    return best;
  }

  // #step goes by a number of measured points.
  #step(by) {
    const all = [...new Set(this.#visible().flatMap((c) => this.#lines.get(c.key).map((p) => p.x)))].sort((a, b) => a - b);
    if (!all.length) return;
    const i = this.#cursor == null ? (by > 0 ? -1 : all.length) : all.indexOf(this.#cursor);
    this.#held = true;
    this.point(all[Math.max(0, Math.min(all.length - 1, i + by))]);
  }

  #listen() {
    const s = this.#svg;
    const at = (e) => e.clientX - s.getBoundingClientRect().left;
    s.addEventListener("pointerdown", (e) => {
      if (e.button) return;
      s.setPointerCapture(e.pointerId);
      this.#touches.set(e.pointerId, at(e));
      this.#drag = { from: at(e), to: at(e), view: this.view, pan: e.shiftKey || e.pointerType === "touch", spread: this.#spread() };
    });
    s.addEventListener("pointermove", (e) => {
      if (this.#touches.has(e.pointerId)) this.#touches.set(e.pointerId, at(e));
      const d = this.#drag;
      if (!d) {
        if (!this.#held && e.pointerType !== "touch") this.point(this.#x.value(at(e)));
        return;
      }
      if (this.#touches.size === 2) {
        if (!d.spread) return Object.assign(d, { spread: this.#spread(), view: this.view });
        const now = this.#spread(), was = this.#scaleOf(d.view);
        d.moved = true;
        this.#show(zoomed(was, was.value(d.spread.middle), d.spread.wide / Math.max(8, now.wide)));
        return;
      }
      d.to = at(e);
      if (Math.abs(d.to - d.from) > 6) d.moved = true;
      if (d.pan && d.moved && this.#view) {
        const was = this.#scaleOf(d.view);
        this.#slide(moved(was, (d.from - d.to) / (was.to - was.from)));
      } else if (!d.pan) this.#later();
    });
    const end = (e) => {
      const d = this.#drag;
      this.#touches.delete(e.pointerId);
      if (this.#touches.size || !d) return;
      this.#drag = null;
      if (e.type === "pointercancel") return this.#later();
      if (!d.moved) return this.#tap(d.from);
      if (!d.pan && Math.abs(d.to - d.from) > 6) this.#show([this.#x.value(Math.min(d.from, d.to)), this.#x.value(Math.max(d.from, d.to))]);
      this.#later();
    };
    s.addEventListener("pointerup", end);
    s.addEventListener("pointercancel", end);
    s.addEventListener("dblclick", () => this.all());
    s.addEventListener("wheel", (e) => {
      if (!e.ctrlKey && !e.metaKey) return;
      e.preventDefault();
      this.zoom(Math.exp(Math.max(-1, Math.min(1, e.deltaY / 240))), this.#x.value(at(e)));
    }, { passive: false });
    s.addEventListener("keydown", (e) => this.#key(e));
  }

  #slide([low, high]) {
    const [a, b] = this.#ends();
    if (low >= a && high <= b) { this.#view = [low, high]; this.#later(); }
  }

  #spread() {
    const [a, b] = [...this.#touches.values()];
    return b === undefined ? null : { middle: (a + b) / 2, wide: Math.abs(a - b) };
  }

  #tap(px) {
    const before = this.#cursor;
    this.point(this.#x.value(px));
    if (this.#held && before === this.#cursor) this.#held = false;
    else this.#held = true;
    if (this.#spec.pick && this.#cursor != null) {
      for (const curve of this.#visible()) {
        const p = this.#lines.get(curve.key).find((q) => q.x === this.#cursor);
        if (p) { this.#spec.pick(p, curve); break; }
      }
    }
    this.#later();
  }

  #key(e) {
    const keys = {
      ArrowLeft: () => this.#step(-1), ArrowDown: () => this.#step(-1), ArrowRight: () => this.#step(1), ArrowUp: () => this.#step(1),
      PageDown: () => this.#step(-10), PageUp: () => this.#step(10), Home: () => this.#step(-1e9), End: () => this.#step(1e9),
      "+": () => this.zoom(0.5), "=": () => this.zoom(0.5), "-": () => this.zoom(2), 0: () => this.all(),
      Escape: () => { this.#held = false; this.#cursor = null; this.#drag = null; this.#spec.moved?.(null); this.#later(); },
    };
    const does = keys[e.key];
    if (!does || e.ctrlKey || e.metaKey || e.altKey) return;
    e.preventDefault();
    does();
  }

  #draw() {
    const { x, panels, curves, marks = [], label = "" } = this.#spec, width = this.#width();
    const shown = panels.map((p, i) => ({ ...p, i }));
    const tall = shown.map((p) => Math.round((p.share ?? 1) * (this.#spec.slim ? 140 : width < 520 ? 150 : 190)));
    const high = tall.reduce((a, b) => a + b + head, 0) + foot;
    set(this.#svg, { width, height: high, viewBox: `0 0 ${width} ${high}` });
    this.#x = this.#scaleOf(this.view);
    const visible = this.#visible(), nodes = [];
    const xt = ticks(x.kind, this.#x.low, this.#x.high, Math.max(3, Math.floor((this.#x.to - this.#x.from) / (x.kind === "time" ? 92 : 68))), x.unit);
    let top = 0;
    this.#ys = shown.map((p, k) => {
      const y = this.#yOf(p, visible, top + head + tall[k] - 8, top + head + 4);
      nodes.push(...this.#panel(p, y, xt, visible));
      top += head + tall[k];
      return y;
    });
    const bottom = this.#ys.at(-1)?.from ?? 0;
    for (const t of xt.labels) nodes.push(svg("text", { class: "tick mid", x: this.#x.px(t.value), y: bottom + 17 }, t.text));
    const title = [x.name, xt.unit && `(${xt.unit})`].filter(Boolean).join(" ");
    nodes.push(svg("text", { class: "axis-name end", x: this.#x.to, y: bottom + 34 }, title));
    for (const [name, list] of this.#spec.below ?? []) {
      const seen = list.map((v) => this.#x.px(v)).filter((px) => px >= left && px <= this.#x.to);
      if (seen.length) nodes.push(svg("path", { class: "below " + name, d: seen.map((px) => `M${px.toFixed(1)} ${bottom - 9}v9`).join("") }));
    }
    for (const m of marks) {
      const at = this.#x.px(m.x);
      if (at < left || at > this.#x.to) continue;
      nodes.push(svg("path", { class: "mark", d: `M${at} ${this.#ys[0].to}V${bottom}` }), svg("text", { class: "mark-name", x: at + 4, y: this.#ys[0].to + 12 }, m.name));
    }
    nodes.push(...this.#pointer(visible, bottom));
    this.#svg.replaceChildren(...nodes);
    this.#keys(curves);
    this.#read(visible, label);
    this.#zoom.all.disabled = this.#zoom.less.disabled = this.#view == null;
  }

  #yOf(p, visible, from, to) {
    if (p.range) return scale(p.kind ?? "linear", ...p.range, from, to);
    const values = [], ends = [];
    for (const curve of visible) {
      for (const q of [...inView(this.#lines.get(curve.key), this.#x), ...(curve.fit ?? []).filter((f) => f.x >= this.#x.low && f.x <= this.#x.high)]) {
        const v = q.y[p.i];
        values.push(value(v));
        if (v?.low != null) ends.push(v.low);
        if (v?.high != null) ends.push(v.high);
      }
    }
    const log = p.kind === "log" || (p.kind === "auto" && values.every((v) => !(v <= 0)) && spanOf(values) > 20);
    return scale(log ? "log" : "linear", ...covering(log ? "log" : "linear", values, ends, p.least), from, to);
  }

  #panel(p, y, xt, visible) {
    const yt = ticks(y.kind, y.low, y.high, Math.max(3, Math.floor((y.from - y.to) / 26)), p.unit ?? "");
    const clip = `clip-${this.#host.id || "chart"}-${p.i}`;
    const box = { x: left, y: y.to, width: this.#x.to - left, height: y.from - y.to };
    const field = [svg("rect", { class: "field", ...box })];
    if (p.shade) {
      const [a, b] = p.shade.map((v) => Math.max(y.to, Math.min(y.from, y.px(v))));
      field.push(svg("rect", { class: "shade", x: left, y: Math.min(a, b), width: box.width, height: Math.abs(a - b) }));
    }
    const lines = (list, name, of) => list.length ? [svg("path", { class: name, d: list.map(of).join("") })] : [];
    const across = (v) => `M${left} ${y.px(v).toFixed(1)}H${this.#x.to}`, down = (v) => `M${this.#x.px(v).toFixed(1)} ${y.to}V${y.from}`;
    field.push(...lines(xt.minor, "hair", down), ...lines(xt.labels.map((t) => t.value), "grid", down), ...lines(yt.labels.map((t) => t.value), "grid", across));
    field.push(...lines(yt.minor, "tickmark", (v) => `M${left - 4} ${y.px(v).toFixed(1)}h4`), ...lines(yt.labels, "tickmark", (t) => `M${left - 7} ${y.px(t.value).toFixed(1)}h7`));
    field.push(svg("path", { class: "axis", d: `M${left} ${y.to}V${y.from}H${this.#x.to}` }));
    for (const t of yt.labels) field.push(svg("text", { class: "tick end", x: left - 9, y: y.px(t.value) + 4 }, t.text));
    const unit = yt.unit && `(${yt.unit})`;
    const base = yt.base ? ` − ${plain(yt.base, p.unit)}` : "";
    field.push(svg("text", { class: "axis-name", x: left - 2, y: y.to - 7 }, `${p.name}${base} ${unit}`.trim()));
    const inside = svg("g", { "clip-path": `url(#${clip})` });
    for (const curve of visible) inside.append(...this.#curve(curve, p.i, y));
    return [svg("clipPath", { id: clip }), ...field, inside].map((n) => (n.tagName === "clipPath" ? (n.append(svg("rect", { ...box, x: left - 5, width: box.width + 10 })), n) : n));
  }

  // #curve draws bands, lines and markers of one quantity, thinned to what pixels can show.
  #curve(curve, i, y) {
    const x = this.#x, list = inView(this.#lines.get(curve.key), x, 1), nodes = [];
    const has = list.filter((p) => Number.isFinite(value(p.y[i])));
    const spot = (v) => Math.max(-1e4, Math.min(1e4, y.px(v)));
    const crowded = has.length > mostMarkers;
    const edge = (v, side) => (v?.[side] == null ? (typeof v === "number" ? y.px(v) : side === "high" ? y.to - 50 : y.from + 50) : spot(v[side]));
    const runs = runsOf(list, i);
    for (const run of runs) {
      const bars = curve.joined || crowded;
      if (run.some((p) => typeof p.y[i] === "object")) {
        if (bars && run.length > 1) {
          const up = thin(run.map((p) => [x.px(p.x), edge(p.y[i], "high")]), "high"), down = thin(run.map((p) => [x.px(p.x), edge(p.y[i], "low")]), "low");
          nodes.push(svg("path", { class: "area tone-" + curve.tone, d: path([...up, ...down.toReversed()]) + "Z" }));
        } else nodes.push(svg("path", { class: "bar tone-" + curve.tone, d: run.map((p) => `M${x.px(p.x).toFixed(1)} ${edge(p.y[i], "low").toFixed(1)}V${edge(p.y[i], "high").toFixed(1)}`).join("") }));
      }
      if (curve.joined || crowded) nodes.push(svg("path", { class: "trace tone-" + curve.tone, d: path(thin(run.map((p) => [x.px(p.x), spot(value(p.y[i]))]))) }));
    }
    const fit = (curve.fit ?? []).filter((f) => Number.isFinite(f.y[i]));
    if (fit.length) nodes.push(svg("path", { class: "trace fit tone-" + curve.tone, d: path(fit.map((f) => [x.px(f.x), spot(f.y[i])])) }));
    if (!curve.bare && !crowded) {
      const r = curve.joined ? 2 : 3.2;
      const d = has.map((p) => `M${(x.px(p.x) - r).toFixed(1)} ${spot(value(p.y[i])).toFixed(1)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`).join("");
      nodes.push(svg("path", { class: `dots tone-${curve.tone}${hollow.has(curve.tone) ? " hollow" : ""}`, d }));
    }
    return nodes;
  }

  #pointer(visible, bottom) {
    const nodes = [], d = this.#drag;
    if (d?.moved && !d.pan && this.#touches.size < 2) nodes.push(svg("rect", { class: "choice", x: Math.min(d.from, d.to), y: this.#ys[0].to, width: Math.abs(d.to - d.from), height: bottom - this.#ys[0].to }));
    const at = this.#cursor == null ? NaN : this.#x.px(this.#cursor);
    if (!(at >= left - 1 && at <= this.#x.to + 1)) return nodes;
    nodes.push(svg("path", { class: "cursor", d: `M${at} ${this.#ys[0].to}V${bottom}` }));
    if (this.#held) nodes.push(svg("path", { class: "pin", d: `M${at - 6} ${this.#ys[0].to}h12l-6 8z` }));
    for (const curve of visible) {
      const p = this.#at(curve);
      if (!p || p.x !== this.#cursor) continue;
      this.#ys.forEach((y, i) => Number.isFinite(value(p.y[i])) && y.px(value(p.y[i])) >= y.to && y.px(value(p.y[i])) <= y.from &&
        nodes.push(svg("circle", { class: "spot tone-" + curve.tone, cx: at, cy: y.px(value(p.y[i])), r: 5 })));
    }
    return nodes;
  }

  #keys(curves) {
    const state = JSON.stringify(curves.map((c) => [c.key, c.name, c.tone, !!c.fit, this.#hidden.has(c.key)]));
    if (this.#legend.dataset.state === state) return;
    this.#legend.dataset.state = state;
    this.#legend.replaceChildren(...curves.filter((c) => c.name).map((c) => {
      const sample = svg("svg", { class: "sample", viewBox: "0 0 26 12", "aria-hidden": "true" });
      sample.append(svg("path", { class: "area tone-" + c.tone, d: "M0 1H26V11H0Z" }), svg("path", { class: "trace tone-" + c.tone, d: c.joined || c.fit ? "M0 6H26" : "" }));
      if (!c.bare) sample.append(svg("circle", { class: `dots tone-${c.tone}${hollow.has(c.tone) ? " hollow" : ""}`, cx: 13, cy: 6, r: 3 }));
      return el("li", {}, el("button", { type: "button", class: "key", "aria-pressed": String(!this.#hidden.has(c.key)), on: { click: () => this.#toggle(c.key) } }, sample, c.name));
    }));
  }

  #toggle(key) {
    if (!this.#hidden.delete(key)) this.#hidden.add(key);
    this.#later();
  }

  // #at is what a curve has at the cursor: its own point, or the nearest, which is said.
  #at(curve) {
    const list = this.#lines.get(curve.key), i = below(list, this.#cursor);
    const near = [list[i], list[i + 1]].filter(Boolean).sort((a, b) => Math.abs(a.x - this.#cursor) - Math.abs(b.x - this.#cursor))[0];
    if (!near) return null;
    const s = this.#x;
    return Math.abs(s.px(near.x) - s.px(this.#cursor)) < 40 ? near : null;
  }

  #read(visible, label) {
    const { x, panels, difference } = this.#spec;
    const where = this.#cursor == null ? "" : this.#where(this.#cursor);
    const rows = [], found = [];
    if (this.#cursor != null) {
      for (const curve of visible) {
        const p = this.#at(curve);
        if (!p) continue;
        found.push({ curve, p });
        rows.push(el("tr", { class: "tone-" + curve.tone }, el("th", { scope: "row" }, p.x === this.#cursor ? "" : "≈ ", curve.name),
          ...panels.map((q, i) => el("td", {}, figure(p.y[i], q.unit)))));
      }
    }
    if (found.length === 2 && difference !== false) rows.push(el("tr", { class: "difference" }, el("th", { scope: "row" }, "second against first"), ...panels.map((q, i) => el("td", {}, against(found[0].p.y[i], found[1].p.y[i], q)))));
    const hint = "Point to read values, drag to zoom.";
    this.#readout.replaceChildren(el("table", {}, el("thead", {}, el("tr", {}, el("th", { scope: "col" }, where || el("span", { class: "hint" }, hint)), ...panels.map((p) => el("th", { scope: "col" }, where ? p.name : "")))), el("tbody", {}, ...rows)));
    const ends = this.#ends(), s = scale(x.kind, ...ends, 0, 100);
    const said = found.map(({ curve, p }) => `${curve.name ? curve.name + ": " : ""}${panels.map((q, i) => `${q.name} ${figure(p.y[i], q.unit)}`).join(", ")}`).join("; ");
    set(this.#svg, { "aria-label": label, "aria-valuemin": 0, "aria-valuemax": 100, "aria-valuenow": this.#cursor == null ? 0 : Math.round(s.px(this.#cursor)), "aria-valuetext": where ? `${where}. ${said}` : "no point chosen" });
  }

  #where(v) {
    const { kind, unit } = this.#spec.x;
    if (kind === "time") return new Date(v).toLocaleString("sv-SE");
    return plain(v, unit, 5);
  }
}
