// Findings, lines and budgets in words.
import { $, el, say, show } from "./bench.js";
import { set, svg } from "./draw.js";

/** Lists findings, each with what to do. */
export function findings(list, told, none = "") {
  const key = JSON.stringify(told ?? []);
  if (list.dataset.key === key) return;
  list.dataset.key = key;
  list.replaceChildren(...(told ?? []).map((f) =>
    el("li", { class: f.severity },
      el("b", {}, f.code), " ", el("span", { class: "severity" }, f.severity + (f.where ? " " + f.where : "")), el("p", {}, f.detail),
      ...(f.advice ? [el("p", { class: "advice" }, "→ " + f.advice)] : []))));
  if (!told?.length && none) list.append(el("li", { class: "none" }, none));
}

/** Lists what asks for something; notes that ask for nothing are one closed line. */
export function told(list) {
  const notes = list.filter((f) => f.severity === "note");
  findings($("findings"), list.filter((f) => f.severity !== "note"));
  findings($("notes"), notes);
  show($("settled"), notes.length > 0);
  say($("settled").firstElementChild, `${notes.length} ${notes.length === 1 ? "note, which asks" : "notes, which ask"} for nothing`);
}

/** An interval with its sign: readings kept by older versions have the half-width alone. */
export const interval = (half) => (half ? (/^[±(]/.test(half) ? half : "± " + half) : "");

/** Fills a list of names and texts, and keeps its nodes. */
export function lines(list, told) {
  while (list.children.length > 2 * told.length) list.lastChild.remove();
  told.forEach((line, i) => {
    if (!list.children[2 * i]) list.append(el("dt"), el("dd"));
    say(list.children[2 * i], line.name);
    say(list.children[2 * i + 1], line.text);
  });
}

/** Shows sources of uncertainty as bars. */
export function budget(list, told) {
  const names = told.map((s) => s.source).join("|");
  if (list.dataset.names !== names) {
    list.dataset.names = names;
    list.replaceChildren(...told.map((s) => {
      const picture = svg("svg", { viewBox: "0 0 100 4", preserveAspectRatio: "none", "aria-hidden": "true" });
      picture.append(svg("rect", { class: "back", width: 100, height: 4 }), svg("rect", { class: "share", height: 4 }));
      return el("li", { title: s.why }, el("span", {}, s.source), " ", el("b"), picture);
    }));
  }
  told.forEach((s, i) => {
    const row = list.children[i];
    say(row.querySelector("b"), s.text);
    set(row.querySelector(".share"), { width: (100 * s.share).toFixed(1) });
  });
}
