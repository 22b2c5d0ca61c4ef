// One entry of the notebook in full.
import { clock, el, mark, notice, post, say, show } from "./bench.js";
import { ask, link, openAt } from "./book.js";
import { Chart } from "./chart.js";
import { sheet } from "./facts.js";
import { pastOf } from "./past.js";
import { pointsOf, sweepChart } from "./quantities.js";

const longest = 200000; // letters of a text that is shown; the files hold all

/** An entry as a node; changed is called when label or note were changed. */
export function article(doc, changed) {
  const { line, entry } = doc;
  const past = el("div"), pastSection = section("Over time", past);
  show(pastSection, false);
  const node = el("article", { class: "entry", "aria-label": "Entry " + line.id },
    el("p", { class: "entry-head" }, `Entry ${line.id}, made ${clock(line.time)}`),
    el("div", { class: "entry-two" },
      el("div", {}, reads(doc), curve(doc), pastSection),
      el("div", {}, describe(line, () => { node.shown(); changed(); }), rests(doc), result(doc, changed))));
  node.shown = () => pastOf(past, questionOf(doc), line.id, (some) => show(pastSection, some));
  return node;
}

/** The history is of what the entry read, if it is one reading, else of what most readings are. */
function questionOf({ line, points }) {
  if (points.length !== 1 || !points[0].trusted) return { label: line.label };
  return { label: line.label, frequency: points[0].frequency_hz, quantity: points[0].quantity };
}

const section = (head, ...children) => el("section", {}, el("h3", {}, head), ...children);

function unprinted(node) {
  node.classList.add("no-print");
  return node;
}

/** What was read, and what is to be known of it. */
function reads({ line, points, facts }) {
  const parts = [];
  if (points.length === 1) parts.push(el("p", { class: "entry-value" + (points[0].trusted ? "" : " bad") }, points[0].text, el("span", { class: "hint" }, ` ${points[0].quantity} at ${points[0].at}`)));
  if (line.verdict) parts.push(el("p", { class: "verdict " + ({ pass: "good", fail: "bad" }[line.verdict] ?? "") }, (signs[line.verdict] ?? "? ") + line.verdict));
  parts.push(...facts.map((s) => sheet(s, "h4", shortTable)));
  return section(capital(line.kind), ...parts);
}

/** The curve of a sweep; an empty text for anything else. */
function curve({ line, entry }) {
  const readings = entry.result?.readings?.filter((r) => r.z) ?? [];
  if (readings.length < 3) return "";
  const host = el("div", { class: "entry-curve" });
  new Chart(host, sweepChart([{ key: "entry", name: line.label || line.kind, points: pointsOf(readings) }], "z", `${line.label || line.kind} over frequency`));
  return section("Over frequency", host);
}

export const signs = { pass: "✓ ", fail: "✗ " };
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

const shortTable = 14; // rows that are shown unasked

function folded(fold, head, body) {
  return fold ? el("details", {}, el("summary", {}, head), body) : body;
}

/** Label and note, which may be changed. */
function describe(line, changed) {
  const label = el("input", { id: "entry-label", maxlength: 200, autocomplete: "off" });
  const note = el("textarea", { id: "entry-note", rows: 3, maxlength: 10000 });
  label.value = line.label;
  note.value = line.note;
  const said = el("span", { role: "status", class: "hint" });
  const form = el("form", { id: "describe", class: "entry-describe" },
    el("label", { for: "entry-label" }, "Label, by which its history is found"), label, el("label", { for: "entry-note" }, "Note"), note,
    el("div", { class: "row" }, el("button", { id: "describe-go" }, "Save label and note"), said));
  form.addEventListener("input", () => say(said, "Not saved yet."));
  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    const { error } = await ask("notebook/" + line.id, {
      method: "POST", headers: { "Content-Type": "application/json", "Wheatear-Tab": mark }, body: JSON.stringify({ label: label.value, note: note.value }),
    });
    said.className = error ? "bad" : "hint";
    say(said, error ? "Not saved: " + error : "Saved.");
    if (error) return;
    Object.assign(line, { label: label.value.trim(), note: note.value.trim() });
    changed();
  });
  return unprinted(section("Label and note", form));
}

/** What the result rests on. */
function rests({ line, entry, recordings }) {
  const list = el("dl", { class: "lines" });
  const add = (name, ...what) => list.append(el("dt", {}, name), el("dd", {}, ...what));
  if (line.jig) add("jig", line.jig);
  const files = recordings.map((r) => (r.file ? el("a", { href: "/api/recordings/" + encodeURIComponent(r.file) }, r.name) : r.name + ", not in this folder"));
  if (files.length > 5) add("recordings", folded(true, String(files.length), el("ul", {}, ...files.map((f) => el("li", {}, f)))));
  else files.forEach((f) => add("recording", f));
  for (const name of entry.kept) add("kept copy", el("code", {}, name));
  if (entry.command) add("command", el("code", {}, entry.command));
  add("identity", el("code", {}, entry.key.slice(0, 16) + "…"));
  const documents = entry.rests_on.map((d) => text(`${d.role}: ${d.name.split("/").at(-1)}`, () => `# ${d.name}\n# SHA-256 ${d.sha256}\n\n${d.text}`));
  return section("What it rests on", list, ...documents);
}

/** A text that is unfolded, and written only then. */
function text(head, write) {
  const pre = el("pre", { tabindex: 0, role: "region", "aria-label": head });
  const node = el("details", {}, el("summary", {}, head), pre);
  node.addEventListener("toggle", () => {
    if (!node.open || pre.textContent) return;
    const all = write();
    pre.textContent = all.length > longest ? all.slice(0, longest) + "\n… and so on; the file holds all" : all;
  });
  return node;
}

/** The result as files, and the way to be rid of it. */
function result({ line, entry, reading, report }, changed) {
  const links = el("p", { class: "row" }), of = (what) => `/api/notebook/${line.id}/${what}`;
  if (reading || report) links.append(el("a", { class: "button", href: reading ? `/api/readings/${reading}/report` : of("report") }, "Report"));
  links.append(el("a", { class: "button", href: of("result") }, "JSON"), el("a", { class: "button", href: "/api/notebook-export/csv?entries=" + line.id }, "CSV"),
    el("button", { type: "button", id: "delete", on: { click: () => remove(line, changed) } }, "Delete"));
  return unprinted(section("Save as", links, text("The result as it was kept", () => JSON.stringify(entry.result, null, 1))));
}

/** Takes an entry away; the notice has the way back. */
async function remove(line, changed) {
  if (!(await post(`notebook/${line.id}/remove`))) return;
  openAt(link({ entry: "" }));
  changed();
  notice(`Entry ${line.id}${line.label ? ", " + line.label + "," : ""} is deleted.`, false, {
    Undo: async () => {
      if (!(await post(`notebook/${line.id}/restore`))) return;
      openAt(link({ entry: line.id }));
      changed();
    },
  });
}
