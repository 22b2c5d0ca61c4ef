// The live reading: its result in one place, and below it the working that led there.
import { $, clock, el, listen, notice, post, say } from "./bench.js";
import { parallel, series } from "./circuit.js";
import { figure, sentenceOf } from "./figure.js";
import { marking } from "./marking.js";
import { phasor } from "./phasor.js";
import { spectrum } from "./spectrum.js";
import { budget, interval, lines, told } from "./told.js";
import { tray } from "./tray.js";
import { trend } from "./trend.js";

const showTray = tray(), showPhasor = phasor($("phasor")), showSpectrum = spectrum($("spectrum")), showTrend = trend($("trend")), showMarking = marking($("marking"));
let last = null, read = 0; // when it was read last, by the program and by this page
let reading = false, filled = false, drawn = "", level = "";

const settings = () => ({ at: $("at").value.trim(), level: $("level").value.trim(), part: $("by-hand").hidden ? "" : $("part").value.trim(), as: $("as").value, marked: $("marked").value.trim() });

$("settings").addEventListener("submit", (e) => {
  e.preventDefault();
  if (reading) post("stop");
  else post("live", settings());
});
$("keep").addEventListener("click", async () => {
  const kept = await post("readings", settings());
  if (kept) notice(kept.map((k) => `Saved as no. ${k.id}: ${k.part} ${k.sheet.headline.value} ${interval(k.sheet.headline.half)} at ${k.sheet.at}.`).join(" "), false, { Open: () => location.assign("/notebook") });
});
const anew = () => reading && post("live", settings());
for (const id of ["at", "level", "part", "as", "marked"]) $(id).addEventListener("change", anew);
document.querySelectorAll("[data-at]").forEach((b) => b.addEventListener("click", () => {
  $("at").value = b.dataset.at;
  anew();
}));

function onState(state) {
  reading = state.owner?.kind === "live reading";
  say($("go"), reading ? "Stop" : "Read");
  $("go").classList.toggle("on", reading);
  aged();
  $("by-hand").hidden = state.tray != null;
  showTray(state.tray);
  if (!filled) {
    filled = true;
    const planned = new URLSearchParams(location.search); // carried on from a plan
    for (const id of ["at", "level", "part", "as", "marked"]) $(id).value = planned.get(id) ?? state.live[id] ?? "";
  }
  $("level").placeholder = leveled((level = state.jig?.level ?? ""));
  const freqs = state.calibration?.frequencies_hz ?? [];
  if (drawn !== String(freqs)) {
    drawn = String(freqs);
    $("calibrated-at").replaceChildren(...freqs.map((f) => el("option", { value: +f.toPrecision(9) })));
  }
}

// aged says how old the result is; what is not live is drawn hollow.
function aged() {
  const seconds = (Date.now() - read) / 1000;
  const live = reading && read > 0 && seconds < 5;
  document.querySelector(".read-out").classList.toggle("past", last != null && !live);
  $("phasor").classList.toggle("past", last != null && !live);
  say($("past"), last == null ? "" : live ? `live · read ${seconds.toFixed(1)} s ago` : "Not live: read at " + clock(last));
}
setInterval(aged, 200);

function onLive(u) {
  const sheet = u.sheet;
  say($("part-name"), u.part);
  say($("read-at"), "at " + sheet.at);
  say($("why"), u.why);
  last = new Date(u.time);
  read = Date.now();
  aged();
  figure($("figure"), sheet);
  const v = sheet.verdict;
  $("sentence").replaceChildren(...[el("b", { class: "name" }, sentenceOf(sheet)), sheet.hint, v && el("b", { class: "judged " + v.outcome }, v.text)].filter(Boolean).flatMap((n, i) => (i ? [" · ", n] : [n])));
  showMarking(v);
  lines($("beside"), sheet.beside);
  lines($("lines"), sheet.lines.filter((l) => !sheet.beside.some((b) => b.name === l.name)));
  showPhasor(sheet);
  circuits(sheet);
  budget($("budget"), sheet.budget);
  told(sheet.findings);
  signals(u.heard);
  hands(u);
  showTrend.add(u.point, u.part);
}

// hands says what each step hands on to the next.
function hands(u) {
  const none = "—", sheet = u.sheet, way = u.way.at(-1);
  say($("hands-1"), [sheet.at, leveled(settings().level || level)].filter(Boolean).join(", "));
  say($("hands-2"), u.way[0]?.text ?? none);
  say($("way-name"), way && u.way.length > 1 ? way.name : "times reference");
  say($("hands-3"), u.way.length > 1 ? way.text : none);
  say($("circuit-name"), sheet.headline.name || "main element");
  say($("hands-4"), sheet.trusted ? sheet.headline.value : none);
  say($("hands-5"), (sheet.trusted && interval(sheet.headline.half)) || none);
}

function circuits(sheet) {
  series($("series").querySelector("svg"), sheet.series);
  parallel($("parallel").querySelector("svg"), sheet.parallel);
  $("series").parentElement.dataset.best = sheet.best;
  for (const name of ["series", "parallel"]) $(name).classList.toggle("best", sheet.best === name || sheet.best === "either");
  say($("reason"), sheet.reason);
}

function signals(h) {
  lines($("inputs"), h.inputs.map((input, i) => ({ name: `${i + 1} ${input.carries}`, text: `${input.text}, peak ${db(input.peak_db)}, noise ${db(input.noise_db)}` })));
  showSpectrum(h.spectrum, h.inputs);
  say($("heard-more"), `clock ${h.clock}${h.mains ? "; mains " + h.mains : ""}`);
}

const leveled = (text) => text.replace("-", "−").replace(/(\d)([dV])/, "$1 $2");
const db = (v) => (v == null ? "silent" : v.toFixed(0).replace("-", "−") + " dBFS");

listen({ state: onState, live: onLive, again: () => showTrend.fill() });
