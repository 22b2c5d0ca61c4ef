// The tray of the simulated jig: what is in it, and what is spoilt.
import { $, el, post, say, show } from "./bench.js";

export function tray() {
  const box = $("tray");
  const select = $("tray-part"), faults = $("tray-faults");
  select.addEventListener("change", () => post("tray/part", { name: select.value }));
  const spoil = () => post("tray/faults", { on: [...faults.querySelectorAll("input:checked")].map((i) => i.value) });
  let key = "";
  return (view) => {
    show(box, view != null);
    if (!view) return;
    const now = JSON.stringify([view.parts, view.faults.map((f) => f.code)]);
    if (now !== key) {
      key = now;
      select.replaceChildren(...view.parts.map((p) => el("option", { value: p.name }, p.name)));
      faults.replaceChildren(faults.firstElementChild, ...view.faults.map((f) =>
        el("label", { class: "tick-box" }, el("input", { type: "checkbox", value: f.code, on: { change: spoil } }), " " + f.label)));
    }
    select.value = view.inserted;
    faults.querySelectorAll("input").forEach((input, i) => (input.checked = view.faults[i].on));
    const on = view.faults.filter((f) => f.on).map((f) => f.label);
    say($("faults-on"), ": " + (on.join(", ") || "none"));
    const part = view.parts.find((p) => p.name === view.inserted);
    say($("tray-note"), part ? [part.note, part.circuit && "really " + part.circuit].filter(Boolean).join("; ") : "");
  };
}
