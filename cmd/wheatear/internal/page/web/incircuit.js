// What can be told of a part that is soldered in: as it should be, as it was read, what
// the surroundings leave of it, and how far that holds.
import { $, el, say, show } from "./bench.js";
import { curves } from "./curves.js";
import { factsOf, folded } from "./facts.js";
import { leaves } from "./leaves.js";
import { task } from "./task.js";

const showCurves = curves($("spot-curves"));
let last = null;

const word = { true: ["✓", "told"], false: ["?", "not to be told in circuit"] };

function draw(_, result, t) {
  last = result;
  if ($("expect").value === "" && t.asked.expect) $("expect").value = t.asked.expect;
  const [sign, told] = word[result.told];
  const part = t.facts[0]?.facts[0];
  say($("spot-sign"), sign);
  say($("spot-told"), result.told ? part?.text ?? "" : "Not to be told in circuit");
  $("spot-answer").className = "spot-answer " + (result.told ? "good" : "doubt");
  say($("spot-name"), `${result.part || "the spot"}, meant to be ${t.asked.expect}: ${result.told ? part?.name + ", " : ""}${told}`);
  $("spot-why").replaceChildren(...(t.facts[0]?.words ?? []).map((text) => el("p", {}, text)));
  lines(result);
  leaves($("spot-leaves"), result);
  const rest = t.facts.slice(1), heavy = rest.filter((s) => s.title === "Readings" || s.title === "Measured with");
  const others = rest.filter((s) => !heavy.includes(s));
  $("spot-facts").replaceChildren(...others.map(factsOf), folded("Readings and what they rest on", heavy));
}

function lines(result) {
  const list = result.readings.map(pointOf);
  const at = list.map((p) => p.frequency_hz);
  showCurves(list, [Math.min(...at), Math.max(...at)]);
  show($("spot-seen"), list.length > 0);
}

const pointOf = (r) => ({ frequency_hz: r.frequency_hz?.value ?? r.frequency_nominal_hz, at: Math.round(r.frequency_nominal_hz) + " Hz", trusted: r.trusted, refused: r.findings.join(", "), ...r.z });

task(draw, (t) => {
  show($("spot"), t.result != null);
  return t.result == null ? ["It could not be asked", "bad"] : ["", ""];
});
addEventListener("resize", () => last && (lines(last), leaves($("spot-leaves"), last)));
