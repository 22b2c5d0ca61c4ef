// The first page: the state of the bench with the next step, tasks, jigs and cautions.
import { $, calibratedText, clock, el, get, listen, post, say, show } from "./bench.js";

$("confirm").addEventListener("click", () => post("cautions"));

let shown = "";

listen({
  state(state) {
    show($("confirm"), !state.cautions_read);
    show($("confirmed"), state.cautions_read);
    const ready = state.cautions_read && state.jig != null;
    show($("onward"), ready);
    show($("tasks"), ready);
    say($("now"), state.jig ? state.jig.name : "No jig is chosen yet");
    say($("next"), next(state));
    $("go-calibrate").classList.toggle("main", !state.calibration);
    $("go-measure").classList.toggle("main", state.calibration != null);
    const key = JSON.stringify([state.jigs, state.jig?.key, state.notebook?.changes]);
    if (key === shown) return;
    shown = key;
    $("jigs").replaceChildren(...state.jigs.map((j) => {
      const used = j.key === state.jig?.key;
      return el("li", { class: used ? "used" : "" }, el("h3", {}, j.name), el("p", {}, j.about),
        el("button", { type: "button", class: used ? "" : "main", "data-jig": j.key, "aria-pressed": String(used), on: { click: () => post("jig", { key: j.key }) } }, used ? "in use" : "Use this one"));
    }));
    if (state.notebook) entries();
  },
});

function next(state) {
  if (!state.cautions_read) return "Read the cautions and confirm them; nothing plays before that.";
  if (!state.jig) return "Choose a jig.";
  if (!state.calibration) return "Not calibrated. An open, a short and a known resistor tell the program what leads, inputs and card do; without them a reading has a wide interval.";
  return `${calibratedText(state.calibration)}.`.replace(/^c/, "C");
}

async function entries() {
  const list = (await get("notebook?limit=5"))?.entries ?? [];
  show($("last"), list.length > 0);
  $("entries").replaceChildren(...list.map((e) => el("li", {}, el("a", { href: "/notebook?entry=" + e.id }, e.label || e.kind), ` ${e.reads}${e.at ? " at " + e.at : ""} `, el("span", { class: "hint" }, clock(e.time)))));
}
