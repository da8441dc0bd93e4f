// No "are you sure": what was done can be taken back for ten seconds, here at the thumb.

import { copy, slot } from "./drawn.js";

export const UNDO_MS = 10_000;
let timer = 0;

const place = () => document.querySelector("[data-undo]");

export function clear() {
  clearTimeout(timer);
  place().replaceChildren();
}

/** Say what was done and offer the way back. `back` is called once, if at all. */
export function offer(words, back) {
  clear();
  const notice = copy("range-undo");
  slot(notice, "words").textContent = words;
  notice.querySelector("[data-undo-key]").addEventListener("click", () => { clear(); back(); }, { once: true });
  place().append(notice);
  timer = setTimeout(clear, UNDO_MS);
}

/** Say what was done, with no way back needed. */
export function note(words) {
  clear();
  const notice = copy("range-undo");
  slot(notice, "words").textContent = words;
  notice.querySelector("[data-undo-key]").remove();
  place().append(notice);
  timer = setTimeout(clear, UNDO_MS);
}
