// The worksheet: what is set, heard, read, meant, and how far it holds.
import { $, el, listen, notice, post, say } from "./bench.js";
import { parallel, series } from "./circuit.js";
import { phasor } from "./phasor.js";
import { spectrum } from "./spectrum.js";
import { budget, findings, interval, lines } from "./told.js";
import { tray } from "./tray.js";
import { trend } from "./trend.js";

const showTray = tray(), showPhasor = phasor($("phasor")), showSpectrum = spectrum($("spectrum")), showTrend = trend($("trend"));
let last = null; // when it was read last
let reading = false, filled = false, drawn = "";

const settings = () => ({ at: $("at").value.trim(), level: $("level").value.trim(), part: $("by-hand").hidden ? "" : $("part").value.trim() });

$("settings").addEventListener("submit", (e) => {
  e.preventDefault();
  if (reading) post("stop");
  else post("live", settings());
});
$("keep").addEventListener("click", async () => {
  const kept = await post("readings", settings());
  if (kept) notice(kept.map((k) => `Kept as no. ${k.id}: ${k.part} ${k.sheet.headline.value} ${interval(k.sheet.headline.half)} at ${k.sheet.at}.`).join(" "));
});
for (const id of ["at", "level", "part"]) $(id).addEventListener("change", () => reading && post("live", settings()));
document.querySelectorAll("[data-at]").forEach((b) => b.addEventListener("click", () => {
  $("at").value = b.dataset.at;
  if (reading) post("live", settings());
}));

function onState(state) {
  reading = state.owner?.kind === "live reading";
  say($("go"), reading ? "Stop" : "Read");
  $("go").classList.toggle("on", reading);
  const past = !reading && last != null;
  $("phasor").classList.toggle("past", past);
  say($("past"), past ? "Not live: read last at " + last.toLocaleTimeString() + "." : "");
  $("by-hand").hidden = state.tray != null;
  showTray(state.tray);
  if (!filled) {
    filled = true;
    const planned = new URLSearchParams(location.search); // carried on from a plan
    $("at").value = planned.get("at") ?? state.live.at;
    $("level").value = planned.get("level") ?? state.live.level;
    $("part").value = state.live.part;
  }
  $("level").placeholder = state.jig?.level ?? "";
  const freqs = state.calibration?.frequencies_hz ?? [];
  if (drawn !== String(freqs)) {
    drawn = String(freqs);
    $("calibrated-at").replaceChildren(...freqs.map((f) => el("option", { value: +f.toPrecision(9) })));
  }
}

function onLive(u) {
  const sheet = u.sheet;
  say($("part-name"), u.part);
  say($("read-at"), "at " + sheet.at);
  last = new Date(u.time);
  showPhasor(sheet);
  lines($("lines"), sheet.lines);
  $("way").replaceChildren(...u.way.map((w) => el("li", {}, el("span", {}, w.name), " ", el("b", {}, w.text))));
  means(sheet);
  budget($("budget"), sheet.budget);
  findings($("findings"), sheet.findings, "Nothing that a person must know.");
  heard(u.heard);
  showTrend.add(u.point, u.part);
}

function means(sheet) {
  series($("series").querySelector("svg"), sheet.series);
  parallel($("parallel").querySelector("svg"), sheet.parallel);
  $("series").parentElement.dataset.best = sheet.best;
  for (const name of ["series", "parallel"]) $(name).classList.toggle("best", sheet.best === name || sheet.best === "either");
  say($("reason"), [sheet.reason, sheet.hint].filter(Boolean).join("; "));
}

function heard(h) {
  lines($("inputs"), h.inputs.map((input, i) => ({ name: `input ${i + 1}: ${input.carries}`, text: `${input.text}, peak ${db(input.peak_db)}, noise ${db(input.noise_db)}` })));
  showSpectrum(h.spectrum);
  say($("heard-more"), `clock ${h.clock}${h.mains ? "; mains " + h.mains : ""}`);
}

const db = (v) => (v == null ? "silent" : v.toFixed(0).replace("-", "−") + " dBFS");

listen({ state: onState, live: onLive, again: () => showTrend.fill() });
