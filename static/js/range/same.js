// Two phones that logged the same shot: asked softly, never refused. One is kept, the other crossed out; what only
// the crossed-out one had goes over to the kept one.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as store from "./store.js";
import * as thumb from "./thumb.js";
import * as photos from "./photos.js";
import * as where from "./where.js";
import { aloud, copy, say } from "./drawn.js";

const WITHIN_MS = 90_000; // an arrow is not loosed, fetched and loosed again so soon (common practice, no source)
let apart = new Set();
let known = { of: null, pairs: [] };

export async function load() {
  apart = new Set((await store.read("kept", "apart")) || []);
}

const keyOf = (a, b) => [a.id, b.id].sort().join(" ");
const kit = (one) => [one.setup, one.said.archer, one.said.bow_build, one.said.arrow_build].join(" ");

/** Pairs that may be one shot: { keep, other, apart_s }. Both phones come to the same answer, so both keep the same one. */
export function pairs() {
  const now = seen.seen();
  if (!now || known.of === now) return known.pairs;
  const shots = seen.shotsHere().filter((one) => !one.voided && !one.slim && Number.isFinite(one.said.loosed_at));
  const found = [];
  for (const [n, keep] of shots.entries()) {
    for (const other of shots.slice(n + 1)) {
      const apart_ms = other.said.loosed_at - keep.said.loosed_at;
      if (apart_ms > WITHIN_MS) break; // they stand in the order of their times
      if (other.letter !== keep.letter && kit(other) === kit(keep) && !apart.has(keyOf(keep, other))) {
        found.push({ keep, other, apart_s: Math.round(apart_ms / 1000) });
      }
    }
  }
  known = { of: now, pairs: found };
  return found;
}

/** "same shot as A7?" for the later one of a pair, else "". */
export function askedOf(id) {
  const pair = pairs().find((one) => one.other.id === id);
  return pair ? `same shot as ${pair.keep.said.label}?` : "";
}

/** The question for the first pair of all that stand here, in `box`; nothing if there is none. */
export function ask(box) {
  const pair = pairs()[0];
  const same = pair ? keyOf(pair.keep, pair.other) : "";
  if (box.dataset.same === same) return;
  box.dataset.same = same;
  if (!pair) {
    box.replaceChildren();
    return;
  }
  const part = copy("range-same");
  const [a, b] = [pair.keep, pair.other].map((one) => one.said.label);
  say(part, "title", `${a} and ${b}: the same shot?`);
  say(part, "sentence", `${pair.keep.by}, ${pair.keep.bow}, arrow ${pair.keep.tag}, from two phones, ${pair.apart_s} s apart.`);
  const merge_ = part.querySelector("[data-one]");
  merge_.textContent = `One shot: keep ${a}`;
  merge_.addEventListener("click", () => {
    merge_.disabled = true;
    merge({ keep: seen.shot(pair.keep.id), other: seen.shot(pair.other.id) }); // as they stand now
  });
  part.querySelector("[data-two]").addEventListener("click", () => keepApart(pair));
  box.replaceChildren(part);
}

async function keepApart({ keep, other }) {
  apart = new Set([...apart, keyOf(keep, other)]);
  known = { of: null, pairs: [] };
  await store.write([{ in: "kept", key: "apart", put: [...apart] }]);
  aloud(`${keep.said.label} and ${other.said.label} stay two shots`);
  document.dispatchEvent(new CustomEvent("range:queue"));
}

// Two phones that move the same speed at the same time meet in one record: its id follows from the other's.
const besides = (id) => id.slice(0, -1) + (parseInt(id.slice(-1), 16) ^ 1).toString(16);
const alive = (record) => (record && !record.voided ? record : null);

function speedOver(keep, other, about) {
  const speed = alive(other.speed);
  if (alive(keep.speed) || !speed) return [];
  const { shot, ...said } = speed.said;
  return [{ ...about, noun: "speed_reading", record_id: besides(speed.id), body: { ...said, shot: keep.id } }];
}

/** The other's reading whole where the kept one was not read; field by field where both say that it ended alike. */
function readingOver(keep, other, about) {
  const [mine, theirs] = [alive(keep.reading)?.said ?? {}, alive(other.reading)?.said ?? {}];
  if (!theirs.hit || (mine.hit && mine.hit !== theirs.hit)) return [];
  const body = Object.fromEntries(Object.entries(theirs).filter(([name, value]) => mine[name] === undefined && value !== keep.id));
  const made = { ...about, noun: "shot_reading", record_id: keep.id };
  const back = keep.reading?.voided ? [{ ...made, action: "unvoid", reason: "read after all" }] : [];
  return Object.keys(body).length ? [...back, { ...made, base_rev: keep.reading?.rev ?? 0, body }] : [];
}

/** Everything that is moved and crossed out, in one go: on this phone it is all there or not at all. */
export async function merge({ keep, other }) {
  const [a, b] = [keep.said.label, other.said.label];
  const about = { about: keep.id, words: `${a}, the same shot as ${b}` };
  const speed = speedOver(keep, other, about);
  const reading = readingOver(keep, other, about);
  await queue.add([...speed, ...reading, { about: other.id, words: `${b}, the same shot as ${a}`, action: "void", noun: "shot", record_id: other.id, reason: `same shot as ${a}` }]);
  const moved = photos.ofRecord(other.id);
  for (const one of moved) await photos.place(one.id, keep.id, a);
  thumb.offer(`${b} is ${a}`, async () => {
    const reason = "undone at once";
    const ops = [{ about: other.id, words: `${b}, put back`, action: "unvoid", noun: "shot", record_id: other.id, reason }];
    for (const op of speed) ops.push({ ...about, action: "void", noun: op.noun, record_id: op.record_id, reason });
    const read = reading.find((op) => op.body);
    if (read && seen.isRead(keep)) ops.push({ ...read, base_rev: seen.shot(keep.id).reading.rev, body: Object.fromEntries(Object.keys(read.body).map((name) => [name, null])), reason });
    else if (read) ops.push({ ...about, action: "void", noun: "shot_reading", record_id: keep.id, reason });
    await queue.add(ops);
    for (const one of moved) await photos.place(one.id, other.id, b);
    aloud(`${a} and ${b} are two shots again`);
  });
  aloud(`${b} is crossed out as the same shot as ${a}, saved on this phone`);
  document.dispatchEvent(new CustomEvent("range:go", { detail: seen.isRead(seen.shot(keep.id)) ? where.place() : `${where.place()}#shot=${keep.id}` }));
}
