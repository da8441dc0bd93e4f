// Somebody is at the butt: nobody shoots. What every phone says of its own hands, and what the line shows of the others'.
// The short cautions of line, butt and bench: shown until this phone's holder says once, per session, that they are read.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import { bookTime, contact, newId } from "./clock.js";
import { aloud, copy, fillRows, row, say, slot } from "./drawn.js";
import { clockWords, dayWords } from "./words.js";
import * as store from "./store.js";

let asking = false; // the key to log all the same was pressed, and the question stands
let allowed = ""; // for whom one shot may be logged all the same
let said = ""; // a reader hears it when it changes, not at each redraw

const own = () => seen.atTheButt().filter((one) => one.own);
const others = () => seen.atTheButt().filter((one) => !one.own);
const ids = () => seen.atTheButt().map((one) => one.id).join(" ");

/** This phone goes forward: said once, until it is back. */
export const going = (session) => (own().length ? [] : [{ noun: "butt_visit", record_id: newId(), body: { session, went_at: bookTime() }, words: "we’re at the butt" }]);

const ended = (some) => some.map((one) => ({ noun: "butt_visit", record_id: one.id, base_rev: one.rev, body: { back_at: bookTime() }, words: "back at the line" }));

export const isOut = () => own().length > 0;
export const back = () => queue.add(ended(own()));

/** Whether nobody may be shot past: shown until all are back, or until it was asked about these very people. */
export const stopped = () => seen.atTheButt().length > 0 && allowed !== ids();

/** A shot was logged all the same: the next one is asked about anew. */
export function logged() {
  allowed = "";
  asking = false;
}

function since(ms) {
  const day = new Date(ms);
  const today = day.toDateString() === new Date().toDateString();
  return `since ${clockWords(ms)}${today ? "" : ` on ${dayWords(`${day.getFullYear()}-${String(day.getMonth() + 1).padStart(2, "0")}-${String(day.getDate()).padStart(2, "0")}`)}`}`;
}

function who() {
  const names = [...new Set(others().map((one) => one.who))];
  const all = own().length ? ["You", ...names] : names;
  const are = own().length || names.length > 1 ? "are" : "is";
  const listed = all.length > 1 ? `${all.slice(0, -1).join(", ")} and ${all.at(-1)}` : all[0];
  return `${listed} ${are} at the butt ${since(seen.atTheButt()[0].said.went_at)}.`;
}

const outOfReach = () => contact().reached === false;
const away = () => (outOfReach() ? " The laptop is out of reach, so this phone can’t know whether they are back." : "");

/** When this goes. Of this phone's own hands: whether the others can know. */
function waitsFor() {
  if (!others().length) return outOfReach() ? "The laptop is out of reach, so the other phones can’t know. Tell the line." : "The other phones show it while they reach the laptop.";
  const who_ = others().length === 1 ? `${others()[0].who}’s phone says` : "their phones say";
  return `This goes when ${who_} “we’re back”. The range officer’s word overrides this page.${away()}`;
}

/** The sentence in the place of the line, or nothing. `next`: the label and the panel that wait. */
export function show(root, next) {
  const stop = stopped();
  const box = slot(root, "stop");
  if (!stop) asking = false;
  if (stop && box.hidden) window.scrollTo(0, 0); // whoever had scrolled down to the arrows would not see it
  box.hidden = !stop;
  slot(root, "shooting").hidden = stop;
  slot(root, "unknown").hidden = stop || !outOfReach(); // while stopped, the sentence itself says it
  if (!stop) {
    said = "";
    return;
  }
  const more = asking ? `Is everybody back, and nobody in front of the line?${away()}` : waitsFor();
  if (said !== who() + more) {
    said = who() + more;
    say(root, "stop-words", who());
    say(root, "stop-more", more);
  }
  slot(root, "stop-back").hidden = !asking || !others().length;
  say(root, "stop-back", `${others().length === 1 ? `${others()[0].who} is` : "They are"} back`);
  waiting(root, next);
}

function waiting(root, next) {
  const toCheck = seen.arrowsToCheck();
  const rows = [];
  if (toCheck.length) rows.push(row({ mark: String(toCheck.length), words: toCheck.length === 1 ? "Arrow to check" : "Arrows to check", small: toCheck.map((one) => one.tag).join(", "), href: "/range/bench", id: "to-check", need: true }));
  const shots = seen.unread().length;
  if (shots) rows.push(row({ mark: String(shots), words: shots === 1 ? "Shot to read" : "Shots to read", small: "at the butt", href: "/range/butt", id: "to-read" }));
  rows.push(row({ mark: next.label, words: `is your next shot, on ${next.panel}`, small: "", id: "next" }));
  fillRows(slot(root, "waiting"), rows);
}

/** The end is over, every open one of this set-up, whoever's phone began it; and this phone is at the butt till it says that it is back. */
export async function atButt(here) {
  const open = [...seen.seen().shootingEnds.values()].filter((one) => one.said.setup === here.id && !one.voided && !one.said.at_butt_at);
  const went = open.filter((one) => seen.shotsOfShootingEnd(one.id).length);
  const closed = went.map((one) => ({ noun: "shooting_end", record_id: one.id, base_rev: one.rev, body: { at_butt_at: bookTime() }, about: one.id, words: "the close of an end" }));
  const made = [...closed, ...going(here.session)];
  if (made.length) await queue.add(made);
}

/** They are back, says somebody else: their phone may be dead, or still in a pocket at the butt. */
export const allBack = () => queue.add(ended(others()));

/** The keys while nobody shoots. */
export function keys({ redraw, forward, label }) {
  const act = (what) => async () => { await what(); redraw(); };
  if (asking) return [{ words: `Log ${label} all the same`, act: act(() => { allowed = ids(); asking = false; }) }, { words: "Cancel", act: act(() => { asking = false; }) }];
  const anyway = { words: "Log a shot all the same", act: act(() => { asking = true; }) };
  return own().length ? [{ words: "We’re back", main: true, act: act(back) }, anyway] : [anyway, { words: "We’re at the butt", act: forward }];
}

/** Show them in `box` unless they were ticked for this session. */
export async function showCautions(box, place, session) {
  if (!session || box.dataset.session === session) return;
  box.dataset.session = session;
  const key = `caution ${place} ${session}`;
  if (await store.read("kept", key)) {
    box.replaceChildren();
    return;
  }
  const notice = copy(`range-cautions-${place}`);
  notice.querySelector("[data-caution-read]").addEventListener("click", async () => {
    await store.write([{ in: "kept", key, put: Date.now() }]);
    const here = box.contains(document.activeElement); // whoever went on meanwhile is not called back
    box.replaceChildren();
    if (here) document.getElementById("main").focus();
    aloud("Cautions read");
  });
  box.replaceChildren(notice);
}
