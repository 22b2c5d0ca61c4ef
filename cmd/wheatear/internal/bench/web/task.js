// A command of the program, done with what is on the bench: a form, what it asks
// meanwhile, and what came of it.
import { $, get, listen, post, say, show } from "./bench.js";
import { tray } from "./tray.js";

const form = $("task"), name = form.dataset.task;
const showTray = $("tray") ? tray() : () => {};
let shown = "", simulated = false;

form.addEventListener("submit", (e) => {
  e.preventDefault();
  const request = Object.fromEntries([...new FormData(form)].filter(([, value]) => value.trim() !== ""));
  if (request.loads) request.loads = request.loads.split(",").map((t) => t.trim());
  if (simulated) delete request.part;
  post("tasks/" + name, request);
});
document.querySelectorAll("[data-answer]").forEach((b) => b.addEventListener("click", () => post("answer", { text: b.dataset.answer })));

const verdicts = { 0: ["Nothing amiss was found", "good"], 4: ["There is something to mend", "bad"], 3: ["Not everything can be trusted", "bad"], 1: ["It could not be done", "bad"], 2: ["This is not understood", "bad"] };

async function fill() {
  const task = await get("tasks/" + name);
  show($("task-result"), task != null);
  if (!task) return;
  say($("task-time"), new Date(task.time).toLocaleString());
  const [text, kind] = name === "verify" || task.status !== 0 ? verdicts[task.status] : ["", ""];
  say($("task-verdict"), text);
  $("task-verdict").className = "verdict " + kind;
  say($("task-text"), task.text || task.talk);
  const chart = $("chart");
  show(chart, task.chart);
  if (task.chart) {
    chart.src = `/api/tasks/${name}/chart?at=${encodeURIComponent(task.time)}`;
    chart.alt = "Drawing of the result; the text below has it in figures";
  }
}

listen({
  state(state) {
    simulated = state.tray != null;
    showTray(state.tray);
    if ($("by-hand")) $("by-hand").hidden = simulated;
    const running = state.owner?.kind === name;
    show($("task-busy"), running && !state.talk?.length);
    show($("asked"), running && state.talk?.length > 0);
    say($("talk"), (state.talk ?? []).join("\n"));
    const key = `${state.jig?.key} ${state.tasks.find((t) => t.name === name)?.time}`;
    if (key !== shown && !running) {
      shown = key;
      fill();
    }
  },
  again: () => (shown = ""),
});
