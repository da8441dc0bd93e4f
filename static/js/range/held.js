// What this phone holds: what is not in the book yet, whether phone and book agree on the day, what is still unread.

import * as queue from "./queue.js";
import * as pictures from "./pictures.js";
import * as seen from "./seen.js";
import * as holds from "./holds.js";
import * as unsent from "./unsent.js";
import * as where from "./where.js";
import { contact } from "./contact.js";
import { setup } from "./line.js";
import { needs, onlyHere } from "./strip.js";
import { copy, fillRows, row, say, slot } from "./drawn.js";
import { clockWords, count } from "./words.js";

const MOST_ROWS = 40;
let root = null;

export function show(place) {
  root = copy("range-held");
  place.replaceChildren(root);
  slot(root, "back").href = where.place();
  root.querySelector("[data-compare]").addEventListener("click", () => { queue.tryNow(); holds.compare(); });
  slot(root, "text-box").addEventListener("toggle", (event) => { if (event.target.open) unsent.show(slot(root, "text")); });
  update();
  slot(root, "title").focus();
  holds.compare();
  return { update, keys: () => [], title: () => "Close of day" };
}

/** By record of a shot or arrow: its words, since when. */
function waitingRows() {
  const by = new Map();
  for (const op of queue.waiting()) by.set(op.about || op.record_id, [...(by.get(op.about || op.record_id) || []), op]);
  const rows = [...by.values()].slice(0, MOST_ROWS).map(([first, ...more]) => row({
    mark: "", words: first.words, small: `on this phone since ${clockWords(first.made_at)}${more.length ? `, and ${count(more.length, "change", "changes")} of it` : ""}`,
  }));
  const some = pictures.waiting().map((one) => row({
    mark: "", words: `Picture of ${seen.shot(one.record)?.said.label ?? "no shot yet"}`, small: `${(one.bytes / 1e6).toFixed(1)} MB, ${pictures.where(one)}`,
  }));
  return [...rows, ...some];
}

const listed = (labels) => (labels.length > 12 ? `${labels.slice(0, 12).join(", ")} and ${labels.length - 12} more` : labels.join(", "));

function heading(only, unread) {
  const now = holds.compared();
  if (only) return `Not in yet: ${only} on this phone only`;
  if (needs()) return `Not in yet: ${needs()} need${needs() === 1 ? "s" : ""} you`;
  if (now && !now.agree && now.lacks.length) return `Not in yet: the book lacks ${now.lacks.length}`;
  if (!now || contact().reached === false) return "Not compared with the book yet";
  return unread ? `This phone is in; ${count(unread, "shot", "shots")} unread` : "This phone is in, and all is read";
}

function comparison(labels) {
  const now = holds.compared();
  if (contact().reached === false) return "The laptop does not answer. Go where it does before you pack up; until then nothing is lost as long as this phone keeps its browser data.";
  if (!now) return "Asking the laptop.";
  const lacks = now.lacks.map((id) => labels.get(id) || "a shot");
  const said = [`${clockWords(now.at)}: ${lacks.length ? `The book lacks ${listed(lacks)}. This phone offers ${lacks.length === 1 ? "it" : "them"} again.` : now.sentence}`];
  if (now.gaps.length) said.push(`${listed(now.gaps)} ${now.gaps.length === 1 ? "is" : "are"} nowhere in the book, though labels before and after are: look under “needs you”, and on paper.`);
  return said.join(" ");
}

function update() {
  const session = setup()?.session;
  const unread = seen.unread().filter((one) => seen.seen().setups.get(one.setup)?.session === session);
  const rows = waitingRows();
  const only = onlyHere();
  say(root, "title", heading(only, unread.length));
  say(root, "words", comparison(holds.shotsOfDay()));
  slot(root, "waiting-box").hidden = !rows.length;
  fillRows(slot(root, "waiting"), rows);
  slot(root, "needs-box").hidden = !needs();
  slot(root, "unread-box").hidden = !unread.length;
  say(root, "unread-title", count(unread.length, "shot is", "shots are") + " not read yet");
  fillRows(slot(root, "unread"), unread.slice(0, MOST_ROWS).map((one) => row({ mark: one.said.label, words: `Read ${one.said.label}`, small: `${one.by}, ${one.bow}, arrow ${one.tag}`, href: `/range/butt#shot=${one.id}`, id: one.id })));
  slot(root, "day-box").hidden = !session;
  if (session) slot(root, "day").href = `/sessions/${session}`;
}
