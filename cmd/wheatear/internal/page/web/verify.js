// Whether the jig tells the truth: the verdict, what is to be mended, then everything
// that was found about it.
import { $, el, say, show } from "./bench.js";
import { allan } from "./allan.js";
import { factsOf, folded } from "./facts.js";
import { task } from "./task.js";

let last = null;
const verdicts = { pass: ["✓", "No faults found", "good"], fail: ["✗", "Faults found", "bad"] };

function draw(_, result, t) {
  last = result;
  const [sign, text, kind] = verdicts[result.verdict] ?? ["?", "It cannot be told", "doubt"];
  say($("jig-sign"), sign);
  say($("jig-told"), text);
  $("jig-answer").className = "spot-answer " + kind;
  const left = result.steps.filter((s) => s.usable === 0).map((s) => s.step);
  say($("jig-steps"), `${result.steps.length - left.length} of ${result.steps.length} steps tell something` + (left.length ? "; without " + left.join(", ") : ""));
  const [first, ...rest] = t.facts;
  const faults = rest.filter((s) => s.findings.length > 0), figures = rest.filter((s) => !faults.includes(s));
  $("jig-faults").replaceChildren(...faults.map(factsOf));
  const long = figures.filter((s) => s.rows.length > 8);
  $("jig-figures").replaceChildren(...figures.filter((s) => !long.includes(s)).map(factsOf));
  $("jig-tables").replaceChildren(...long.map((s) => folded(s.title, [{ ...s, title: "" }])));
  $("jig-about").replaceChildren(...(first ? [factsOf({ ...first, facts: first.facts.filter((f) => f.name !== "verdict") })] : []));
  show($("jig-drift"), allan($("allan"), result.allan ?? []));
}

task(draw, (t) => {
  show($("jig-report"), t.result != null);
  return t.result == null ? ["It could not be verified", "bad"] : ["", ""];
});
addEventListener("resize", () => last && allan($("allan"), last.allan ?? []));
