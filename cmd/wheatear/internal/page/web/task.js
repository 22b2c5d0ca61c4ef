// A command of the program, done with what is on the bench: a form, what it asks
// meanwhile, and what came of it. Each page draws the result in its own way.
import { $, clock, get, listen, post, say, show } from "./bench.js";
import { tray } from "./tray.js";

const verdicts = { 0: ["No faults found", "good"], 4: ["Faults found", "bad"], 3: ["Not everything can be trusted", "bad"], 1: ["It could not be done", "bad"], 2: ["This is not understood", "bad"] };

// task runs the page of one; draw(box, result, task) fills a box with its document.
export function task(draw, verdict = (task) => (task.status === 0 ? ["", ""] : verdicts[task.status]), onState = () => {}) {
  const form = $("task"), name = form.dataset.task;
  const showTray = $("tray") ? tray() : () => {};
  let shown = "", simulated = false;

  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const request = Object.fromEntries([...new FormData(form)].filter(([, value]) => value.trim() !== ""));
    if (request.loads) request.loads = request.loads.split(",").map((t) => t.trim());
    if (request.thorough) request.thorough = true;
    if (simulated) delete request.part;
    else delete request.good;
    post("tasks/" + name, request);
  });
  document.querySelectorAll("[data-answer]").forEach((b) => b.addEventListener("click", () => post("answer", { text: b.dataset.answer })));

  async function fill() {
    const task = await get("tasks/" + name);
    show($("task-result"), task != null);
    if (!task) return;
    say($("task-time"), clock(task.time));
    const [text, kind] = verdict(task);
    say($("task-verdict"), text);
    $("task-verdict").className = "verdict " + kind;
    show($("task-files"), task.report);
    $("task-report").href = `/api/tasks/${name}/report`;
    show($("task-talk"), task.result == null);
    say($("task-talk"), task.talk);
    $("task-told").replaceChildren();
    if (task.result != null) draw($("task-told"), task.result, task);
  }

  listen({
    state(state) {
      simulated = state.tray != null;
      onState(state);
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
}
