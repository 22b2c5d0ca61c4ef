// What can be told of a part that is soldered in: as it should be, as it was read, what
// the surroundings leave of it, and how far that holds.
import { $, el, say, show } from "./bench.js";
import { Chart } from "./chart.js";
import { factsOf, folded } from "./facts.js";
import { leaves } from "./leaves.js";
import { pointsOf, sweepChart } from "./quantities.js";
import { task } from "./task.js";

let last = null, chart = null;

const signs = { within: ["✓", "Within", "good"], "too low": ["×", "Too low", "bad"], "too high": ["×", "Too high", "bad"], undetermined: ["!", "Undetermined", "doubt"] };

function draw(_, result, t) {
  last = result;
  if ($("expect").value === "" && t.asked.expect) $("expect").value = t.asked.expect;
  const [sign, told, kind] = signs[t.spot?.word] ?? (result.told ? ["•", "", ""] : signs.undetermined);
  const part = t.facts[0]?.facts[0];
  say($("spot-sign"), sign);
  say($("spot-told"), [told, result.told && part?.text].filter(Boolean).join(": "));
  $("spot-answer").className = "spot-answer " + kind;
  say($("spot-name"), [`${result.part || "the part"}, nominal value ${t.asked.expect}`, result.told && part?.name, t.spot?.text].filter(Boolean).join(" · "));
  $("spot-why").replaceChildren(...(t.facts[0]?.words ?? []).map((text) => el("p", {}, text)));
  lines(result);
  leaves($("spot-leaves"), result);
  const rest = t.facts.slice(1), heavy = rest.filter((s) => s.title === "Readings" || s.title === "Measured with");
  const others = rest.filter((s) => !heavy.includes(s));
  $("spot-facts").replaceChildren(...others.map(factsOf), folded("Readings and what they rest on", heavy));
}

function lines(result) {
  show($("spot-seen"), result.readings.length > 0);
  const spec = sweepChart([{ key: "spot", name: result.part || "the spot", points: pointsOf(result.readings) }], "z", "readings of the spot over frequency");
  chart ??= new Chart($("spot-curves"), spec);
  chart.set(spec);
}

task(draw, (t) => {
  show($("spot"), t.result != null);
  return t.result == null ? ["It could not be measured", "bad"] : ["", ""];
});
addEventListener("resize", () => last && leaves($("spot-leaves"), last));
