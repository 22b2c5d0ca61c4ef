// Parts judged one after the other, with a verdict that is read across the room.
import { $, el, get, listen, post, say, show } from "./bench.js";
import { tray } from "./tray.js";

const showTray = tray(), signs = { pass: "✓ pass", fail: "✗ fail", undecided: "? undecided" };
let sorting = false, filled = false, shown = "";

$("sort").addEventListener("submit", (e) => {
  e.preventDefault();
  if (sorting) post("stop");
  else post("sort", { expect: $("expect").value.trim(), at: $("at").value.trim(), level: "" });
});
$("count").addEventListener("click", () => post("sort/count"));
$("clear").addEventListener("click", () => post("sort/clear"));

function verdict(outcome, read, why) {
  say($("outcome"), signs[outcome] ?? "–");
  $("outcome").className = "outcome " + (outcome ?? "");
  say($("read"), read);
  say($("why"), why);
}

async function fill() {
  const lot = await get("sort");
  $("lot").tBodies[0].replaceChildren(...(lot?.parts ?? []).toReversed().slice(0, 200).map((p) =>
    el("tr", { class: p.verdict.outcome }, el("th", { scope: "row" }, String(p.no)), el("td", {}, p.part), el("td", {}, reads(p.headline)),
      el("td", { class: "strong" }, signs[p.verdict.outcome]), el("td", {}, new Date(p.time).toLocaleTimeString()))));
}

const reads = (head) => head.value + (head.half ? " ± " + head.half : "");

listen({
  state(state) {
    showTray(state.tray);
    sorting = state.owner?.kind === "sorting";
    say($("go"), sorting ? "Stop" : "Sort");
    $("go").classList.toggle("on", sorting);
    show($("count"), sorting);
    if (!sorting) verdict(null, "", "");
    const s = state.sorting;
    if (s && !filled) {
      $("expect").value = s.request.expect;
      $("at").value = s.request.at;
    }
    filled = true;
    for (const name of ["pass", "fail", "undecided"]) say($("n-" + name), String(s?.[name] ?? 0));
    const key = `${state.jig?.key} ${s?.pass} ${s?.fail} ${s?.undecided}`;
    if (key !== shown) {
      shown = key;
      fill();
    }
  },
  live(u) {
    if (!sorting || !u.verdict) return;
    const nothing = !u.sheet.trusted || u.sheet.state !== "ok";
    verdict(nothing ? null : u.verdict.outcome, `${u.part}: ${u.sheet.refused ? "refused, " + u.sheet.refused : reads(u.sheet.headline)}`, nothing ? "" : u.verdict.text);
  },
  again: () => (shown = ""),
});
