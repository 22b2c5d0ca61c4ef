// What to set, and how far a part will then be known.
import { $, el, say, show } from "./bench.js";
import { choices } from "./choices.js";
import { reach } from "./reach.js";
import { task } from "./task.js";
import { budget, lines } from "./told.js";

const showReach = reach($("reach"));
let plan = null, chosen = 0;

function draw(_, result) {
  plan = result;
  chosen = 0;
  if ($("expect").value === "") $("expect").value = plan.part;
  say($("plan-for"), `For ${plan.part}, ${plan.meant}, with ${plan.jig}`);
  say($("plan-assumed"), `Assumed: ${plan.assumed}.`);
  choices($("choices"), plan, choose);
  choose(0);
}

// choose shows one of the choices.
function choose(index) {
  chosen = index;
  const c = plan.choices[index], w = c.words;
  const settings = [`${w.reference} reference`, w.frequency, w.level, w.record].flatMap((text, i) => [i ? ", " : "", el("span", {}, text)]);
  $("plan-settings").replaceChildren(...settings);
  say($("plan-half"), (c.half_width == null ? "" : "known to ") + w.half_width);
  const judged = plan.wanted != null || c.half_width == null || (plan.longer && index === 0);
  say($("plan-reached"), judged ? w.verdict + "." : "");
  $("plan-reached").className = "verdict " + (plan.wanted == null && c.half_width != null ? "" : c.reached ? "good" : "bad");
  $("plan-remedies").replaceChildren(...(index === 0 ? plan.remedies : []).map((r) => el("li", { class: r.reached ? "enough" : "" }, (r.reached ? "This would reach it: " : "Nearer: ") + r.words)));
  $("plan-changes").replaceChildren(...c.changes.map((text) => el("li", {}, text)));
  const query = new URLSearchParams({ at: c.at, level: c.level_asked });
  $("plan-calibrate").href = "/calibrate?" + query;
  $("plan-measure").href = "/?" + query;
  say($("plan-carried"), `${c.at.startsWith("~") ? `Carried on as ${c.at}, which moves clear of the mains` : `Carried on at ${w.frequency}`}, ${w.level}.`);
  say($("reach-with"), `|Z| with ${w.reference}, level and record as in the jig file`);
  showReach(plan, c);
  lines($("plan-why"), [
    { name: "frequency", text: `${w.frequency}, ${w.why}` }, { name: "level", text: w.at_part },
    { name: "record", text: `${w.record} of steady tone` }, { name: "read as", text: w.read_as },
  ]);
  budget($("plan-limits"), c.limits.filter((l) => l.share >= 0.005).map((l) => ({ ...l, text: percent(l.share) })));
  say($("plan-limit"), c.limits[0]?.why ?? "");
  show($("plan-mind"), c.warnings.length > 0);
  $("plan-warnings").replaceChildren(...c.warnings.map((text) => el("li", { class: "warning" }, text.slice(0, 1).toUpperCase() + text.slice(1) + ".")));
}

const percent = (share) => (share < 0.01 ? "< 1 %" : Math.round(100 * share) + " %");

task(draw, (t) => {
  show($("plan"), t.result != null);
  return t.result == null ? ["It cannot be planned", "bad"] : ["", ""];
});
addEventListener("resize", () => plan && showReach(plan, plan.choices[chosen]));
