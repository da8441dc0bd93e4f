// What the exchanges with the laptop tell: whether it answers (below), and its time. And the ids that rest on time.
//
// How far the laptop's clock is from this phone's, and how sure that is. Each exchange gives one sample; of the last
// eight the one with the least delay counts, and its error is half that delay at most.
//
// Date.now() and performance.now() run side by side while the phone is awake. If one leaves the other behind, either the
// clock was set or the phone slept; asked again, the laptop's clock tells which.

const MOST = 8;
const JUMP_MS = 1500;
const LOOK_EACH_MS = 2000;
const APART_MS = 10 * 60_000; // set by hand a clock is off by minutes; more is a wrong day, zone or battery
let apartSaid = false;
let samples = [];
let apart = Date.now() - performance.now();
let before = null; // the offset that was known before a jump, until the laptop has been heard again
let looked = performance.now();

const best = () => samples.reduce((a, b) => (b.delay < a.delay ? b : a));

/** Notice a jump. Whoever asks for the time looks first, so that no shot carries an offset of before. */
function look() {
  const jump = Date.now() - performance.now() - apart;
  const awake = !document.hidden && performance.now() - looked < 2 * LOOK_EACH_MS;
  looked = performance.now();
  if (Math.abs(jump) <= JUMP_MS) return;
  apart += jump;
  if (samples.length) before = { offset: best().offset };
  // While the page was in sight it was the clock that moved, by just this much; else nobody knows yet what happened.
  if (before && awake) before = { offset: before.offset - jump, said: true };
  samples = [];
  if (awake) tell(jump);
  else document.dispatchEvent(new CustomEvent("range:clock", { detail: "" }));
}

const tell = (jump) => document.dispatchEvent(new CustomEvent("range:clock", { detail: moved(jump) }));

function moved(ms) {
  const s = Math.round(Math.abs(ms) / 1000);
  const far = s < 120 ? `${s} s` : s < 7200 ? `${Math.round(s / 60)} min` : `${Math.round(s / 3600)} h`;
  return `This phone’s clock jumped ${far} ${ms > 0 ? "forward" : "back"}. The laptop’s clock corrects the times of shots as soon as it answers; you can give the order of an end at the butt.`;
}

/** When an exchange began, by both clocks. */
export const begin = () => ({ t0: Date.now(), steady: performance.now() });

/** What one exchange tells; t1, t2: when it came and went by the laptop's clock. */
export function sample({ t0, steady }, t1, t2) {
  const t3 = Date.now();
  look();
  if (![t1, t2].every(Number.isFinite)) return;
  if (Math.abs(t3 - t0 - (performance.now() - steady)) > JUMP_MS) return; // the clock jumped while it was on its way
  const delay = Math.max(0, (t3 - t0) - (t2 - t1));
  const offset = ((t1 - t0) + (t2 - t3)) / 2;
  const jump = before ? before.offset - offset : 0;
  const news = before && !before.said && Math.abs(jump) > JUMP_MS + delay / 2;
  before = null;
  samples = [...samples, { offset, delay }].slice(-MOST);
  if (news) tell(jump);
  else if (Math.abs(offset) > APART_MS && !apartSaid) {
    apartSaid = true;
    document.dispatchEvent(new CustomEvent("range:clock", { detail: farApart(offset) }));
  }
}

/** Times of shots follow the laptop's clock; if that is the wrong one, nobody else would notice. */
function farApart(ms) {
  const minutes = Math.round(Math.abs(ms) / 60_000);
  const span = minutes >= 2880 ? `${Math.round(minutes / 1440)} days` : minutes >= 120 ? `${Math.round(minutes / 60)} hours` : `${minutes} minutes`;
  return `The laptop’s clock is ${span} ${ms > 0 ? "ahead of" : "behind"} this phone’s. Times of shots follow the laptop’s clock: check which is right, and set the other before you shoot.`;
}

/** { offset, error } in milliseconds: offset is what must be added to this phone's time. Nulls while nothing is known. */
export function estimate() {
  look();
  if (samples.length) return { offset: Math.round(best().offset), error: Math.ceil(best().delay / 2) };
  // After a jump: the best that can be said, and how sure it is can't be told.
  return { offset: before ? Math.round(before.offset) : null, error: null };
}

/** The time by the laptop's clock as far as it is known, UTC milliseconds. */
export const bookTime = () => Date.now() + (estimate().offset ?? 0);

setInterval(look, LOOK_EACH_MS);

// Ids that this phone makes alone: UUID version 7 (RFC 9562, section 5.7), from getRandomValues, since randomUUID is
// missing on a plain http address. The counter keeps ids of one millisecond in order; uniqueness rests on chance.
let lastMs = 0;
let counter = 0;

const hex = (number, digits) => number.toString(16).padStart(digits, "0");

export function newId(now = Date.now()) {
  const random = crypto.getRandomValues(new Uint8Array(9));
  if (now > lastMs) {
    lastMs = now;
    counter = random[8];
  } else {
    counter += 1; // the clock stood still or went back: stay on the last millisecond and count on
    if (counter > 0xfff) {
      lastMs += 1;
      counter = 0;
    }
  }
  random[0] = (random[0] & 0x3f) | 0x80;
  const tail = [...random.slice(0, 8)].map((byte) => hex(byte, 2)).join("");
  const time = hex(lastMs, 12);
  return `${time.slice(0, 8)}-${time.slice(8)}-7${hex(counter, 3)}-${tail.slice(0, 4)}-${tail.slice(4)}`;
}

// Whether the laptop answers, as the last exchange showed. navigator.onLine only says that there is a network.

export const TIMEOUT_MS = 8000;
const laptop = { reached: null, at: 0, out: false };

function set(reached, out) {
  const changed = laptop.reached !== reached || laptop.out !== out;
  laptop.reached = reached;
  laptop.out = out;
  if (reached) laptop.at = Date.now();
  if (changed) document.dispatchEvent(new CustomEvent("range:contact"));
}

export const contact = () => laptop;

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
    set(false, laptop.out);
    return null;
  } finally {
    clearTimeout(timer);
  }
}
