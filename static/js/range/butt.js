// The butt: the unread shots as rows, both phones'; after a save the next one opens by itself.

import * as seen from "./seen.js";
import * as cautions from "./cautions.js";
import * as order from "./order.js";
import * as same from "./same.js";
import * as where from "./where.js";
import { openReading } from "./reading.js";
import { atButt, setup, shotRow } from "./line.js";
import { copy, fillRows, glyph, rungNames, say, slot, tile } from "./drawn.js";
import { count, rungWords } from "./words.js";

const ENDED = { partial: "partial", missed: "missed", spoiled: "spoiled" };
let root = null;
let open = null;

const range = (low, high) => Array.from({ length: high - low + 1 }, (_, n) => low + n);

/** What stands at the right of a row that was read: its tiles and, for a reader, their words. */
export function ending(shot) {
  const said = seen.readingOf(shot);
  if (!said) return [glyph("unread")];
  if (ENDED[said.hit]) return [glyph(ENDED[said.hit])];
  if (said.outcome_low === undefined) return [];
  const pair = document.createElement("span");
  pair.className = "rung__pair";
  pair.append(...range(Number(said.outcome_low), Number(said.outcome_high ?? said.outcome_low)).map(tile));
  return [said.outcome_low === said.outcome_high ? pair.firstChild : pair];
}

export function readRow(shot, page) {
  const said = seen.readingOf(shot);
  const words = said.hit === "fair_target" ? rungWords(rungNames(), said.outcome_low, said.outcome_high) : { partial: "Clipped the edge", missed: "Missed", spoiled: "Spoiled" }[said.hit];
  return shotRow(shot, page, { words, end: ending(shot), small: `${shot.by}, arrow ${shot.tag}${shot.struck ? ", struck through" : ""}${shot.state === "book" ? "" : shot.state === "phone" ? ", on this phone" : ", needs you"}` });
}

export function show(place, wanted) {
  root = copy("range-butt");
  place.replaceChildren(root);
  open = null;
  const first = seen.shot(wanted) ? wanted : seen.unread()[0]?.id;
  if (first) read(first, Boolean(wanted));
  update();
  return { update, keys, leave: () => open && open.close(), title: () => (open ? `${seen.shot(open.id).said.label} · Butt` : "Butt") };
}

async function read(id, focus) {
  if (open) open.close();
  const box = slot(root, "reading");
  open = { id, close() {}, save() {} };
  const made = await openReading(box, id, { saved: next });
  open = made;
  update();
  if (focus) {
    slot(made.form, "title").focus({ preventScroll: true });
    slot(root, "title").scrollIntoView({ block: "start" });
  }
}

/** After a save the next unread shot opens; after a correction the rows show. */
function next(shot) {
  open.close();
  open = null;
  where.closed();
  const left = seen.unread().filter((one) => one.id !== shot.id);
  if (left.length) read(left[0].id, true);
  else slot(root, "title").focus();
  update();
}

function heading() {
  const unread = seen.unread();
  const walks = [...new Set(unread.map((one) => one.said.walk))].map((id) => seen.seen().walks.get(id)).filter(Boolean);
  if (!unread.length) return "Nothing unread";
  return walks.length === 1 ? `Walk ${seen.walkNumber(walks[0])}: ${unread.length} unread` : `${unread.length} unread`;
}

function update() {
  if (!seen.seen() || !setup()) return;
  cautions.show(slot(root, "caution"), "butt", setup().session);
  same.ask(slot(root, "same"));
  order.ask(slot(root, "order"), setup().session);
  say(root, "title", heading());
  const others = seen.unread().filter((one) => one.id !== open?.id);
  // A sighter that marked the panel spoils a spot too: it may be read, and nobody has to.
  const sighters = seen.shotsHere().filter((one) => !one.struck && one.said.purpose === "sighter" && !seen.isRead(one) && one.id !== open?.id).slice(-5);
  slot(root, "unread-box").hidden = !others.length && !sighters.length;
  say(root, "unread-title", open ? "Also unread" : "Unread");
  fillRows(slot(root, "unread"), [
    ...others.map((one) => shotRow(one, "/range/butt", { words: `Read ${one.said.label}`, small: [same.askedOf(one.id), `${one.by}, ${one.bow}, arrow ${one.tag}${one.state === "book" ? "" : ", on this phone"}`].filter(Boolean).join(", "), need: true, end: ending(one) })),
    ...sighters.map((one) => shotRow(one, "/range/butt", { words: `Sighter ${one.said.label}`, small: "read it if it marked the panel" })),
  ]);
  const read_ = seen.shotsHere().filter((one) => seen.isRead(one) || one.struck);
  slot(root, "read-box").hidden = !read_.length;
  say(root, "read-title", `${count(read_.length, "shot", "shots")} read or struck through`);
  fillRows(slot(root, "read"), [...read_].reverse().slice(0, 60).map((one) => (seen.isRead(one) ? readRow(one, "/range/butt") : shotRow(one, "/range/butt"))));
  document.dispatchEvent(new CustomEvent("range:keys"));
}

function keys() {
  if (open) return [{ words: `Save ${seen.shot(open.id).said.label}`, main: true, act: () => open && open.save() }];
  const here = setup();
  const walk = here && seen.walkOpen(here.id);
  const back = { words: "To the line", main: true, act: () => document.dispatchEvent(new CustomEvent("range:go", { detail: "/range" })) };
  if (walk && seen.shotsOfWalk(walk.id).length) return [back, { words: "We’re at the butt", act: () => atButt(here) }];
  return [back];
}
