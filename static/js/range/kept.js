// A half-filled form outlives a reload, a thrown-away tab and a dead battery: it is kept a third of a second after the
// last touch, and at once when the page goes out of sight, which is the last that a phone is sure to tell.
// What this phone chose last: who, with which bow, at which set-up, in which unit. Kept, so that the page opens with it.

import * as store from "./store.js";

const SETTLE_MS = 300;
const pending = new Map();

async function flush(key) {
  const one = pending.get(key);
  if (!one) return;
  pending.delete(key);
  clearTimeout(one.timer);
  await store.write([{ in: "drafts", key, put: one.value() }])
    .catch((error) => document.dispatchEvent(new CustomEvent("range:store", { detail: error.message })));
}

export function keep(key, value) {
  clearTimeout(pending.get(key)?.timer);
  pending.set(key, { value, timer: setTimeout(() => flush(key), SETTLE_MS) });
}

export const flushAll = () => Promise.all([...pending.keys()].map(flush));

export async function drop(key) {
  clearTimeout(pending.get(key)?.timer);
  pending.delete(key);
  await store.write([{ in: "drafts", drop: key }]);
}

export const kept = (key) => store.read("drafts", key);

document.addEventListener("visibilitychange", () => { if (document.hidden) flushAll(); });
window.addEventListener("pagehide", flushAll);

let now = {};

export async function load() {
  now = (await store.read("kept", "choices")) || {};
}

export const choices = () => now;

export function choose(with_) {
  now = { ...now, ...with_ };
  return store.write([{ in: "kept", key: "choices", put: now }]);
}
