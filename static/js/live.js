// The doorbell. One stream a page, closed while the page is hidden, tells that something changed; whoever shows it
// listens with hx-trigger="proofyard:changed from:body" and fetches its part again.

const SILENCE_MS = 35_000; // the server beats every 15 s: two missed beats and a bit mean a dead line
const GATHER_MS = 250; // an end of three arrives as three rings; one fetch is enough
const SPREAD_MS = 250; // every open page hears the same ring: they must not all come back in the same instant

let stream = null;
let lastId = "";
let watchdog = 0;
let waiting = 0;
let rings = 0;

function ring() {
  rings += 1;
  if (waiting) return;
  waiting = setTimeout(() => {
    const changes = rings;
    waiting = 0;
    rings = 0;
    document.body.dispatchEvent(new CustomEvent("proofyard:changed", { bubbles: true, detail: { changes } }));
  }, GATHER_MS + Math.random() * SPREAD_MS);
}

function heard(event) {
  if (event.lastEventId) lastId = event.lastEventId;
  clearTimeout(watchdog);
  watchdog = setTimeout(reopen, SILENCE_MS);
}

function open() {
  const address = document.body.dataset.live;
  if (!address || stream || document.hidden) return;
  const here = new URL(address, location.href);
  if (lastId) here.searchParams.set("since", lastId);
  stream = new EventSource(here);
  stream.addEventListener("open", heard);
  stream.addEventListener("beat", heard);
  stream.addEventListener("message", (event) => { heard(event); ring(); });
  // The browser tries again by itself, unless the server refused: then the watchdog does.
  stream.addEventListener("error", () => { if (stream && stream.readyState === EventSource.CLOSED) close(); });
  clearTimeout(watchdog);
  watchdog = setTimeout(reopen, SILENCE_MS);
}

function close() {
  if (stream) stream.close();
  stream = null;
}

function reopen() {
  close();
  open();
  ring(); // what happened in the silence was not heard: look
}

document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    clearTimeout(watchdog);
    close();
  } else {
    reopen();
  }
});
window.addEventListener("pagehide", () => { clearTimeout(watchdog); close(); });
window.addEventListener("pageshow", (event) => { if (event.persisted) reopen(); });
open();
