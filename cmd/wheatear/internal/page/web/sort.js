// Parts judged one after the other, with a verdict that is read across the room.
import { $, el, get, listen, post, say, show } from "./bench.js";
import { svg } from "./draw.js";
import { interval, lines } from "./told.js";
import { parts } from "./sorted.js";
import { sign } from "./signs.js";
import { spread } from "./spread.js";
import { tray } from "./tray.js";

const showTray = tray(), showSpread = spread($("spread")), table = parts();
const words = { pass: "pass", fail: "fail", undecided: "undecided", unread: "unread" };
let sorting = false, filled = false, lot = null, shown = "", fetching = false;

const value = (id) => $(id).value.trim();
$("sort").addEventListener("submit", (e) => {
  e.preventDefault();
  if (sorting) post("stop");
  else post("sort", { expect: value("expect"), at: value("at"), level: "", bins: value("bins"), as: value("as"), lot: value("lot-name"), within: "" });
});
$("count").addEventListener("click", () => post("sort/count"));
$("back").addEventListener("click", () => lot?.last && post("sort/back", { no: lot.last.no }));
$("clear").addEventListener("click", () => {
  say($("sure-text"), `Clear ${lot.parts === 1 ? "the part" : `all ${lot.parts} parts`} of ${lot.request.lot}? Its file is put aside into the folder sorted/cleared.`);
  $("sure").showModal();
});
$("sure-no").addEventListener("click", () => $("sure").close());
$("sure-yes").addEventListener("click", () => {
  $("sure").close();
  post("sort/clear");
});

const reads = (p) => p.value + " " + interval(p.half);

// verdict shows the part that was judged last, until the next one is in: then nothing
// must stand there that could be taken for its verdict.
function verdict(last, stage) {
  const moving = stage === "settling" || stage === "reading" || stage === "asked";
  const told = last && !moving ? last : null;
  sign($("sign"), moving ? "wait" : told?.outcome);
  say($("word"), moving ? (stage === "asked" ? "look here" : "…") : words[told?.outcome] ?? "–");
  $("outcome").className = "outcome " + (moving ? "wait" : told?.outcome ?? "");
  say($("which"), told ? `part ${told.no}${told.name && told.name !== "part " + told.no ? ", " + told.name : ""}` : "");
  say($("read"), told ? reads(told) : "");
  say($("why"), told?.why ?? "");
  say($("bin"), told?.bin ?? "");
  say($("bin-doubt"), told?.bin_doubt ? `${told.bin_doubt} sure` : "");
  show($("bin-box"), Boolean(told?.bin));
}

// figures fetches spread and bins, of the same size for ten parts and ten thousand, and
// never twice at once.
async function figures() {
  if (fetching) return;
  fetching = true;
  for (let key = ""; lot && key !== shown;) {
    key = shown;
    const whole = await get("sort");
    if (whole) tell(whole);
  }
  fetching = false;
}

function tell(whole) {
  lines($("lot-lines"), whole.lines);
  show($("spread-box"), whole.parts > 1 && whole.histogram != null);
  if (whole.histogram) say($("spread-told"), showSpread(whole));
  const most = Math.max(1, ...whole.bins.map((b) => b.count));
  show($("bins-table"), whole.bins.length > 0);
  $("bins-table").tBodies[0].replaceChildren(...whole.bins.map((b) =>
    el("tr", {}, el("th", { scope: "row" }, b.name), el("td", {}, String(b.count)), el("td", { class: "bar-cell" }, bar(b.count / most)))));
  show($("left-box"), whole.outliers > 0);
  say($("left-head"), `${whole.outliers === 1 ? "1 part is" : whole.outliers + " parts are"} left out of mean and spread`);
  $("left-out").replaceChildren(...whole.left_out.map((p) => el("li", {}, `part ${p.no}: ${p.rule}`)),
    ...(whole.outliers > whole.left_out.length ? [el("li", {}, `and ${whole.outliers - whole.left_out.length} more, marked in the list of parts`)] : []));
}

function bar(share) {
  const picture = svg("svg", { viewBox: "0 0 100 10", preserveAspectRatio: "none", "aria-hidden": "true" });
  picture.append(svg("rect", { class: "share", width: (100 * share).toFixed(1), height: 10 }));
  return picture;
}

function onState(state) {
  showTray(state.tray);
  sorting = state.owner?.kind === "sorting";
  lot = state.sorting;
  say($("go"), sorting ? "Stop" : "Sort");
  $("go").classList.toggle("on", sorting);
  $("sort").classList.toggle("under-way", sorting);
  show($("count"), sorting);
  if (lot && !filled) {
    for (const [id, name] of [["expect", "expect"], ["at", "at"], ["bins", "bins"], ["as", "as"], ["lot-name", "lot"]]) $(id).value = lot.request[name];
  }
  filled = true;
  if (sorting && lot && value("lot-name") === "") $("lot-name").value = lot.request.lot;
  say($("cue"), sorting ? lot?.cue ?? "" : "");
  $("cue").dataset.stage = lot?.stage ?? "";
  show($("decision"), sorting);
  verdict(lot?.last, lot?.stage);
  show($("lot-box"), lot != null);
  if (!sorting) say($("now"), "");
  if (!lot) return;
  say($("lot-called"), lot.request.lot);
  for (const [id, n] of [["n-pass", lot.pass], ["n-fail", lot.fail], ["n-undecided", lot.undecided], ["n-parts", lot.parts]]) say($(id), String(n));
  say($("back"), lot.last ? `Take back part ${lot.last.no}` : "Take back the last");
  $("back").disabled = $("clear").disabled = !lot.last;
  const key = [state.jig?.key, lot.file, lot.version, lot.parts].join(" ");
  if (key === shown) return;
  shown = key;
  table.changed(lot);
  figures();
}

listen({
  state: onState,
  live(u) {
    if (!sorting) return;
    const head = u.sheet.headline;
    say($("now"), `now ${u.sheet.refused ? "not to be read: " + u.sheet.refused : head.value + " " + interval(head.half)}`);
  },
  again() {
    shown = "";
    table.again();
  },
});
