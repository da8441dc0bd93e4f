// The strip, always in sight: where the shots are, in words. And the counts beside Butt and Bench.

import * as queue from "./queue.js";
import * as photos from "./photos.js";
import * as seen from "./seen.js";
import * as snapshot from "./snapshot.js";
import { contact } from "./clock.js";
import { slot, aloud } from "./drawn.js";
import { ageWords, clockWords, count as counted } from "./words.js";

let blocked = "";
let before = "";

/** Why nothing can be saved, in words; "" while all is well. */
export const blockedBy = () => blocked;

const LOCKED = () => document.querySelectorAll("[data-place], [data-thumb]");

/** The store is gone: nothing may look as if it were saved, so nothing can be tapped or typed. */
export function block(words) {
  blocked = words;
  const place = document.querySelector("[data-blocked]");
  place.hidden = false;
  place.querySelector(".notice p").textContent = words;
  for (const part of LOCKED()) part.inert = true;
  draw();
}

export function unblock() {
  if (!blocked) return;
  blocked = "";
  document.querySelector("[data-blocked]").hidden = true;
  for (const part of LOCKED()) part.inert = false;
  draw();
}

/** What needs a person: refused by the book, kept under another label, or said differently by two. */
export const needs = () => queue.refused().length + queue.renamed().length + photos.refused().length + seen.clashes().length;

const several = (ops) => new Set(ops.map((op) => op.about || op.record_id)).size;

/** "3", "2 photos" or "3 entries and 2 photos"; "" when nothing waits. */
export function onlyHere() {
  const [ops, some] = [several(queue.waiting()), counted(photos.waiting().length, "photo", "photos")];
  if (!photos.waiting().length) return ops ? String(ops) : "";
  return ops ? `${counted(ops, "entry", "entries")} and ${some}` : some;
}

/** Why what waits is not on its way, or that it is. */
function whyWaiting(reached, out, oldest) {
  if (queue.ofOtherBook().length) return ", for another book: open that one again";
  if (out) return ", this phone is not let in: see Phones on the laptop";
  if (queue.isStale()) return ". This page is older than the laptop’s: reload it";
  return reached === false ? `${oldest}. Laptop not reachable, keep logging` : `${oldest} – sending`;
}

/** { strong, words }: strong is the part that wants a hand. */
export function words() {
  if (blocked) return { strong: "Not saving.", words: " See below" };
  const { reached, at, out } = contact();
  const need = needs() ? `${needs()} need${needs() === 1 ? "s" : ""} you` : "";
  const [ops, some] = [queue.waiting(), photos.waiting()];
  if (ops.length || some.length) {
    const age = Date.now() - Math.min(...[...ops, ...some].map((one) => one.made_at));
    const oldest = age < 60_000 ? "" : `, oldest ${ageWords(age)}`;
    return { strong: [need, `${onlyHere()} on this phone only`].filter(Boolean).join(", "), words: whyWaiting(reached, out, oldest) };
  }
  if (need) return { strong: need, words: reached === false ? ". Laptop not reachable, keep logging" : "" };
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
    const line = document.createElement("span"); // the link is a row of boxes, in which parts of a sentence would lose the space between them
    const strong = document.createElement("b");
    strong.textContent = now.strong || "";
    line.append(...(now.strong ? [strong] : []), now.words);
    place.replaceChildren(line);
  }
  strip.classList.toggle("strip--waiting", Boolean(now.strong));
  const again = strip.querySelector("[data-try-now]");
  again.hidden = !(queue.waiting().length || photos.waiting().length) || Boolean(blocked);
  again.textContent = queue.isStale() ? "Reload" : "Try now";
  strip.querySelector("[data-needs-link]").hidden = !needs();
  // A reader is told when the kind of it changes, not each time a minute passes.
  const kind = text.replace(/\d+/g, "").slice(0, 24);
  if (before && kind !== before && !queue.held().some((op) => op.state === "sending")) aloud(text);
  before = kind;
  count("butt", seen.unread().length);
  count("bench", seen.toCheckFromBehind().length);
}

function count(name, number) {
  const place = document.querySelector(`[data-to-do="${name}"]`);
  if (!place) return;
  place.hidden = !number;
  place.querySelector("[data-to-do-number]").textContent = String(number);
}
