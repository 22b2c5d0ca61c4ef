// Readings that were kept in the folder of the jig.
import { $, clock, el, get, say, show } from "./bench.js";
import { interval } from "./told.js";

export async function fillKept() {
  const list = (await get("readings")) ?? [];
  say($("kept-count"), String(list.length));
  show($("nothing"), list.length === 0);
  show($("result"), list.length > 0);
  $("readings").tBodies[0].replaceChildren(...list.map(row));
}

function row(k) {
  const s = k.sheet;
  const text = s.trusted ? s.headline.value + " " + interval(s.headline.half) : "refused: " + s.refused;
  const file = k.files?.[0];
  return el("tr", { class: s.trusted ? "" : "untrusted" },
    el("th", { scope: "row" }, String(k.id)), el("td", {}, clock(k.time)), el("td", {}, k.part), el("td", {}, s.at),
    el("td", { class: "strong" }, text), el("td", {}, s.lines.find((l) => l.name === "level")?.text ?? ""), el("td", {}, s.findings.map((f) => f.code).join(", ")),
    el("td", { class: "links" }, el("a", { href: `/api/readings/${k.id}/report` }, "report"), file ? " " : "", file ? el("a", { href: "/api/recordings/" + encodeURIComponent(file) }, "recording") : ""));
}
