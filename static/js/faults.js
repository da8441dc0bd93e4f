// An error that nothing caught is said on the page and told to the laptop's log: a script that dies in silence looks
// like a page that saves. What the laptop could not hear is kept on the device until it can.

// Several groups may have their books at one address, each below a path of its own (…/g/oak/). A browser keeps things by
// address alone, so what is kept carries the group's name; "" where the server has one book.
const group = /\/g\/([a-z0-9-]+)(?=\/static\/)/.exec(import.meta.url);
export const GROUP = group ? ` of ${group[1]}` : "";

const KEPT = `proofyard faults${GROUP}`;
const MOST_KEPT = 5;
const MOST_TOLD = 5; // a page: a fault that comes back every second is one fault
const AGAIN_MS = 30_000;
const said = new Set();
let telling = false;

const cut = (text, most) => String(text ?? "").slice(0, most);

function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(KEPT) || "[]");
    return Array.isArray(found) ? found : [];
  } catch {
    return []; // no store, or not ours: then it is only shown
  }
}

function keep(some) {
  try {
    if (some.length) localStorage.setItem(KEPT, JSON.stringify(some.slice(-MOST_KEPT)));
    else localStorage.removeItem(KEPT);
  } catch { /* no store */ }
}

/** Tell the oldest first. What the laptop heard, or will never take, is let go of. */
async function tell() {
  if (telling) return;
  telling = true;
  try {
    for (let some = kept(); some.length; some = kept()) {
      const answer = await fetch("/api/faults", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(some[0]) });
      if (answer.status === 429 || answer.status >= 500) break;
      keep(kept().slice(1));
    }
  } catch { /* out of reach: later */ }
  telling = false;
}

function fault(error, where) {
  const message = cut(error?.message ?? error, 300) || "no message";
  const stack = cut(error?.stack, 2000);
  if (/-extension:\/\//.test(stack + where) || message.startsWith("ResizeObserver loop")) return; // not ours, and no fault
  const notice = document.querySelector("[data-fault]");
  if (notice) notice.hidden = false;
  if (said.has(message + where) || said.size >= MOST_TOLD) return;
  said.add(message + where);
  keep([...kept(), { message, where: cut(where, 300), stack, page: cut(location.pathname, 200), at: Date.now() }]);
  tell();
}

window.addEventListener("error", (event) => {
  if (event.message) fault(event.error ?? event.message, `${event.filename}:${event.lineno}:${event.colno}`);
});
// Whoever expects a refusal takes it (the range's page says it itself when the store gives up), and is asked first.
window.addEventListener("unhandledrejection", (event) => setTimeout(() => {
  if (!event.defaultPrevented) fault(event.reason, "promise");
}));
document.addEventListener("click", (event) => {
  // By its address, not location.reload(): the range's page then comes out of the browser's own copy without the laptop.
  if (event.target.closest("[data-fault-reload]")) location.replace(location.pathname + location.search);
});
window.addEventListener("online", tell);
setInterval(tell, AGAIN_MS);
tell();
