// A part over time, in a picture, in words and as a table.
import { clock, el } from "./bench.js";
import { ask, link, openAt } from "./book.js";
import { svg } from "./draw.js";
import { history } from "./history.js";

const mostRows = 100;

/** Fills a node with the history of what is asked; tells whether there is more than one reading. id is of the entry that is open. */
export async function pastOf(node, question, id, told) {
  if (!question.label) return told(false);
  const q = new URLSearchParams();
  for (const [name, value] of Object.entries(question)) if (value) q.set(name, value);
  const { doc, error } = await ask("notebook/history?" + q);
  if (error) {
    node.replaceChildren(el("p", { class: "hint" }, error));
    return told(true);
  }
  const some = doc.total > 1;
  told(some);
  if (!some) return node.replaceChildren();
  const picture = svg("svg", { class: "past-picture", role: "img", "aria-label": `${doc.quantity} at ${doc.at} over time. ${doc.words}` });
  const parts = [el("p", { class: "past-words " + (doc.changes === "changes" || doc.changes === "very likely changes" ? "moves" : "") }, doc.words), picture];
  if (doc.choices.length > 1) parts.unshift(choice(node, question, doc, id, told));
  else parts.unshift(el("p", { class: "hint" }, `${doc.quantity} at ${doc.at}, ${doc.total} readings`));
  if (doc.total > doc.points.length) parts.push(el("p", { class: "hint" }, `Drawn are the newest ${doc.points.length} of ${doc.total}; the words are of all.`));
  parts.push(table(doc));
  node.replaceChildren(...parts);
  const draw = history(picture, doc, id, (entry) => openAt(link({ entry })));
  new ResizeObserver(draw).observe(node);
}

/** Which frequency and quantity are drawn. */
function choice(node, question, doc, id, told) {
  const name = "past-choice-" + id;
  const select = el("select", { id: name, class: "brief" });
  doc.choices.forEach((c, i) => {
    const is = c.quantity === doc.quantity && Math.abs(c.frequency_hz / doc.frequency_hz - 1) < 1e-3;
    select.append(el("option", { value: i, selected: is }, `${c.quantity} at ${c.at} (${c.readings})`));
  });
  select.addEventListener("change", async () => {
    const c = doc.choices[select.value];
    await pastOf(node, { ...question, frequency: c.frequency_hz, quantity: c.quantity }, id, told);
    document.getElementById(name)?.focus();
  });
  return el("div", { class: "past-choice no-print" }, el("label", { for: name }, "Over time"), select);
}

function table(doc) {
  const rows = doc.points.slice(-mostRows).toReversed();
  return el("details", {}, el("summary", {}, `The readings${rows.length < doc.total ? `, the newest ${rows.length} of ${doc.total}` : ""}`),
    el("table", {}, el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "when"), el("th", { scope: "col" }, "reads as"), el("th", { scope: "col" }, "entry"))),
      el("tbody", {}, ...rows.map((p) => el("tr", {}, el("td", {}, clock(p.time)), el("td", { class: "strong" }, p.text),
        el("td", { class: "links" }, el("a", { href: link({ entry: p.id }) }, "no. " + p.id)))))));
}
