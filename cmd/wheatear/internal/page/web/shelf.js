// Earlier sweeps that lie on the sheet beside the newest: entries of the notebook,
// remembered by this browser.
import { el, get, notice } from "./bench.js";
import { pointsOf } from "./quantities.js";

const most = 3, place = "sweeps-on-the-sheet";

export class Shelf {
  #list = []; #changed;

  constructor(changed) { this.#changed = changed; }

  get sweeps() { return this.#list; }

  /** Fetches what was on the sheet when the page was left. */
  async restore() {
    const ids = JSON.parse(localStorage.getItem(place) ?? "[]");
    for (const id of ids) await this.#fetch(id);
    this.#changed();
  }

  /** Puts a sweep of the notebook on the sheet; the oldest leaves where there are too many. */
  async add(id) {
    if (this.#list.some((s) => s.id === id)) return;
    if (!(await this.#fetch(id))) return notice("That sweep could not be read from the notebook.", true);
    while (this.#list.length > most) this.#list.shift();
    this.#keep();
  }

  drop(id) {
    this.#list = this.#list.filter((s) => s.id !== id);
    this.#keep();
  }

  #keep() {
    localStorage.setItem(place, JSON.stringify(this.#list.map((s) => s.id)));
    this.#changed();
  }

  async #fetch(id) {
    const doc = await get("notebook/" + id);
    const readings = doc?.entry?.result?.readings;
    if (!readings) return false;
    this.#list.push({ id, key: "entry " + id, name: doc.line.label || "entry " + id, time: doc.line.time, points: pointsOf(readings) });
    return true;
  }
}

/** A page without notebook has an empty shelf. */
let kept = false;
export const notebookIs = (there) => (kept = there);

/** The newest sweeps of the notebook, for a list to choose from. */
export async function choices() {
  const list = kept && (await get("notebook?kind=sweep&limit=40"));
  return ((list || null)?.entries ?? []).map((e) => el("option", { value: e.id }, `${e.label || "without label"} · ${new Date(e.time).toLocaleString("sv-SE").slice(0, 16)}`));
}

/** The newest entry of a part that was swept at a moment, once it is in the notebook. */
export async function entryOf(part, begun) {
  const list = kept && (await get("notebook?kind=sweep&limit=10"));
  return (list || null)?.entries.find((e) => e.label === part && Date.parse(e.time) >= Date.parse(begun))?.id ?? null;
}
