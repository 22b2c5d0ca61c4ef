// Results in words: sections of named figures, sentences, a table, findings.
import { el } from "./bench.js";
import { findings } from "./told.js";

/** A section as a node; its table may be scrolled where it is wide. */
export const factsOf = (s) => sheet(s, "h2", Infinity);

/** Likewise, under another heading, and with a table of more rows than that folded. */
export function sheet(s, heading, most) {
  const list = el("ul", { class: "findings" });
  findings(list, s.findings);
  return el("section", { class: "facts" },
    ...(s.title ? [el(heading, { class: "plain" }, s.title)] : []),
    ...(s.facts.length ? [el("dl", { class: "lines" }, ...s.facts.flatMap((f) => [el("dt", {}, f.name), el("dd", {}, f.text, ...(f.remark ? [el("span", { class: "hint" }, " " + f.remark)] : []))]))] : []),
    ...s.words.map((text) => el("p", {}, text)),
    ...(s.rows.length > most ? [el("details", {}, el("summary", {}, `${s.rows.length} rows`), table(s))] : s.rows.length ? [table(s)] : []),
    ...(s.findings.length ? [list] : []));
}

function table(s) {
  return el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": s.title || "In figures" }, el("table", {},
    el("thead", {}, el("tr", {}, ...s.head.map((text) => (text ? el("th", { scope: "col" }, text) : el("td"))))),
    el("tbody", {}, ...s.rows.map((row) => el("tr", {}, ...row.map((text, i) => (i ? el("td", {}, text) : el("th", { scope: "row", class: text.length > 18 ? "long" : "" }, text))))))));
}

/** Sections folded away under one word. */
export function folded(word, sections) {
  return el("details", { class: "folded" }, el("summary", {}, word), el("div", { class: "facts-sheet" }, ...sections.map(factsOf)));
}
