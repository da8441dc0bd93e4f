// The strip, always in sight: where the shots are, in words. And the counts beside Butt and Bench.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as snapshot from "./snapshot.js";
import { contact } from "./contact.js";
import { slot, aloud } from "./drawn.js";
import { ageWords, clockWords } from "./words.js";

let blocked = "";
let before = "";

export const isBlocked = () => Boolean(blocked);

/** The store is gone: nothing may look as if it were saved. */
export function block(words) {
  blocked = words;
  const place = document.querySelector("[data-blocked]");
  place.hidden = false;
  place.querySelector("p").textContent = words;
  for (const button of document.querySelectorAll("[data-thumb] button")) button.disabled = true;
  draw();
}

export function unblock() {
  if (!blocked) return;
  blocked = "";
  document.querySelector("[data-blocked]").hidden = true;
  for (const button of document.querySelectorAll("[data-thumb] button")) button.disabled = false;
  draw();
}

/** What needs a person: refused by the book, or said differently by two. */
export const needs = () => queue.refused().length + seen.clashes().length;

const several = (ops) => new Set(ops.map((op) => op.about || op.record_id)).size;

/** { strong, words }: strong is the part that wants a hand. */
export function words() {
  if (blocked) return { strong: "Not saving.", words: "See below" };
  const { reached, at, out } = contact();
  const need = needs() ? { strong: `${needs()} need${needs() === 1 ? "s" : ""} you` } : {};
  const waiting = queue.waiting();
  if (waiting.length) {
    const only = `${several(waiting)} on this phone only`;
    const age = Date.now() - Math.min(...waiting.map((op) => op.made_at));
    const oldest = age < 60_000 ? "" : `, oldest ${ageWords(age)}`;
    if (queue.ofOtherBook().length) return { strong: only, words: ", for another book: open that one again" };
    if (out) return { strong: only, words: ", this phone is not let in: see Phones on the laptop" };
    if (reached === false) return { strong: `${need.strong ? `${need.strong}, ` : ""}${only}`, words: `${oldest}. Laptop not reachable, keep logging` };
    return { strong: `${need.strong ? `${need.strong}, ` : ""}${only}`, words: `${oldest} – sending` };
  }
  if (need.strong) return { ...need, words: "" };
  if (out) return { strong: "This phone is not let in.", words: " Ask the owner: Phones, on the laptop" };
  if (reached === false) return { words: snapshot.told() ? "All in the book. Laptop not reachable, keep logging" : "Laptop not reachable" };
  return { words: reached ? `All in the book, ${clockWords(at)}` : "All in the book, asking the laptop" };
}

export function draw() {
  const strip = document.querySelector("[data-strip]");
  const now = words();
  const text = (now.strong || "") + now.words;
  const place = slot(strip, "words");
  if (place.textContent !== text) {
    const strong = document.createElement("b");
    strong.textContent = now.strong || "";
    place.replaceChildren(...(now.strong ? [strong] : []), now.words);
  }
  strip.classList.toggle("strip--waiting", Boolean(now.strong));
  strip.querySelector("[data-try-now]").hidden = !queue.waiting().length || Boolean(blocked);
  strip.querySelector("[data-needs-link]").hidden = !needs();
  // A reader is told when the kind of it changes, not each time a minute passes.
  const kind = text.replace(/\d+/g, "").slice(0, 24);
  if (before && kind !== before && !queue.held().some((op) => op.state === "sending")) aloud(text);
  before = kind;
  count("butt", seen.unread().length);
  count("bench", seen.toLookBehind().length);
}

function count(name, number) {
  const place = document.querySelector(`[data-to-do="${name}"]`);
  if (!place) return;
  place.hidden = !number;
  place.querySelector("[data-to-do-number]").textContent = String(number);
}
