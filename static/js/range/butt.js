// The butt: the unread shots as rows, both phones'; after a save the next one opens by itself.

import * as seen from "./seen.js";
import { showCautions } from "./stop.js";
import * as order from "./order.js";
import * as same from "./same.js";
import * as stop from "./stop.js";
import * as where from "./where.js";
import { openReading } from "./reading.js";
import { setup } from "./which_panel.js";
import { copy, fillRows, glyph, outcomeNames, row, say, slot, tile, wordOf } from "./drawn.js";
import { count, outcomeWords } from "./words.js";

const ENDED = { partial: "partial", missed: "missed", spoiled: "spoiled" };
let root = null;
let open = null;

const range = (low, high) => Array.from({ length: high - low + 1 }, (_, n) => low + n);

const WHERE = { book: "in the book", phone: "on this phone", needs: "needs you" };

/** A shot as a row: label, what was loosed, where it is kept. */
export function shotRow(one, page, more = {}) {
  const speed = one.speed && !one.speed.voided && one.speed.said.value ? [/[a-z]/i.test(one.speed.said.value) ? one.speed.said.value : `${one.speed.said.value}\u00a0m/s`] : [];
  const kind = one.said.purpose === "counted" ? [] : [wordOf("range-shot", "purpose", one.said.purpose).toLowerCase()];
  return row({
    mark: one.said.label, words: [one.by, one.bow, `arrow ${one.tag}`].filter(Boolean).join(", "), href: `${page}#shot=${one.id}`, id: one.id, need: one.state === "needs" || Boolean(same.askedOf(one.id)),
    voided: one.voided, small: [same.askedOf(one.id), ...kind, ...speed, one.voided ? "crossed out" : "", WHERE[one.state]].filter(Boolean).join(", "), ...more,
  });
}

/** What stands at the right of a row that was read: its tiles and, for a reader, their words. */
export function ending(shot) {
  const said = seen.readingOf(shot);
  if (!said) return [glyph("unread")];
  if (ENDED[said.hit]) return [glyph(ENDED[said.hit])];
  if (said.outcome_low === undefined) return [];
  const pair = document.createElement("span");
  pair.className = "outcome__pair";
  pair.append(...range(Number(said.outcome_low), Number(said.outcome_high ?? said.outcome_low)).map(tile));
  return [said.outcome_low === said.outcome_high ? pair.firstChild : pair];
}

export function readRow(shot, page) {
  const said = seen.readingOf(shot);
  const words = said.hit === "on_panel" ? outcomeWords(outcomeNames(), said.outcome_low, said.outcome_high) : { partial: "Clipped the edge", missed: "Missed", spoiled: "Spoiled" }[said.hit];
  return shotRow(shot, page, { words, end: ending(shot), small: `${shot.by}, arrow ${shot.tag}${shot.voided ? ", crossed out" : ""}${shot.state === "book" ? "" : shot.state === "phone" ? ", on this phone" : ", needs you"}` });
}

export function show(place, wanted) {
  root = copy("range-butt");
  place.replaceChildren(root);
  open = null;
  const first = seen.shot(wanted) ? wanted : wanted === "order" ? undefined : seen.unread()[0]?.id;
  if (first) read(first, Boolean(wanted));
  update();
  return { update, keys, leave: () => open && open.close(), title: () => (open ? `${open.label} · Butt` : "Butt") };
}

async function read(id, focus) {
  if (open) open.close();
  const box = slot(root, "reading");
  open = { id, label: seen.shot(id).said.label, close() {}, save() {} };
  const made = await openReading(box, id, { saved: next });
  if (open?.id !== id) return made.close(); // another was opened while the laptop was asked for this one
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

function finding() {
  const unread = seen.unread();
  const shootingEnds = [...new Set(unread.map((one) => one.said.shooting_end))].map((id) => seen.seen().shootingEnds.get(id)).filter(Boolean);
  if (!unread.length) return "No shot is unread";
  const words = count(unread.length, "shot unread", "shots unread");
  return shootingEnds.length === 1 ? `End ${seen.shootingEndNumber(shootingEnds[0])}: ${words}` : words;
}

function update() {
  if (!seen.seen() || !setup()) return;
  showCautions(slot(root, "caution"), "butt", setup().session);
  same.ask(slot(root, "same"));
  // One thing at a time: what was hit first, then in which order, and what the sighters did.
  order.ask(slot(root, "order"), !open);
  order.askSighters(slot(root, "sighter"), !open, (id) => read(id, true));
  slot(root, "to-order").hidden = !open || !(order.isAsked() || order.unreadSighters().length);
  say(root, "lead", finding());
  const others = seen.unread().filter((one) => one.id !== open?.id);
  // A sighter that marked the panel spoils a spot too: it may be read, and nobody has to.
  const unreadSighters = !open ? [] : seen.shotsHere().filter((one) => !one.voided && one.said.purpose === "sighter" && !seen.isRead(one) && one.id !== open?.id).slice(-5);
  slot(root, "unread-box").hidden = !others.length && !unreadSighters.length;
  say(root, "unread-title", open ? "Also unread" : "Unread");
  fillRows(slot(root, "unread"), [
    ...others.map((one) => shotRow(one, "/range/butt", { words: `Read ${one.said.label}`, small: [same.askedOf(one.id), `${one.by}, ${one.bow}, arrow ${one.tag}${one.state === "book" ? "" : ", on this phone"}`].filter(Boolean).join(", "), need: true, end: ending(one) })),
    ...unreadSighters.map((one) => shotRow(one, "/range/butt", { words: `Sighter ${one.said.label}`, small: "read it if it marked the panel" })),
  ]);
  const read_ = seen.shotsHere().filter((one) => seen.isRead(one) || one.voided);
  slot(root, "read-box").hidden = !read_.length;
  say(root, "read-title", `${count(read_.length, "shot", "shots")} read or crossed out`);
  fillRows(slot(root, "read"), [...read_].reverse().slice(0, 60).map((one) => (seen.isRead(one) ? readRow(one, "/range/butt") : shotRow(one, "/range/butt"))));
  document.dispatchEvent(new CustomEvent("range:keys"));
}

function keys() {
  const here = setup();
  const go = () => document.dispatchEvent(new CustomEvent("range:go", { detail: "/range" }));
  const back = { words: "We’re back", act: () => stop.back().then(go) };
  const out = stop.isOut() ? [back] : [];
  if (open) return [{ words: open.words || `Save ${open.label}`, main: true, act: () => open && open.save() }, ...out];
  if (order.isAsked()) return [...order.keys(), ...out];
  const first = stop.isOut() ? { ...back, words: "We’re back at the line", main: true } : { words: "To the line", main: true, act: go };
  const shootingEnd = here && seen.shootingEndOpen(here.id);
  return shootingEnd && seen.shotsOfShootingEnd(shootingEnd.id).length ? [first, { words: "We’re at the butt", act: () => stop.atButt(here) }] : [first];
}
