// Where a value lies within the tolerance of its marking.
import { at, set, svg } from "./draw.js";

const left = 24, right = 276, line = 46;

const percent = (share) => `${share > 0 ? "+" : "−"}${+(100 * Math.abs(share)).toPrecision(3)} %`;

/** Draws a verdict; null for none. */
export function marking(picture) {
  return (v) => {
    picture.toggleAttribute("hidden", v?.offset == null);
    if (v?.offset == null) return;
    const ends = [v.from, v.to, v.offset].filter((x) => x != null);
    const wide = Math.max(...ends.map(Math.abs)) * 1.15 || 0.01;
    const x = (share) => (left + right) / 2 + (Math.max(-wide, Math.min(wide, share)) / wide) * ((right - left) / 2);
    const nodes = [];
    if (v.from != null && v.to != null) nodes.push(svg("rect", { class: "tolerated", x: at(x(v.from)), y: line - 18, width: at(x(v.to) - x(v.from)), height: 18 }));
    nodes.push(svg("path", { class: "axis", d: `M${left} ${line}H${right}M${at(x(0))} ${line}v5` }));
    for (const limit of [v.from, v.to]) {
      if (limit == null) continue;
      nodes.push(svg("path", { class: "limit", d: `M${at(x(limit))} ${line - 22}V${line + 5}` }),
        svg("text", { class: "tick", x: at(x(limit)), y: line + 18, "text-anchor": limit < 0 ? "start" : "end" }, percent(limit)));
    }
    nodes.push(svg("text", { class: "tick", x: at(x(0)), y: line + 32, "text-anchor": "middle" }, v.nominal + " marked"),
      svg("path", { class: "interval", d: `M${at(x(v.low ?? -wide))} ${line - 9}H${at(x(v.high ?? wide))}` }),
      svg("circle", { class: "dot " + v.outcome, cx: at(x(v.offset)), cy: line - 9, r: 5 }),
      svg("text", { class: "away", x: at(x(v.offset)), y: 14, "text-anchor": x(v.offset) < 60 ? "start" : x(v.offset) > 240 ? "end" : "middle" }, percent(v.offset)));
    picture.replaceChildren(...nodes);
    set(picture, { "aria-label": v.text });
  };
}
