// What was measured, ever: looked up, opened, described.
import { $, el, listen, say, show } from "./bench.js";
import { article, capital, signs } from "./entry.js";
import { ask, link, openAt } from "./book.js";
import { fillKept } from "./kept.js";
import { pastOf } from "./past.js";

const perPage = 50, asked = ["text", "label", "kind", "verdict", "since", "until"];
let list = null; // as it is shown
let listKey = "", pastKey = "", turn = 0;
let open = { id: "", node: null }; // the entry that is unfolded
let book; // the notebook of the state; undefined before that has come
let keptKey = "";

/** Shows what the address says. */
async function render(anew = false) {
  const p = new URLSearchParams(location.search);
  const mine = ++turn;
  fillForm(p);
  const question = questionOf(p), key = question + " " + book.changes;
  if (anew || key !== listKey) {
    const answer = await ask("notebook?" + question);
    if (mine !== turn) return;
    trouble(answer.error);
    listKey = answer.error ? "" : key;
    list = answer.doc;
    showList(p);
  }
  showPast(p.get("label") ?? "", p);
  await showOpen(p.get("entry") ?? "", mine);
}

function questionOf(p) {
  const q = new URLSearchParams({ limit: perPage });
  for (const name of [...asked, "skip"]) if (p.get(name)) q.set(name, p.get(name));
  return String(q);
}

function exportOf(p) {
  const q = new URLSearchParams();
  for (const name of asked) if (p.get(name)) q.set(name, p.get(name));
  return String(q);
}

function fillForm(p) {
  if ($("search").contains(document.activeElement) && document.activeElement.tagName === "INPUT") return; // somebody is typing
  const since = p.get("since") ?? "", between = Boolean(p.get("until")) || (since !== "" && ![...$("period").options].some((o) => o.value === since));
  for (const name of ["text", "label", "verdict"]) $(name).value = p.get(name) ?? "";
  addKind(p.get("kind"));
  $("kind").value = p.get("kind") ?? "";
  $("period").value = between ? "between" : since;
  $("since").value = between ? since : "";
  $("until").value = p.get("until") ?? "";
  show($("between"), between);
  show($("all"), asked.some((name) => p.get(name)));
}

function addKind(kind) {
  if (kind && ![...$("kind").options].some((o) => o.value === kind)) $("kind").append(el("option", {}, kind));
}

function trouble(text) {
  show($("trouble"), Boolean(text));
  say($("trouble-text"), text ? capital(text) + "." : "");
  $("kept").open = $("kept").open || Boolean(text);
}

function showList(p) {
  list?.kinds.forEach(addKind);
  const rows = [];
  let month = "";
  for (const e of list?.entries ?? []) {
    const when = new Date(e.time), its = when.toLocaleDateString([], { month: "long", year: "numeric" });
    if (its !== month) rows.push(el("li", { class: "month" }, el("h2", {}, its)));
    month = its;
    rows.push(row(e, when));
  }
  const had = document.activeElement, line = had.closest?.("li[data-id]")?.dataset.id;
  const within = open.node?.contains(had);
  $("entries").replaceChildren(...rows);
  // Nobody who types or goes by the keyboard is thrown out when the list is read again.
  if (within) open.had = had;
  else if (line) lineOf(line)?.firstChild.focus({ preventScroll: true });
  const some = asked.some((name) => p.get(name));
  const total = list?.total ?? 0, skip = list?.skip ?? 0, last = skip + (list?.entries.length ?? 0);
  const of = `${total} ${total === 1 ? "entry" : "entries"}`;
  say($("count"), !list ? "" : total ? (some ? of + " found" : of) : some ? "Nothing agrees with that." : "Nothing is in the notebook yet: what is measured here goes into it.");
  show($("hurt"), Boolean(list?.hurt));
  say($("hurt"), list?.hurt ? capital(list.hurt) + "." : "");
  show($("export"), total > 0);
  for (const format of ["csv", "json"]) $("export-" + format).href = `/api/notebook-export/${format}?${exportOf(p)}`;
  show($("paging"), list != null && (skip > 0 || last < total));
  say($("stretch"), last > skip ? `${skip + 1} to ${last} of ${total}` : `nothing so far back; ${of} in all`);
  turnTo($("newer"), skip > 0, Math.max(0, skip - perPage));
  turnTo($("older"), last < total && last > skip, skip + perPage);
}

const lineOf = (id) => $("entries").querySelector(`li[data-id="${CSS.escape(id)}"]`);

function turnTo(a, possible, skip) {
  show(a, possible);
  a.href = link({ skip: skip || "", entry: "" });
}

/** One line of the list; it unfolds. */
function row(e, when) {
  const marks = [];
  if (e.verdict) marks.push(el("span", { class: "mark " + ({ pass: "good", fail: "bad" }[e.verdict] ?? "open") }, (signs[e.verdict] ?? "? ") + e.verdict));
  if (!e.trusted && e.reads !== "refused") marks.push(el("span", { class: "mark bad" }, "refused in part"));
  if (e.findings.length) marks.push(el("span", { class: "codes" }, e.findings.join(", ")));
  const who = e.label ? [el("b", {}, e.label), " ", el("span", { class: "kind" }, e.kind)] : [el("b", {}, capital(e.kind))];
  const a = el("a", { class: "line", href: link({ entry: e.id }), "aria-expanded": "false" },
    el("time", { datetime: e.time }, `${when.toLocaleDateString([], { weekday: "short" })}\u00a0${when.getDate()}`, " ", el("span", {}, when.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false }))),
    el("span", { class: "who" }, ...who), el("span", { class: "reads" + (e.trusted ? "" : " bad") }, e.reads, " ", el("span", { class: "at" }, e.at)),
    el("span", { class: "marks" }, ...marks), el("span", { class: "note" }, e.note));
  return el("li", { "data-id": e.id }, a);
}

/** Unfolds the entry of that number where it stands in the list, or above it. */
async function showOpen(id, mine) {
  if (open.id !== id) {
    open.node?.remove();
    open = { id, node: null };
  }
  for (const li of $("entries").querySelectorAll("li[data-id]")) {
    const is = li.dataset.id === id;
    li.classList.toggle("is-open", is);
    li.querySelector(".line").setAttribute("aria-expanded", is);
    li.querySelector(".line").href = link({ entry: is ? "" : li.dataset.id });
  }
  for (const li of $("entries").querySelectorAll("li.elsewhere")) if (li.dataset.of !== id) li.remove();
  document.body.classList.toggle("one-entry", id !== "");
  if (id === "") return;
  if (!open.node || open.failed) {
    const { doc, error } = await ask("notebook/" + encodeURIComponent(id));
    if (mine !== turn) return;
    open.node?.remove();
    open = { id, failed: error != null, node: error ? el("p", { class: "book-trouble" }, capital(error) + ".") : article(doc, () => render(true)) };
  }
  if (open.node.isConnected) return;
  let li = lineOf(id);
  if (!li) {
    li = el("li", { class: "elsewhere is-open", "data-of": id }, el("a", { class: "button", href: link({ entry: "" }) }, "Close entry " + id));
    $("entries").prepend(li);
  }
  li.append(open.node);
  open.node.shown?.();
  if (open.had) open.had.focus({ preventScroll: true });
  else li.firstChild.scrollIntoView({ block: "nearest" });
  open.had = null;
}

function showPast(label, p) {
  const key = label && !/[*?]/.test(label) ? [label, p.get("frequency"), p.get("quantity"), p.get("since"), p.get("until"), book.changes].join("|") : "";
  if (key === pastKey) return;
  pastKey = key;
  show($("past"), false);
  if (!key) return;
  say($("past-head"), label + " over time");
  pastOf($("past-body"), { label, frequency: p.get("frequency"), quantity: p.get("quantity"), since: p.get("since"), until: p.get("until") }, 0, (some) => key === pastKey && show($("past"), some));
}

$("search").addEventListener("submit", (e) => {
  e.preventDefault();
  const period = $("period").value, between = period === "between";
  openAt(link({
    text: $("text").value.trim(), label: $("label").value.trim(), kind: $("kind").value, verdict: $("verdict").value,
    since: between ? $("since").value : period, until: between ? $("until").value : "", skip: "", entry: "", frequency: "", quantity: "",
  }));
});
for (const name of ["kind", "verdict", "period"]) {
  $(name).addEventListener("change", () => {
    show($("between"), $("period").value === "between");
    if ($("period").value !== "between" || name !== "period") $("search").requestSubmit();
  });
}
$("retry").addEventListener("click", () => render(true));
addEventListener("popstate", () => book && render());
document.addEventListener("click", (e) => {
  const a = e.target.closest("a");
  if (!a || a.pathname !== "/notebook" || a.closest("header") || e.ctrlKey || e.metaKey || e.shiftKey || e.button) return;
  e.preventDefault();
  openAt(a.href);
});

listen({
  state(state) {
    const was = book?.changes;
    book = state.notebook;
    say($("book-file"), book ? `The notebook is the file ${book.file}.` : "The notebook is switched off, by --no-notebook or by WHEATEAR_NOTEBOOK=off; what is kept with the jig is listed here.");
    say($("book-folder"), state.jig ? `What is kept with this jig lies in the folder ${state.jig.folder}.` : "");
    show($("search"), book != null);
    if (!book) $("kept").open = true;
    else if (was !== book.changes) render();
    const key = `${state.jig?.key} ${state.readings}`;
    if (key !== keptKey) fillKept();
    keptKey = key;
  },
  again() {
    keptKey = "";
    if (book) render(true);
  },
});
