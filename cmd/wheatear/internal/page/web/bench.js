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

let noticeEnds;

/**
 * Tells something at the bottom of the page: {Undo: f} are buttons. What went well
 * leaves after a while, unless somebody points at it; what is wrong stays until it is closed.
 */
export function notice(text, bad = false, does = {}) {
  const box = $("notice");
  clearTimeout(noticeEnds);
  const close = () => show(box, false);
  box.classList.toggle("bad", bad);
  box.replaceChildren(el("span", {}, text), ...Object.entries(does).map(([name, f]) => el("button", { type: "button", class: "small", on: { click: () => (close(), f()) } }, name)),
    el("button", { type: "button", class: "small", "aria-label": "Close", on: { click: close } }, "×"));
  show(box, text !== "");
  const leave = () => (box.matches(":hover, :focus-within") ? (noticeEnds = setTimeout(leave, 2000)) : close());
  if (text !== "" && !bad) noticeEnds = setTimeout(leave, 8000);
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
    if (doc.owner) notice(busy(doc.owner), true, { "Stop it": () => post("stop") });
    else notice(sentence(doc.error), true);
  } catch {
    notice("The program does not answer, so this was not done. Is wheatear serve still running?", true);
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

const busy = (owner) => `The card is in use: ${ownerText(owner)}, begun at ${clock(owner.since)}. Wait for it, or stop it.`;

/** A moment of today, or a date with its year; 24 hours everywhere. */
export function clock(time) {
  const t = new Date(time), text = t.toLocaleString("sv-SE");
  return t.toDateString() === new Date().toDateString() ? text.slice(11, 16) : text.slice(0, 16);
}

const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1) + (text.endsWith(".") ? "" : ".");

// What is known of the line to the program: when it was heard last, and whether it answers.
let heard = Date.now(), answers = true, liveSince = 0;

function heardNow() {
  heard = Date.now();
  if (!answers) {
    answers = true;
    document.body.classList.remove("lost");
    show($("lost"), false);
  }
}

function lostNow() {
  if (answers) {
    answers = false;
    document.body.classList.add("lost");
    say($("owner"), "no answer");
    show($("lost"), true);
  }
  say($("lost"), `The program does not answer. What is shown is ${age((Date.now() - heard) / 1000)} old. Is wheatear serve still running? This page tries again by itself.`);
}

const age = (s) => (s < 90 ? Math.round(s) + " s" : Math.round(s / 60) + " min");

// A live reading that nobody hears of any more is not live.
setInterval(() => {
  if (!answers) return lostNow();
  document.body.classList.toggle("stale", liveSince > 0 && Date.now() - liveSince > 5000);
}, 500);

/** Hears from the program: {state, live, progress, again}. again is called after a break. */
export function listen(handlers) {
  let source, timer, broken = false;
  const open = () => {
    clearTimeout(timer);
    source = new EventSource("/api/events");
    source.onopen = () => {
      heardNow();
      if (broken) handlers.again?.();
      broken = false;
    };
    source.onerror = () => {
      broken = true;
      lostNow();
      if (source.readyState === EventSource.CLOSED) timer = setTimeout(open, 1500);
    };
    source.addEventListener("state", (e) => {
      heardNow();
      const state = JSON.parse(e.data);
      liveSince = state.owner?.kind === "live reading" ? Date.now() : 0;
      top(state);
      handlers.state?.(state);
    });
    for (const name of ["live", "progress"]) {
      source.addEventListener(name, (e) => {
        heardNow();
        liveSince = name === "live" ? heard : liveSince;
        handlers[name]?.(JSON.parse(e.data));
      });
    }
  };
  // A page that nobody sees need not be told.
  document.addEventListener("visibilitychange", () => {
    clearTimeout(timer);
    source?.close();
    liveSince = 0;
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
  document.body.dataset.card = owner ? "busy" : "free";
  say($("owner"), owner ? ownerText(owner) : "card free");
  show($("stop"), owner != null && owner.kind !== "live reading");
  const told = state.notice ? state.notice.time + state.notice.text : "";
  if (told !== lastNotice) notice(state.notice?.text ?? "", state.notice?.bad);
  lastNotice = told;
}

function ownerText(owner) {
  const what = owner.what ? " of " + owner.what : "";
  return owner.kind + what + (owner.tab === mark ? "" : ", by " + (owner.tab ? "another page" : "another program"));
}

export function calibratedText(cal) {
  if (!cal) return "not calibrated";
  const today = new Date(cal.date).toDateString() === new Date().toDateString();
  return `calibrated ${today ? "today " : ""}${clock(cal.date)}, ${cal.from} to ${cal.to}`;
}

$("menu")?.addEventListener("click", () => {
  const open = $("pages").classList.toggle("open");
  $("menu").setAttribute("aria-expanded", String(open));
});
$("stop").addEventListener("click", () => post("stop"));
$("look").addEventListener("click", () => {
  const root = document.documentElement;
  const dark = root.dataset.look ? root.dataset.look === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  root.dataset.look = dark ? "light" : "dark";
  localStorage.setItem("look", root.dataset.look);
});
