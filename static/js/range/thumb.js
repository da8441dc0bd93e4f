// What stands over the keys at the thumb. No "are you sure": what was done can be taken back here, until the next thing is done or
// another view opens. And one question, in the place of the key that it stops: it goes with its answer.

import { copy, slot } from "./drawn.js";

const NOTE_MS = 10_000;
let timer = 0;
let about = "";

const place = () => document.querySelector("[data-undo]");

/** What the words that stand here are about, or "". */
export const stands = () => about;

export function clear() {
  clearTimeout(timer);
  about = "";
  place().replaceChildren();
}

function put(words, about_) {
  clear();
  about = about_;
  const notice = copy("range-undo");
  slot(notice, "words").textContent = words;
  place().append(notice);
  return notice.querySelector("[data-undo-key]");
}

/** Say what was done and offer the way back. `back` is called once, if at all. */
export function offer(words, back, { key = "Undo", of = words } = {}) {
  const made = put(words, of);
  made.textContent = key;
  made.addEventListener("click", () => { clear(); back(); }, { once: true });
}

/** Say what was done, with no way back needed. */
export function note(words) {
  put(words, words).remove();
  timer = setTimeout(clear, NOTE_MS);
}

const TWICE_MS = 500; // the second tap of a cold thumb was meant for the key that stood here before
let asked = null;
let askedAt = 0;

/** { words, more, keys: [{ words, main, act }] }, or null. */
export const question = () => asked;

const changed = () => document.dispatchEvent(new CustomEvent("range:keys"));

export function ask(question_) {
  askedAt = performance.now();
  const act = (one) => () => { if (performance.now() - askedAt >= TWICE_MS) { asked = null; changed(); one.act(); } };
  asked = { ...question_, keys: question_.keys.map((one) => ({ ...one, act: act(one) })) };
  changed();
}

export function drop() {
  if (!asked) return;
  asked = null;
  changed();
}

/** The sentence over the keys; a reader hears it as it comes. */
export function draw() {
  const box = document.querySelector("[data-ask]");
  const text = asked ? `${asked.words} ${asked.more || ""}` : "";
  if (box.dataset.same === text) return;
  box.dataset.same = text;
  slot(box, "ask").textContent = asked ? asked.words : "";
  slot(box, "ask-more").textContent = asked?.more || "";
  box.hidden = !asked;
  document.querySelector("[data-undo]").hidden = Boolean(asked);
}
