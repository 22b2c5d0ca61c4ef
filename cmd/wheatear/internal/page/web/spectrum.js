// What both inputs hear, over frequency on a logarithmic scale.
import { path, svg } from "./draw.js";

const area = { left: 34, right: 314, top: 8, bottom: 122 };
const high = 0, low = -150;

export function spectrum(picture) {
  return (s) => {
    if (!s) return;
    const x = (hz) => area.left + ((area.right - area.left) * Math.log(hz / s.low_hz)) / Math.log(s.high_hz / s.low_hz);
    const y = (db) => area.top + ((high - Math.max(low, Math.min(high, db))) / (high - low)) * (area.bottom - area.top);
    const nodes = [];
    for (let db = 0; db >= low; db -= 50) {
      nodes.push(svg("path", { class: "rule", d: `M${area.left} ${y(db)}H${area.right}` }),
        svg("text", { class: "tick", x: area.left - 4, y: y(db) + 4, "text-anchor": "end" }, String(db).replace("-", "−")));
    }
    for (const hz of [100, 1000, 10000]) {
      nodes.push(svg("path", { class: "rule", d: `M${x(hz)} ${area.top}V${area.bottom}` }),
        svg("text", { class: "tick", x: x(hz), y: area.bottom + 19, "text-anchor": "middle" }, hz >= 1000 ? hz / 1000 + " kHz" : hz + " Hz"));
    }
    const marks = (list, name) => list.filter((hz) => hz > s.low_hz && hz < s.high_hz)
      .forEach((hz) => nodes.push(svg("path", { class: "mark " + name, d: `M${x(hz)} ${area.bottom}v7` })));
    marks(s.mains_hz, "mains");
    marks(s.harmonics_hz, "harmonic");
    marks(s.tones_hz, "tone");
    s.db.forEach((list, i) => {
      const step = (area.right - area.left) / list.length;
      nodes.push(svg("path", { class: "trace input" + (i + 1), d: path(list.map((db, c) => [area.left + (c + 0.5) * step, y(db)])) }));
    });
    nodes.push(...key());
    picture.replaceChildren(...nodes);
  };
}

function key() {
  const out = [];
  [["tone", 36], ["harmonic", 104], ["mains", 190]].forEach(([name, x]) => {
    out.push(svg("path", { class: "mark " + name, d: `M${x} 150v8` }), svg("text", { class: "tick", x: x + 6, y: 158 }, name));
  });
  return out;
}
