// The guided calibration: one standard after the other.
import { $, calibratedText, el, listen, post, say, show } from "./bench.js";
import { set } from "./draw.js";
import { figure } from "./figure.js";
import { phasor } from "./phasor.js";
import { settling } from "./settling.js";
import { findings } from "./told.js";
import { tray } from "./tray.js";

const showTray = tray(), showPhasor = phasor($("phasor"), "nothing is looked at");
const showSettling = settling($("settling").querySelector("svg"));
let waits = null; // the step that is connected now
let filled = false, auto = false, running = false;

const planned = new URLSearchParams(location.search); // carried on from a plan
if (planned.get("at")) $("cal-at").value = planned.get("at");
if (planned.get("level")) say($("cal-level"), `Played at ${planned.get("level").replace("-", "−").replace("dBFS", " dBFS")}, as planned.`);

const request = () => ({ at: $("cal-at").value.trim(), loads: $("cal-loads").value.split(",").map((t) => t.trim()).filter(Boolean), level: planned.get("level") ?? "", auto });

$("begin").addEventListener("submit", (e) => {
  e.preventDefault();
  post("calibration", request());
});
$("auto").addEventListener("click", async () => {
  auto = true;
  await post("calibration", request());
  auto = false;
});
for (const [id, path] of [["record", "record"], ["skip", "skip"], ["drop", "drop"], ["drop-old", "drop"], ["resume", "resume"]]) {
  $(id).addEventListener("click", () => post("calibration/" + path));
}

const what = { open: "Open", short: "Short", load: "Load" };
const how = {
  open: "Nothing between the terminals; the leads lie where they will be for the part.",
  short: "The terminals joined by a short piece of thick wire.",
  load: "A resistor whose value is known.",
};
const states = { wanted: "not yet", recorded: "recorded", skipped: "left out" };

function stepNode(step, current) {
  const name = what[step.role] + (step.load ? " " + step.load : "");
  return el("li", { class: step.state + (current ? " now" : "") },
    el("h3", {}, name, " ", el("span", { class: "state" }, current ? "connect it now" : states[step.state])),
    el("p", {}, how[step.role], step.state === "wanted" && step.expected ? " It should read " + step.expected + "." : ""),
    ...(step.refused?.length ? [el("p", { class: "refused" }, "Refused, this cannot be it:"), list(step.refused)] : []));
}

function list(told) {
  const node = el("ul", { class: "findings" });
  findings(node, told);
  return node;
}

function onState(state) {
  showTray(state.tray);
  const guide = state.guide;
  running = state.owner?.kind === "calibration";
  say($("calibration-now"), "In use: " + calibratedText(state.calibration) + (state.calibration ? `, with ${state.calibration.standards.join(", ")}.` : "; readings rest on what is usual of jigs."));
  const failed = guide?.failed?.length > 0;
  show($("begin"), !running && (!guide || failed));
  show($("auto"), state.tray != null);
  if (!filled && state.jig) {
    filled = true;
    $("cal-loads").value = state.jig.load;
  }
  const current = guide?.steps.findIndex((s) => s.state === "wanted") ?? -1;
  $("steps").replaceChildren(...(guide?.steps ?? []).map((s, i) => stepNode(s, running && i === current)));
  waits = running && current >= 0 ? guide.steps[current] : null;
  show($("step-buttons"), waits != null);
  show($("settling"), waits != null);
  show($("interrupted"), !running && guide != null && !failed);
  show($("failed"), failed === true);
  if (failed) findings($("failed-list"), guide.failed);
  if (!running) {
    show($("progress"), false);
    say($("verdict"), "");
    for (const id of ["part-name", "read-at", "expected"]) say($(id), "");
    showPhasor(null);
    figure($("figure"), null);
    findings($("doubts"), []);
  }
}

function onLive(u) {
  if (!running) return; // what is heard is a part, and not of this page
  say($("part-name"), u.part);
  say($("read-at"), "at " + u.sheet.at + ", not corrected");
  say($("expected"), waits?.expected ? "Expected: " + waits.expected + "." : "");
  showPhasor(u.sheet);
  figure($("figure"), u.sheet);
  showSettling(u.part, u.raw_ohm, waits?.within_ohm);
  const doubted = u.doubts?.length > 0;
  say($("verdict"), doubted ? "This would be refused:" : "This may be " + u.part);
  $("verdict").className = "verdict " + (doubted ? "bad" : "good");
  findings($("doubts"), u.doubts);
}

listen({
  state: onState,
  live: onLive,
  progress(p) {
    show($("progress"), p.seconds < p.of);
    set($("progress-bar"), { width: (100 * p.seconds) / p.of });
    say($("progress-text"), `recording ${p.seconds.toFixed(1)} of ${p.of.toFixed(1)} s`);
  },
});
