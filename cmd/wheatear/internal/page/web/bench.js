// What every page shares: asking the program, hearing from it, and the top line.

export const $ = (id) => document.getElementById(id);

/** Sets a text only where it differs, so that a still page stays still. */
export function say(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

export function show(node, shown) {
  if (node.hidden === shown) node.hidden = !shown;
}

/** A new element with attributes and children; texts are texts, never markup. */
export function el(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "on") Object.entries(value).forEach(([event, f]) => node.addEventListener(event, f));
    else if (value !== false && value != null) node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...children);
  return node;
}

// The mark of this page, by which others are told who has the card.
export const mark = sessionStorage.getItem("mark") || Math.random().toString(36).slice(2, 6);
sessionStorage.setItem("mark", mark);

export function notice(text, bad = false) {
  const box = $("notice");
  say(box, text);
  box.classList.toggle("bad", bad);
  show(box, text !== "");
}

/** Posts; tells the person why where it is refused. Returns the answer or null. */
export async function post(path, body = {}) {
  try {
    const answer = await fetch("/api/" + path, {
      method: "POST",
      headers: { "Content-Type": "application/json", "Wheatear-Tab": mark },
      body: JSON.stringify(body),
    });
    const doc = await answer.json();
    if (answer.ok) return doc;
    notice(sentence(doc.error), true);
  } catch {
    notice("The program does not answer. Is wheatear serve still running?", true);
  }
  return null;
}

export async function get(path) {
  try {
    const answer = await fetch("/api/" + path);
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1) + (text.endsWith(".") ? "" : ".");

/** Hears from the program: {state, live, progress, again}. again is called after a break. */
export function listen(handlers) {
  let source, timer, broken = false;
  const open = () => {
    clearTimeout(timer);
    source = new EventSource("/api/events");
    source.onopen = () => {
      if (broken) handlers.again?.();
      broken = false;
      document.body.classList.remove("lost");
    };
    source.onerror = () => {
      broken = true;
      document.body.classList.add("lost");
      say($("owner"), "no answer; trying again");
      if (source.readyState === EventSource.CLOSED) timer = setTimeout(open, 1500);
    };
    source.addEventListener("state", (e) => {
      const state = JSON.parse(e.data);
      top(state);
      handlers.state?.(state);
    });
    for (const name of ["live", "progress"]) {
      source.addEventListener(name, (e) => handlers[name]?.(JSON.parse(e.data)));
    }
  };
  // A page that nobody sees need not be told.
  document.addEventListener("visibilitychange", () => {
    clearTimeout(timer);
    source?.close();
    if (!document.hidden) {
      broken = true;
      open();
    }
  });
  addEventListener("pagehide", () => source?.close());
  open();
}

let lastNotice = "";

// top shows the jig, its calibration and who has the card.
function top(state) {
  say($("jig-name"), state.jig ? state.jig.name : "choose a jig");
  say($("calibrated"), state.jig ? calibratedText(state.calibration).split(",").slice(0, 2).join(",") : "");
  say($("folder"), state.jig ? "kept in " + state.jig.folder : "");
  const owner = state.owner;
  say($("owner"), owner ? ownerText(owner) : "card free");
  show($("stop"), owner != null && owner.kind !== "live reading");
  const told = state.notice ? state.notice.time + state.notice.text : "";
  if (told !== lastNotice) notice(state.notice?.text ?? "", state.notice?.bad);
  lastNotice = told;
}

function ownerText(owner) {
  const what = owner.what ? " of " + owner.what : "";
  return owner.kind + what + (owner.tab === mark ? "" : ", by " + (owner.tab ? "another page (" + owner.tab + ")" : "a program"));
}

export function calibratedText(cal) {
  if (!cal) return "not calibrated";
  const when = new Date(cal.date).toLocaleString([], { day: "numeric", month: "short", hour: "numeric", minute: "2-digit" });
  return `calibrated ${when}, ${cal.from} to ${cal.to}`;
}

$("stop").addEventListener("click", () => post("stop"));
$("look").addEventListener("click", () => {
  const root = document.documentElement;
  const dark = root.dataset.look ? root.dataset.look === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  root.dataset.look = dark ? "light" : "dark";
  localStorage.setItem("look", root.dataset.look);
});
