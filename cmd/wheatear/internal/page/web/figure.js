// The main figure in the one place where it stands: its digits and its interval, or why
// there are none.
import { say } from "./bench.js";
import { interval } from "./told.js";

/** What is said beside or below a reading: what the part is, and by which element. */
export const sentenceOf = (sheet) => (sheet.refused ? "refused: " + sheet.refused : [sheet.kind, sheet.headline.name].filter(Boolean).join(": "));

/** Writes a reading into a box; null for none. */
export function figure(box, sheet) {
  const [symbol, digits, half] = ["symbol", "digits", "half"].map((name) => box.querySelector("." + name));
  box.classList.toggle("refused", sheet?.refused != null && sheet.refused !== "");
  say(symbol, sheet?.trusted ? sheet.symbol ?? "" : "");
  say(digits, !sheet ? "" : sheet.refused ? "no value" : sheet.headline.value);
  say(half, sheet?.trusted ? interval(sheet.headline.half) : "");
  box.classList.toggle("long", digits.textContent.length + half.textContent.length > 22);
}
