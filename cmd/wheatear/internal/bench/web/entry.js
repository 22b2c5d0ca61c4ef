// One entry of the notebook in full.
import { el, mark, say, show } from "./bench.js";
import { ask } from "./book.js";
import { pastOf } from "./past.js";

const longest = 200000; // letters of a text that is shown; the files hold all

/** An entry as a node; changed is called when label or note were changed. */
export function article(doc, changed) {
  const { line, entry } = doc;
  const past = el("div"), pastSection = section("Over time", past);
  show(pastSection, false);
  const node = el("article", { class: "entry", "aria-label": "Entry " + line.id },
    el("p", { class: "entry-head" }, `Entry ${line.id}, made ${new Date(line.time).toLocaleString([], { dateStyle: "full", timeStyle: "medium" })}`),
    el("div", { class: "entry-two" },
      el("div", {}, reads(doc), pastSection),
      el("div", {}, describe(line, changed), rests(doc), result(doc))));
  node.shown = () => line.label && pastOf(past, questionOf(doc), line.id, (some) => show(pastSection, some));
  return node;
}

/** The history is of what the entry read, if it is one reading, else of what most readings are. */
function questionOf({ line, points }) {
  if (points.length !== 1 || !points[0].trusted) return { label: line.label };
  return { label: line.label, frequency: points[0].frequency_hz, quantity: points[0].quantity };
}

function section(head, ...children) {
  return el("section", {}, el("h3", {}, head), ...children);
}

/** What was read, and what is to be known of it. */
function reads({ line, points, entry }) {
  const parts = [];
  if (points.length === 1) parts.push(el("p", { class: "entry-value" + (points[0].trusted ? "" : " bad") }, points[0].text, el("span", { class: "hint" }, ` ${points[0].quantity} at ${points[0].at}`)));
  if (points.length > 1) {
    parts.push(folded(points.length > 12, `${line.readings} readings`, el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": "Readings" }, el("table", {},
      el("thead", {}, el("tr", {}, ...["at", "of", "reads as"].map((t) => el("th", { scope: "col" }, t)))),
      el("tbody", {}, ...points.map((p) => el("tr", { class: p.trusted ? "" : "untrusted" }, el("th", { scope: "row" }, p.at), el("td", {}, p.quantity), el("td", { class: "strong" }, p.text))))))));
  }
  if (line.verdict) parts.push(el("p", { class: "verdict " + ({ pass: "good", fail: "bad" }[line.verdict] ?? "") }, line.verdict));
  const told = (entry.result.findings ?? []).filter((f) => f.code);
  if (told.length) {
    parts.push(el("ul", { class: "findings", "aria-label": "Findings" }, ...told.map((f) => el("li", { class: ["warning", "invalid"].includes(f.severity) ? f.severity : "" },
      el("b", {}, String(f.code)), " ", el("span", { class: "severity" }, String(f.severity ?? "")), el("p", {}, String(f.detail ?? "")), f.advice ? el("p", { class: "advice" }, "→ " + f.advice) : ""))));
  } else if (line.findings.length) parts.push(el("p", {}, "Findings: " + line.findings.join(", ")));
  return section(line.kind.charAt(0).toUpperCase() + line.kind.slice(1), ...parts);
}

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
    el("div", { class: "row" }, el("button", { id: "describe-go" }, "Keep label and note"), said));
  form.addEventListener("input", () => say(said, "Not kept yet."));
  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    const { error } = await ask("notebook/" + line.id, {
      method: "POST", headers: { "Content-Type": "application/json", "Wheatear-Tab": mark }, body: JSON.stringify({ label: label.value, note: note.value }),
    });
    said.className = error ? "bad" : "hint";
    say(said, error ? "Not kept: " + error : "Kept.");
    if (!error) changed();
  });
  return el("section", {}, el("h3", {}, "Label and note"), form);
}

/** What the result rests on. */
function rests({ line, entry, recordings }) {
  const list = el("dl", { class: "lines" });
  const add = (name, ...what) => list.append(el("dt", {}, name), el("dd", {}, ...what));
  if (line.jig) add("jig", line.jig);
  for (const r of recordings) add("recording", r.file ? el("a", { href: "/api/recordings/" + encodeURIComponent(r.file) }, r.name) : r.name + ", not in this folder");
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

/** The result as files. */
function result({ line, entry, reading }) {
  const links = el("p", { class: "row no-print" });
  if (reading) links.append(el("a", { class: "button", href: `/api/readings/${reading}/report` }, "Report"));
  links.append(el("a", { class: "button", href: `/api/notebook/${line.id}/result` }, "Result as JSON"));
  return section("To keep", links, text("The result as it was kept", () => JSON.stringify(entry.result, null, 1)));
}
