// The list of parts, the newest first, a page at a time: a lot may have thousands.
import { $, clock, el, get, say, show } from "./bench.js";
import { marks } from "./signs.js";
import { interval } from "./told.js";

const most = 50;

/** Keeps the list: changed is told of each state of the lot, again of a break. */
export function parts() {
  const body = $("lot").tBodies[0];
  let lot = null, before = 0, list = [], turn = 0; // before: 0 for the newest
  $("older").addEventListener("click", () => load(list.at(-1)?.no ?? 0));
  $("newer").addEventListener("click", () => load(before + most > (lot?.parts ?? 0) ? 0 : before + most));

  async function load(from) {
    before = from;
    const mine = ++turn;
    const page = await get(`sort/parts?most=${most}` + (from ? `&before=${from}` : ""));
    if (!page || mine !== turn) return; // another page is asked for meanwhile
    list = page.list;
    body.replaceChildren(...list.map(row));
    paging();
  }

  function paging() {
    const all = lot?.parts ?? 0;
    show($("paging"), all > most);
    $("newer").disabled = before === 0;
    $("older").disabled = !list.length || list.at(-1).no === 1;
    say($("paged"), list.length ? `parts ${list.at(-1).no} to ${list[0].no} of ${all}` : "");
  }

  return {
    again: () => (list = []),
    changed(now) {
      const grown = lot && lot.file === now.file && now.version === lot.version + 1 && now.parts === lot.parts + 1;
      lot = now;
      if (before !== 0 && grown) return paging(); // an older page stays as it is
      if (!grown || (list[0]?.no ?? 0) !== now.parts - 1) return load(0);
      turn++;
      list = [now.last, ...list].slice(0, most);
      body.prepend(row(now.last));
      while (body.rows.length > most) body.lastChild.remove();
      paging();
    },
  };
}

function row(p) {
  const mark = marks[p.outcome] ?? "";
  return el("tr", { class: p.outcome + (p.rule ? " left" : "") },
    el("th", { scope: "row" }, String(p.no)), el("td", { class: "strong ruled" }, `${mark} ${p.outcome}`),
    el("td", { class: "strong" }, p.value + " " + interval(p.half)), el("td", {}, p.bin + (p.bin_doubt ? ` (${p.bin_doubt})` : "")), el("td", {}, p.name),
    el("td", { class: "because" }, p.why + (p.rule ? `; left out of the spread: ${p.rule}` : "")), el("td", { class: "when" }, clock(p.time)));
}
