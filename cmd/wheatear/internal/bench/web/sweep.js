// A part over frequency.
import { $, el, get, listen, notice, post, say, show } from "./bench.js";
import { curves } from "./curves.js";
import { set } from "./draw.js";
import { findings } from "./told.js";
import { tray } from "./tray.js";

const showTray = tray(), draw = curves($("curves"));
let drawn = "", sweeping = false;

$("begin").addEventListener("submit", (e) => {
  e.preventDefault();
  post("sweep", { part: $("by-hand").hidden ? "" : $("part").value.trim(), at: $("sweep-at").value.trim(), to: $("to").value.trim(), together: $("how").value === "together" });
});
$("pause").addEventListener("click", () => post("stop"));
$("resume").addEventListener("click", () => post("sweep/resume"));

let points = [], ends = [];

$("fit").addEventListener("submit", async (e) => {
  e.preventDefault();
  $("fit-go").disabled = true;
  const answer = await fetch("/api/sweep/fit?circuit=" + encodeURIComponent($("circuit").value.trim())).catch(() => null);
  const fit = await answer?.json();
  $("fit-go").disabled = false;
  if (!answer?.ok) return notice(fit?.error ?? "The program does not answer.", true);
  notice("");
  show($("fitted"), true);
  say($("fit-words"), fit.words);
  say($("fit-check"), fit.check);
  $("fits").replaceChildren(...fit.fits.map((f) => el("li", { class: f.rival ? "rival" : "" }, el("b", {}, f.name), " ", el("code", {}, f.circuit),
    el("p", {}, f.values.map((v) => `${v.name} ${v.text}`).join(", ")))));
  draw(points, ends, fit.curve);
});

async function fill(key) {
  const sweep = await get("sweep");
  if (!sweep || key !== drawn) return;
  const some = sweep.points.length > 0;
  show($("result"), some);
  show($("nothing"), !some);
  say($("sweep-part"), sweep.part);
  say($("sweep-about"), `${sweep.points.length} of ${sweep.points_asked} points, ${new Date(sweep.begun).toLocaleString()}`);
  points = sweep.points;
  ends = sweep.ends_hz;
  draw(points, ends);
  show($("fitted"), false);
  findings($("findings"), sweep.findings);
  $("points").tBodies[0].replaceChildren(...sweep.points.map((p) =>
    el("tr", {}, el("th", { scope: "row" }, p.at), ...cells(p).map((t) => el("td", {}, t)))));
}

function cells(p) {
  if (!p.trusted) return ["refused: " + p.refused, "", ""];
  const line = (name) => p.lines.find((l) => l.name === name)?.text ?? "";
  return [p.headline.value + (p.headline.half ? " ± " + p.headline.half : ""), line("|Z|"), line("phase")];
}

function onState(state) {
  showTray(state.tray);
  $("by-hand").hidden = state.tray != null;
  const s = state.sweep;
  sweeping = state.owner?.kind === "sweep";
  show($("go"), !sweeping);
  show($("pause"), sweeping);
  show($("resume"), !sweeping && s != null && !s.finished);
  show($("progress"), sweeping || (s != null && !s.finished));
  if (s) {
    set($("progress-bar"), { width: (100 * s.done) / s.asked });
    say($("progress-text"), `${s.part}: ${s.done} of ${s.asked} points${sweeping ? "" : ", paused"}`);
  }
  const key = s ? s.begun + " " + s.done + state.jig.key : "none";
  if (key !== drawn) {
    drawn = key;
    if (s) fill(key);
    show($("nothing"), !s);
    if (!s) show($("result"), false);
  }
}

listen({ state: onState, again: () => (drawn = "") });
