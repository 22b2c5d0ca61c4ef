// Addresses of the notebook's page, and questions to the notebook.

/** Asks; returns the document, or the error in words. */
export async function ask(path, how) {
  try {
    const answer = await fetch("/api/" + path, how);
    const doc = await answer.json();
    return answer.ok ? { doc } : { error: doc.error };
  } catch {
    return { error: "the program does not answer; is wheatear serve still running?" };
  }
}

/** The address of this page with other questions; empty ones are left out. */
export function link(changes) {
  const p = new URLSearchParams(location.search);
  for (const [name, value] of Object.entries(changes)) {
    if (value === "" || value == null) p.delete(name);
    else p.set(name, value);
  }
  const text = String(p);
  return "/notebook" + (text ? "?" + text : "");
}

/** Goes to an address of this page, so that back leads here again. */
export function openAt(href) {
  if (new URL(href, location.href).href !== location.href) history.pushState(null, "", href);
  dispatchEvent(new PopStateEvent("popstate"));
}
