// Whether the laptop answers, as the last exchange showed. navigator.onLine only says that there is a network.

export const TIMEOUT_MS = 8000;
const state = { reached: null, at: 0, out: false };

function set(reached, out) {
  const changed = state.reached !== reached || state.out !== out;
  state.reached = reached;
  state.out = out;
  if (reached) state.at = Date.now();
  if (changed) document.dispatchEvent(new CustomEvent("range:contact"));
}

export const contact = () => state;

/** fetch with a limit, since a Wi-Fi out of reach gives no error; gives null when the laptop can't be reached. */
export async function ask(address, options = {}) {
  const limit = new AbortController();
  const timer = setTimeout(() => limit.abort(), TIMEOUT_MS);
  try {
    const answer = await fetch(address, { credentials: "same-origin", cache: "no-store", ...options, signal: limit.signal });
    const text = await answer.text(); // a body cut off half way is an answer lost
    const out = answer.status === 401 || answer.status === 403;
    set(true, out);
    return { status: answer.status, headers: answer.headers, text };
  } catch {
    set(false, state.out);
    return null;
  } finally {
    clearTimeout(timer);
  }
}
