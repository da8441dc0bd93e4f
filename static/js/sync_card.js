// The sync card: the book's time on each frame that the screen draws, and a code of it, ten a second. The codes come from the
// laptop some seconds ahead; without it the time goes on alone.

import { begin, bookTime, estimate, sample } from "./range/clock.js";

const AHEAD_MS = 10_000;
const AGAIN_MS = 4_000;
const QUIET = 4; // light modules around a code

const card = document.querySelector("[data-sync-card]");
const slot = (name) => document.querySelector(`[data-slot="${name}"]`);
const [time, part, code, told] = ["time", "part", "code", "told"].map(slot);
const step = Number(card.dataset.step);
const codes = new Map();
let zone = null; // of the laptop: what is typed later is read in its time
let last = 0;
let drawn = null;

const two = (n) => String(n).padStart(2, "0");

/** Ask the laptop for the codes that are not here yet, and compare the clocks by the way. */
async function ask() {
  const now = bookTime();
  const first = Math.max(Math.floor(now / step) * step, last);
  const count = Math.min(100, Math.ceil((now + AHEAD_MS - first) / step));
  const { error } = estimate();
  const began = begin();
  try {
    // Before the clocks were compared a code would say the wrong moment: then the laptop's clock alone is asked for.
    const wanted = error === null ? 0 : Math.max(0, count);
    const answer = await fetch(`${card.dataset.codes}?begin=${first}&count=${wanted}${error === null ? "" : `&error=${error}`}`);
    if (!answer.ok) return;
    const said = await answer.json();
    sample(began, said.t1, said.t2);
    zone = said.zone_ms;
    for (const [at, rows] of Object.entries(said.codes)) codes.set(Number(at), rows);
    if (wanted) last = first + wanted * step;
    for (const at of codes.keys()) if (at < now - 1000) codes.delete(at);
  } catch {
    // Out of reach: what is here goes on.
  }
}

/** The dark modules as one path; the first row says how many there are. */
function pathOf([size, ...rows]) {
  const wide = parseInt(size, 16);
  code.setAttribute("viewBox", `${-QUIET} ${-QUIET} ${wide + 2 * QUIET} ${wide + 2 * QUIET}`);
  return rows.map((row, y) => {
    const bits = BigInt(`0x${row}`).toString(2).padStart(wide, "0");
    return [...bits.matchAll(/1+/g)].map((run) => `M${run.index} ${y}h${run[0].length}v1h-${run[0].length}z`).join("");
  }).join("");
}

function draw() {
  requestAnimationFrame(draw);
  if (zone === null) return;
  const now = bookTime();
  const here = new Date(now + zone);
  card.hidden = false;
  card.classList.toggle("sync-card--odd", here.getUTCSeconds() % 2 === 1);
  time.textContent = `${two(here.getUTCHours())}:${two(here.getUTCMinutes())}:${two(here.getUTCSeconds())}`;
  part.textContent = `.${String(here.getUTCMilliseconds()).padStart(3, "0")}`;
  const at = Math.floor(now / step) * step;
  if (at === drawn) return;
  drawn = at;
  const rows = codes.get(at);
  code.toggleAttribute("hidden", !rows);
  if (rows) code.firstElementChild.setAttribute("d", pathOf(rows));
}

function tell() {
  const { error } = estimate();
  const reached = codes.has(Math.floor(bookTime() / step) * step);
  const words = zone === null || error === null
    ? "Asking the laptop for its time. Wait."
    : `This phone’s clock is within ${error} ms of the laptop’s.${reached ? "" : " No code without the laptop: the time is enough."}`;
  if (told.textContent !== words) told.textContent = words;
}

ask().then(ask);
setInterval(ask, AGAIN_MS);
setInterval(tell, 1000);
requestAnimationFrame(draw);
