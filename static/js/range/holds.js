// Close of day: what this phone holds of the day's shots, laid beside what the book has of it. Said by itself once
// nothing moves any more, so that the laptop's page of the day knows; and whenever somebody asks.

import * as queue from "./queue.js";
import * as pictures from "./pictures.js";
import * as seen from "./seen.js";
import { ask, contact } from "./contact.js";
import { setup } from "./line.js";
import { needs } from "./strip.js";

const SETTLES_MS = 3000;
let said = "";
let timer = 0;
let now = null;
const offered = new Set();

/** The last comparison: { at, agree, lacks, book_only, gaps, sentence }, or null. */
export const compared = () => now;

/** The shots of the day that were recorded by this phone, as it knows them: id -> label. Struck ones too. */
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
    pictures_unsent: pictures.waiting().length, needs: needs(),
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
  said = JSON.stringify(body);
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
    if (JSON.stringify(word([...shotsOfDay().keys()])) !== said) compare();
  }, SETTLES_MS);
}

for (const name of ["range:queue", "range:told"]) document.addEventListener(name, soon);
document.addEventListener("range:contact", () => {
  if (!contact().reached) said = ""; // a laptop that was started anew has forgotten what it was told
  else soon();
});
