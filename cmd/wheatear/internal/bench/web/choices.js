// The choices of a plan as a table, one of them chosen; bars on a scale of decades.
import { el } from "./bench.js";
import { svg } from "./draw.js";

const best = 1e-5, worst = 1;

/** Fills the table; chosen(index) is told which row a person chooses. */
export function choices(body, plan, chosen) {
  body.replaceChildren(...plan.choices.map((c, i) => {
    const input = el("input", { type: "radio", name: "choice", id: "choice-" + i, checked: i === 0, on: { change: () => chosen(i) } });
    return el("tr", { class: plan.wanted != null && c.reached ? "enough" : "", on: { click: () => input.checked || input.click() } },
      el("th", { scope: "row" }, el("label", { for: "choice-" + i }, input, " " + c.words.reference)),
      el("td", {}, c.words.frequency),
      el("td", { class: "half" }, c.words.half_width, bar(c, plan.wanted)),
      el("td", {}, c.limits[0]?.source ?? ""));
  }));
}

const place = (half) => Math.max(1, Math.min(100, (100 * Math.log(half / best)) / Math.log(worst / best)));

// bar is the shorter the better the part is known; a line is what is wanted.
function bar(c, wanted) {
  const picture = svg("svg", { viewBox: "0 0 100 4", preserveAspectRatio: "none", "aria-hidden": "true" });
  picture.append(svg("rect", { class: "back", width: 100, height: 4 }));
  if (c.half_width != null) picture.append(svg("rect", { class: "share", width: place(c.half_width).toFixed(1), height: 4 }));
  if (wanted) picture.append(svg("rect", { class: "wanted", x: place(wanted).toFixed(1), width: 0.8, height: 4 }));
  return picture;
}
