// A part over frequency.
import { $, clock, el, get, listen, notice, post, say, show } from "./bench.js";
import { Chart } from "./chart.js";
import { set } from "./draw.js";
import { sweepChart } from "./quantities.js";
import { choices, entryOf, notebookIs, Shelf } from "./shelf.js";
import { told, interval } from "./told.js";
import { tray } from "./tray.js";

const showTray = tray();
let drawn = "", sweeping = false, chart = null;
const shelf = new Shelf(() => redraw());

$("begin").addEventListener("submit", async (e) => {
  e.preventDefault();
  if (current?.whole) { // the finished one stays on the sheet
    const id = await entryOf(current.name, current.begun);
    if (id) await shelf.add(id);
  }
  post("sweep", { part: $("by-hand").hidden ? "" : $("part").value.trim(), at: $("sweep-at").value.trim(), to: $("to").value.trim(), together: $("how").value === "together" });
});
$("pause").addEventListener("click", () => post("stop"));
$("resume").addEventListener("click", () => post("sweep/resume"));

let current = null; // the newest sweep: name, begun, points, fit
document.querySelectorAll('[name="view"]').forEach((v) => v.addEventListener("change", () => redraw()));

function redraw() {
  const sweeps = [...shelf.sweeps.filter((s) => !current || Date.parse(s.time) < Date.parse(current.begun) || s.name !== current.name), ...(current?.points.length ? [current] : [])];
  const view = document.querySelector('[name="view"]:checked').value;
  const spec = sweepChart(sweeps, view, sweeps.map((s) => s.name).join(", ") + " over frequency");
  show($("sheet"), sweeps.length > 0);
  show($("nothing"), sweeps.length === 0);
  chart ??= new Chart($("curves"), spec);
  chart.set(spec);
  $("on-sheet").replaceChildren(...sweeps.map((s) => el("li", {}, el("span", {}, el("b", {}, s.name), el("span", { class: "hint" }, ` ${s.points.length} points`)),
    ...(s.id ? [el("button", { type: "button", class: "small", "aria-label": `Take ${s.name} off the sheet`, on: { click: () => shelf.drop(s.id) } }, "×")] : []))));
}

$("add").addEventListener("focus", async () => {
  const list = await choices();
  if (list.length !== $("add").options.length - 1) $("add").replaceChildren($("add").options[0], ...list);
});
$("add").addEventListener("change", () => {
  shelf.add(+$("add").value);
  $("add").selectedIndex = 0;
});

$("fit").addEventListener("submit", async (e) => {
  e.preventDefault();
  const circuit = encodeURIComponent($("circuit").value.trim());
  $("fit-go").disabled = true;
  say($("fit-busy"), "Circuits are being fitted…");
  const answer = await fetch("/api/sweep/fit?circuit=" + circuit).catch(() => null);
  const fit = await answer?.json();
  $("fit-go").disabled = false;
  say($("fit-busy"), "");
  if (!answer?.ok) return notice(fit?.error ?? "The program does not answer.", true);
  notice("");
  if (current) current.fit = fit;
  show($("fitted"), true);
  const is = fit.identity;
  show($("identity"), is != null);
  if (is) {
    say($("identity-head"), is.family ? `${is.family}${is.value ? ", " + is.value : ""}` : "What it is cannot be told from this sweep");
    say($("identity-confidence"), is.family ? `with ${is.confidence} confidence` : "");
    $("identity-why").replaceChildren(...is.reasons.map((r) => el("li", {}, r)));
  }
  say($("fit-words"), fit.words);
  say($("fit-check"), "Kramers–Kronig: " + fit.check + ".");
  $("sweep-report").href = "/api/sweep/file/html?circuit=" + circuit;
  $("spice").href = "/api/sweep/file/cir?circuit=" + circuit;
  $("fits").replaceChildren(...fit.fits.map((f, i) => el("li", { class: i === 0 || f.rival ? "rival" : "" }, el("b", {}, f.name), " ", f.name === f.circuit ? "" : el("code", {}, f.circuit),
    el("p", {}, f.values.map((v) => `${v.name} ${v.text}`).join(", ")))));
  redraw();
});

async function fill(key) {
  const sweep = await get("sweep");
  if (!sweep || key !== drawn) return;
  const some = sweep.points.length > 0;
  show($("result"), some);
  say($("sweep-part"), sweep.part);
  say($("sweep-about"), `${sweep.points.length} of ${sweep.points_asked} points, ${clock(sweep.begun)}`);
  const points = sweep.points; // a fit was of fewer
  current = { key: "now", name: sweep.part, begun: sweep.begun, points, whole: points.length === sweep.points_asked };
  redraw();
  show($("fitted"), false);
  const refused = points.filter((p) => !p.trusted).map((p) => `${p.at} (${p.refused})`);
  say($("refusals"), refused.length ? `Refused, and marked by a cross: ${refused.join(", ")}. The findings below say why, and what to do.` : "");
  told(sweep.findings);
  $("points").tBodies[0].replaceChildren(...sweep.points.map((p) =>
    el("tr", {}, el("th", { scope: "row" }, p.at), ...cells(p).map((t) => el("td", {}, t)))));
}

// left says how long it will take still, from what the last points took.
let paces = [];
function left(s) {
  const now = Date.now(), last = paces.at(-1);
  if (last?.begun !== s.begun) paces = [];
  if (paces.at(-1)?.done !== s.done) paces.push({ begun: s.begun, done: s.done, at: now });
  if (paces.length > 6) paces.shift();
  const first = paces[0], now_ = paces.at(-1);
  if (now_.done - first.done < 2) return "";
  const seconds = ((now_.at - first.at) / (now_.done - first.done) / 1000) * (s.asked - s.done);
  return seconds > 90 ? `, about ${Math.round(seconds / 60)} minutes to go` : `, about ${Math.max(1, Math.round(seconds))} s to go`;
}

function cells(p) {
  if (!p.trusted) return ["refused: " + p.refused, "", ""];
  const line = (name) => p.lines.find((l) => l.name === name)?.text ?? "";
  return [p.headline.value + " " + interval(p.headline.half), line("|Z|"), line("phase")];
}

function onState(state) {
  notebookIs(state.notebook != null);
  showTray(state.tray);
  $("by-hand").hidden = state.tray != null;
  const s = state.sweep;
  sweeping = state.owner?.kind === "sweep";
  show($("go"), !sweeping);
  show($("pause"), sweeping);
  show($("resume"), !sweeping && s != null && !s.finished);
  show($("progress"), sweeping || (s != null && !s.finished));
  if (s) {
    set($("progress-bar"), { width: (100 * s.done) / s.asked });
    say($("progress-text"), `${s.part}: ${s.done} of ${s.asked} points${sweeping ? left(s) : ", paused"}`);
  }
  const key = s ? s.begun + " " + s.done + state.jig.key : "none";
  if (key !== drawn) {
    drawn = key;
    if (s) fill(key);
    if (!s) {
      show($("result"), false);
      current = null;
      redraw();
    }
  }
}

shelf.restore();
listen({ state: onState, again: () => (drawn = "") });
