// A result that is told in words, figures and a drawing: the answer in its place, what it
// rests on folded below.
import { $, el, say, show } from "./bench.js";
import { factsOf, folded } from "./facts.js";
import { task } from "./task.js";

function draw(_, result, t) {
  const [head, ...rest] = t.facts;
  const [main, ...beside] = head?.facts ?? [];
  say($("telling-of"), [t.asked.part, t.asked.at && "at " + t.asked.at].filter(Boolean).join(", "));
  say($("telling-head"), main ? main.text : head?.words[0] ?? "");
  say($("telling-line"), [main ? main.name : "", ...(main ? head.words : head?.words.slice(1) ?? []), ...beside.map((f) => `${f.name} ${f.text}`)].filter(Boolean).join(" · "));
  const heavy = rest.filter((s) => s.title === "Measured with" || s.rows.length > 12), light = rest.filter((s) => !heavy.includes(s));
  $("telling-facts").replaceChildren(...light.map(factsOf));
  $("telling-rest").replaceChildren(...(heavy.length ? [folded("Readings and what they rest on", heavy)] : []));
  show($("telling-chart"), t.chart);
  if (t.chart) $("telling-chart").querySelector("img").src = `/api/tasks/${t.name}/chart?${Date.parse(t.time)}`;
}

// The good part of a comparison is one of the tray, on the simulated jig.
let names = "";
function fillGood(state) {
  const good = $("good"), parts = state.tray?.parts.map((p) => p.name) ?? [];
  if (!good) return;
  show(good.parentElement, parts.length > 0);
  if (parts.join() === names) return;
  names = parts.join();
  good.replaceChildren(...parts.map((name) => el("option", {}, name)));
}

task(draw, (t) => {
  show($("telling"), t.result != null);
  return t.result == null ? ["It could not be done", "bad"] : ["", ""];
}, fillGood);
