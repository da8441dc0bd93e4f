// How far the laptop's clock is from this phone's, and how sure that is. Each exchange gives one sample; of the last
// eight the one with the least delay counts, and its error is half that delay at most.

const MOST = 8;
const JUMP_MS = 1500;
let samples = [];
let base = Date.now() - performance.now();

export function sample(t0, t1, t2, t3) {
  if (![t0, t1, t2, t3].every(Number.isFinite)) return;
  const now = Date.now() - performance.now();
  // The clock was set, or the phone slept (performance.now stands still then): what was known of it is worth nothing.
  if (Math.abs(now - base) > JUMP_MS) samples = [];
  base = now;
  const delay = Math.max(0, (t3 - t0) - (t2 - t1));
  samples = [...samples, { offset: ((t1 - t0) + (t2 - t3)) / 2, delay }].slice(-MOST);
}

/** { offset, error } in milliseconds: offset is what must be added to this phone's time. Nulls while nothing is known. */
export function estimate() {
  if (Math.abs(Date.now() - performance.now() - base) > JUMP_MS || !samples.length) return { offset: null, error: null };
  const best = samples.reduce((a, b) => (b.delay < a.delay ? b : a));
  return { offset: Math.round(best.offset), error: Math.ceil(best.delay / 2) };
}

/** The time by the laptop's clock as far as it is known, UTC milliseconds. */
export const bookTime = () => Date.now() + (estimate().offset ?? 0);
