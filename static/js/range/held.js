// What this phone holds: what is not in the book yet, whether phone and book agree on the day, what is still unread.
// Close of day: what this phone holds of the day's shots, laid beside what the book has of it. Said by itself once
// nothing moves any more, so that the laptop's page of the day knows; and whenever somebody asks.
// What is not in the book, as a text that a person can read out, copy or save: the last way when store or laptop is gone.

import * as queue from "./queue.js";
import * as photos from "./photos.js";
import * as seen from "./seen.js";
import * as where from "./where.js";
import { ask, contact } from "./clock.js";
import { setup } from "./which_panel.js";
import { needs, onlyHere } from "./strip.js";
import { copy, fillRows, row, say, slot } from "./drawn.js";
import { clockWords, count } from "./words.js";
import { said } from "./needs.js";

const MOST_ROWS = 40;
let root = null;

export function show(place) {
  root = copy("range-held");
  place.replaceChildren(root);
  slot(root, "back").href = where.place();
  root.querySelector("[data-compare]").addEventListener("click", () => { queue.tryNow(); compare(); });
  slot(root, "text-box").addEventListener("toggle", (event) => { if (event.target.open) showUnsent(slot(root, "text")); });
  update();
  slot(root, "title").focus();
  compare();
  return { update, keys: () => [], title: () => "Close of day" };
}

/** One row for each record: its words, and since when it waits. */
function waitingRows() {
  const by = new Map();
  for (const op of queue.waiting()) by.set(op.about || op.record_id, [...(by.get(op.about || op.record_id) || []), op]);
  const rows = [...by.values()].slice(0, MOST_ROWS).map(([first, ...more]) => row({
    mark: "", words: first.words, small: `on this phone since ${clockWords(first.made_at)}${more.length ? `, and ${count(more.length, "change", "changes")} of it` : ""}`,
  }));
  const some = photos.waiting().map((one) => row({
    mark: "", words: `Photo of ${seen.shot(one.record)?.said.label ?? "no shot yet"}`, small: `${(one.bytes / 1e6).toFixed(1)} MB, ${photos.where(one)}`,
  }));
  return [...rows, ...some];
}

const listed = (labels) => (labels.length > 12 ? `${labels.slice(0, 12).join(", ")} and ${labels.length - 12} more` : labels.join(", "));

function finding(only, unread) {
  const now = compared();
  if (only) return `Not everything is in the book: ${only} on this phone only`;
  if (needs()) return `Not everything is in the book: ${needs()} need${needs() === 1 ? "s" : ""} you`;
  if (now && !now.agree && now.lacks.length) return `Not everything is in the book: it lacks ${count(now.lacks.length, "shot", "shots")}`;
  if (!now || contact().reached === false) return "Not compared with the book yet";
  return unread ? `Everything on this phone is in the book; ${count(unread, "shot", "shots")} unread` : "Everything on this phone is in the book, and every shot is read";
}

function comparison(labels) {
  const now = compared();
  if (contact().reached === false) return "The laptop does not answer. Go back within its reach before you pack up. Nothing is lost as long as this phone keeps its browser data.";
  if (!now) return "Asking the laptop …";
  const lacks = now.lacks.map((id) => labels.get(id) || "a shot");
  const said = [`${clockWords(now.at)}: ${lacks.length ? `The book lacks ${listed(lacks)}. This phone offers ${lacks.length === 1 ? "it" : "them"} again.` : now.sentence}`];
  if (now.gaps.length) said.push(`The book has no ${listed(now.gaps)}, but it has the labels before and after: look under “needs you” and on paper.`);
  return said.join(" ");
}

/** What to do where the laptop was started at another address: it alone can come back, the phone's store stays where it is. */
const awayWords = () => `This phone knows the laptop as ${location.origin}. If the laptop’s own screen shows another address now, what this phone holds is safe, but only a page at the old address can see it. Leave this page open, don’t clear this browser’s data, and don’t join at the new address yet. Ask the owner to give the laptop its old address back: on the laptop, More, Phones says how. Then this phone goes on by itself. If that can’t be had, show what is not in the book as a text, below, and type it in on the laptop.`;

function update() {
  const session = setup()?.session;
  const unread = seen.unread().filter((one) => seen.seen().setups.get(one.setup)?.session === session);
  const rows = waitingRows();
  const only = onlyHere();
  say(root, "finding", finding(only, unread.length));
  say(root, "words", comparison(shotsOfDay()));
  slot(root, "away-box").hidden = contact().reached !== false;
  say(root, "away", awayWords());
  slot(root, "waiting-box").hidden = !rows.length;
  fillRows(slot(root, "waiting"), rows);
  slot(root, "needs-box").hidden = !needs();
  slot(root, "unread-box").hidden = !unread.length;
  say(root, "unread-title", count(unread.length, "shot is", "shots are") + " not read yet");
  fillRows(slot(root, "unread"), unread.slice(0, MOST_ROWS).map((one) => row({ mark: one.said.label, words: `Read ${one.said.label}`, small: `${one.by}, ${one.bow}, arrow ${one.tag}`, href: `/range/butt#shot=${one.id}`, id: one.id })));
  slot(root, "day-box").hidden = !session;
  if (session) slot(root, "day").href = `/sessions/${session}`;
}

const SETTLES_MS = 3000;
let heldWord = "";
let timer = 0;
let now = null;
const offered = new Set();

/** The last comparison: { at, agree, lacks, book_only, gaps, sentence }, or null. */
export const compared = () => now;

/** The shots of the day that were recorded by this phone, as it knows them: id -> label. Crossed-out ones too. */
export function shotsOfDay() {
  const all = seen.seen();
  const session = setup()?.session;
  if (!all || !session) return new Map();
  const mine = new Set(queue.held().filter((op) => op.noun === "shot" && op.body.label && op.state !== "dropped").map((op) => op.record_id));
  const of = [...all.shots.values()].filter((one) => all.setups.get(one.setup)?.session === session && (mine.has(one.id) || one.letter === all.told.phone.letter));
  return new Map(of.map((one) => [one.id, one.said.label]));
}

function xorOf(ids) {
  let whole = 0n;
  for (const id of ids) whole ^= BigInt(`0x${id.replaceAll("-", "")}`);
  return whole.toString(16).padStart(32, "0");
}

function word(ids) {
  return {
    session: setup()?.session ?? null, count: ids.length, xor: xorOf(ids), unsent: new Set(queue.waiting().map((op) => op.about || op.record_id)).size,
    photos_unsent: photos.waiting().length, needs: needs(),
  };
}

async function post(body) {
  const answer = await ask("/api/holds", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
  return answer && answer.status === 200 ? queue.saidIn(answer.text) : null;
}

/** Compare with the book; whether it answered. */
export async function compare() {
  clearTimeout(timer);
  if (!setup()) return false;
  const ids = [...shotsOfDay().keys()];
  const body = word(ids);
  let told = await post(body);
  if (told && told.want_ids) told = await post({ ...body, ids });
  if (!told) return false;
  heldWord = JSON.stringify(body);
  now = { ...told, at: Date.now() };
  // What the book lost, though it had said to have it, is offered once more by itself.
  const again = new Set(told.lacks.filter((id) => !offered.has(id)));
  for (const id of again) offered.add(id);
  if (again.size) {
    await queue.offerAgain((op) => again.has(op.about) || again.has(op.record_id));
    queue.tryNow();
  }
  document.dispatchEvent(new CustomEvent("range:compared"));
  return true;
}

function soon() {
  clearTimeout(timer);
  timer = setTimeout(() => {
    if (document.hidden || contact().reached !== true || contact().out || !setup()) return;
    if (JSON.stringify(word([...shotsOfDay().keys()])) !== heldWord) compare();
  }, SETTLES_MS);
}

for (const name of ["range:queue", "range:told"]) document.addEventListener(name, soon);
document.addEventListener("range:contact", () => {
  if (!contact().reached) heldWord = ""; // a laptop that was started again has forgotten what it was told
  else soon();
});

const DONE = { void: "crossed out", unvoid: "put back" };

function line(op) {
  const body = Object.entries(op.body).map(([name, value]) => said(name, value)).filter(Boolean).join("; ");
  const why = op.reason ? ` (${op.reason})` : "";
  const trouble = op.problems.map((one) => ` The book said: ${one.sentence}`).join("");
  return `${clockWords(op.made_at)}  ${op.words}: ${DONE[op.action] || body}${why}.${trouble}`;
}

function part(title, ops) {
  return ops.length ? ["", title, ...ops.map(line)] : [];
}

export function text() {
  const phone = seen.seen()?.told.phone;
  const [waiting, refused, unkept] = [queue.waiting(), queue.refused(), queue.notKept()];
  const some = photos.waiting();
  const all = [...waiting, ...refused, ...unkept];
  const lines = [
    `Proofyard: what ${phone ? `phone ${phone.letter} (${phone.name})` : "this phone"} holds and the book does not, ${new Date().toString().slice(0, 24)}`,
    ...part("Saved on this phone, not yet in the book:", waiting),
    ...part("Needs you:", refused),
    ...part("Not saved on this phone either:", unkept),
    ...(some.length ? ["", `Photos, saved on this phone: ${some.length}`] : []),
    ...(all.length ? ["", "The same as data, one change a line:", ...all.map((op) => JSON.stringify(queue.asSent(op)))] : ["", "Nothing: everything is in the book."]),
  ];
  return `${lines.join("\n")}\n`;
}

/** The text as it is now, in `box`, to be selected or saved as a file. */
export function showUnsent(box) {
  const made = copy("range-unsent");
  const words = text();
  const area = made.querySelector("textarea");
  area.value = words;
  area.addEventListener("focus", () => area.select());
  const link = slot(made, "file");
  link.href = URL.createObjectURL(new Blob([words], { type: "text/plain;charset=utf-8" }));
  link.download = `proofyard-unsent-${new Date().toISOString().slice(0, 16).replace(/[-:]/g, "")}.txt`;
  for (const old of box.querySelectorAll("[download]")) URL.revokeObjectURL(old.href);
  box.replaceChildren(made);
}
