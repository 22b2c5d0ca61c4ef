// The choices of a plan as a table, one of them chosen; bars on a scale of decades.
import { el } from "./bench.js";
import { svg } from "./draw.js";

/** Fills the table; chosen(index) is told which row a person chooses. */
export function choices(body, plan, chosen) {
  const place = scale([plan.wanted, ...plan.choices.map((c) => c.half_width)].filter(Boolean));
  body.replaceChildren(...plan.choices.map((c, i) => {
    const input = el("input", { type: "radio", name: "choice", id: "choice-" + i, checked: i === 0, on: { change: () => chosen(i) } });
    return el("tr", { class: plan.wanted != null && c.reached ? "enough" : "", on: { click: () => input.checked || input.click() } },
      el("th", { scope: "row" }, el("label", { for: "choice-" + i }, input, " " + c.words.reference)),
      el("td", {}, c.words.frequency),
      el("td", { class: "half" }, c.words.half_width, bar(c.half_width, plan.wanted, place)),
      el("td", {}, c.limits[0]?.source ?? ""));
  }));
}

// scale has whole decades about what there is to show.
function scale(values) {
  const low = 10 ** Math.floor(Math.log10(Math.min(...values)) - 0.1), high = 10 ** Math.ceil(Math.log10(Math.max(...values)));
  return (v) => (100 * Math.log(v / low)) / Math.log(high / low);
}

// bar is the shorter the better the part is known; a line is what is wanted.
function bar(half, wanted, place) {
  const picture = svg("svg", { viewBox: "0 0 100 4", preserveAspectRatio: "none", "aria-hidden": "true" });
  picture.append(svg("rect", { class: "back", width: 100, height: 4 }));
  if (half != null) picture.append(svg("rect", { class: "share", width: place(half).toFixed(1), height: 4 }));
  if (wanted) picture.append(svg("rect", { class: "wanted", x: place(wanted).toFixed(1), width: 1.5, height: 4 }));
  return picture;
}
