// The first page: cautions, then a jig.
import { $, el, listen, post, show } from "./bench.js";

$("confirm").addEventListener("click", () => post("cautions"));

let shown = "";

listen({
  state(state) {
    show($("confirm"), !state.cautions_read);
    show($("confirmed"), state.cautions_read);
    const key = JSON.stringify([state.jigs, state.jig?.key]);
    if (key === shown) return;
    shown = key;
    $("jigs").replaceChildren(...state.jigs.map((j) => {
      const used = j.key === state.jig?.key;
      return el("li", { class: used ? "used" : "" }, el("h3", {}, j.name), el("p", {}, j.about),
        el("button", { type: "button", class: used ? "" : "main", "data-jig": j.key, "aria-pressed": String(used), on: { click: () => post("jig", { key: j.key }) } }, used ? "in use" : "Use this one"));
    }));
  },
});
