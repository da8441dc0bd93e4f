// What is shown: what the book last told, with what this phone has said since laid over it. A record here is
// { id, rev, struck, said }, said in the words of an operation's body.

import * as queue from "./queue.js";
import * as snapshot from "./snapshot.js";
import { millimetres } from "./words.js";

let made = null; // worked out once until something changes

for (const event of ["range:told", "range:queue"]) document.addEventListener(event, () => { made = null; });

const blank = (id) => ({ id, rev: 0, struck: false, said: {} });

function laid(record, op) {
  const rev = op.answer ? Math.max(record.rev, op.answer.rev || 0) : record.rev;
  if (op.action === "strike") return { ...record, rev, struck: true };
  if (op.action === "unstrike") return { ...record, rev, struck: false };
  const said = { ...record.said };
  for (const [name, value] of Object.entries(op.body)) {
    if (value === null || value === "") delete said[name];
    else said[name] = value;
  }
  return { ...record, rev, said };
}

/** Operations that the book's last word does not hold yet, oldest first. */
function ahead(seq) {
  return queue.held().filter((op) => op.state === "queued" || op.state === "sending" || op.state === "needs"
    || (op.state === "book" && op.answer.seq > seq));
}

function arrowsAfter(arrows, ops) {
  const byBuild = new Map(arrows.map((one) => [one.build, { ...one }]));
  const undone = new Set(ops.filter((op) => op.noun === "shot" && op.action === "strike").map((op) => op.record_id));
  for (const op of ops) {
    if (op.action !== "put") continue;
    const arrow = byBuild.get(op.body.arrow_build);
    if (!arrow) continue;
    if (op.noun === "arrow_check") {
      arrow.state = op.body.sound === "sound" ? "sound" : "not_sound";
    } else if (op.noun === "shot" && op.base_rev === 0 && op.body.purpose !== "let_down" && !undone.has(op.record_id)) {
      arrow.strikes += 1;
      arrow.last_shot = op.record_id;
      if (arrow.state === "sound") arrow.state = "to_check";
    }
  }
  return [...byBuild.values()];
}

function named(shot, told, setups, walks) {
  const by = told.archers.find((one) => one.id === shot.said.archer);
  const bow = told.bows.find((one) => one.build === shot.said.bow_build);
  const arrow = told.arrows.find((one) => one.build === shot.said.arrow_build);
  const walk = walks.get(shot.said.walk);
  const setup = walk && setups.get(walk.said.setup);
  return {
    ...shot,
    by: by ? by.name : shot.by || "",
    bow: bow ? (bow.weight ? `${bow.weight}\u00a0lb` : bow.name) : shot.bow || "",
    tag: arrow ? arrow.tag : shot.tag || "",
    form: arrow ? arrow.form : shot.form || "other",
    setup: setup ? setup.id : shot.setup,
    panel: setup ? setup.panel : shot.panel,
    letter: shot.letter || told.phone.letter,
  };
}

function work() {
  const told = snapshot.told();
  if (!told) return null;
  const ops = ahead(told.seq);
  const walks = new Map(told.walks.map((one) => [one.id, one]));
  const shots = new Map(told.shots.map((one) => [one.id, { ...one, state: "book", warnings: [] }]));
  for (const op of ops) {
    const at = op.noun === "speed_reading" ? shotOfSpeed(op, shots) : op.record_id;
    if (op.noun === "walk") walks.set(op.record_id, laid(walks.get(op.record_id) || blank(op.record_id), op));
    if (!["shot", "shot_reading", "speed_reading"].includes(op.noun)) continue;
    const shot = shots.get(at) || { ...blank(at), reading: null, speed: null, state: "book", warnings: [] };
    if (op.noun === "shot") Object.assign(shot, laid(shot, op));
    if (op.noun === "shot_reading") shot.reading = placed(laid(shot.reading || blank(at), op), op);
    if (op.noun === "speed_reading") shot.speed = laid(shot.speed || blank(op.record_id), op);
    shot.state = op.state === "needs" ? "needs" : op.state === "book" ? shot.state : "phone";
    shots.set(at, shot);
  }
  for (const op of queue.held()) {
    const shot = op.answer && op.answer.warnings.length && shots.get(op.about);
    if (shot) shot.warnings = op.answer.warnings;
  }
  const setups = new Map(told.setups.map((one) => [one.id, one]));
  for (const [id, shot] of shots) shots.set(id, named(shot, told, setups, walks));
  return { told, setups, walks, shots, arrows: arrowsAfter(told.arrows, ops) };
}

function shotOfSpeed(op, shots) {
  if (op.body.shot) return op.body.shot;
  return [...shots.values()].find((one) => one.speed && one.speed.id === op.record_id)?.id;
}

/** Where a spot is in metres, as far as this phone can tell from what was typed. */
function placed(reading, op) {
  for (const name of ["x", "y", "depth"]) {
    if (op.body[name] !== undefined) reading[`${name}_m`] = millimetres(op.body[name]);
  }
  return reading;
}

export function seen() {
  made = made || work();
  return made;
}

export const setups = () => (seen() ? seen().told.setups : []);
export const shot = (id) => (seen() ? seen().shots.get(id) : undefined);
const hit = (one) => (one.reading && !one.reading.struck ? one.reading.said.hit : undefined);
export const isRead = (one) => Boolean(hit(one));
export const readingOf = (one) => (isRead(one) ? one.reading.said : null);

/** Shots of the open set-ups, in the order they were loosed as far as that is known. */
export function shotsHere() {
  if (!seen()) return [];
  const { shots, setups: open } = seen();
  return [...shots.values()].filter((one) => open.has(one.setup))
    .sort((a, b) => (a.said.loosed_at || 0) - (b.said.loosed_at || 0) || (a.id < b.id ? -1 : 1));
}

export const unread = () => shotsHere().filter((one) => !one.struck && one.said.purpose === "counted" && !isRead(one));

/** What still wants a look behind: a rung between two, a depth that may be more, or a wish; until somebody looked. */
export function toLookBehind() {
  return shotsHere().filter((one) => {
    const said = !one.struck && readingOf(one);
    if (!said || said.hit !== "fair_target" || said.look_behind === "no") return false;
    return said.look_behind === "yes" || said.outcome_low !== said.outcome_high || said.depth_bound === "at_least";
  });
}

export const arrowsToCheck = () => (seen() ? seen().arrows.filter((one) => one.state === "to_check") : []);

/** Earlier hits on a panel build: those with a known place, but for one shot. */
export function hitsOn(panel, except) {
  if (!seen()) return [];
  return [...seen().shots.values()]
    .filter((one) => one.panel === panel && one.id !== except && !one.struck && isRead(one))
    .filter((one) => Number.isFinite(one.reading.x_m) && Number.isFinite(one.reading.y_m))
    .sort((a, b) => (a.said.loosed_at || 0) - (b.said.loosed_at || 0));
}

export const walkOpen = (setup) => {
  const open = [...(seen() ? seen().walks.values() : [])]
    .filter((one) => one.said.setup === setup && !one.struck && !one.said.at_butt_at);
  return open.sort((a, b) => (a.id < b.id ? 1 : -1))[0];
};

export const shotsOfWalk = (walk) => shotsHere().filter((one) => one.said.walk === walk && !one.struck);

/** The number of a walk among those of its set-up, as people count them: from one, in the order they were begun. */
export function walkNumber(walk) {
  const all = [...seen().walks.values()].filter((one) => one.said.setup === walk.said.setup && !one.struck);
  return 1 + all.filter((one) => (one.said.begun_at || 0) < (walk.said.begun_at || 0)).length;
}

/** What two people said differently, one entry a record, without those that this phone has just decided. */
export function clashes() {
  if (!seen()) return [];
  const decided = queue.held().filter((op) => op.settles && op.state !== "needs").flatMap((op) => op.settles);
  const groups = new Map();
  for (const one of seen().told.clashes) {
    if (decided.includes(one.id)) continue;
    // Both halves of a place were said by one hand: they are decided together.
    const what = ["x", "y"].includes(one.field) ? "place" : ["outcome_low", "outcome_high"].includes(one.field) ? "rung" : one.field;
    const key = `${one.noun} ${one.record} ${what} ${one.offered.who}`;
    groups.set(key, [...(groups.get(key) || []), one]);
  }
  return [...groups.entries()].map(([key, fields]) => ({ key, what: key.split(" ")[2], noun: fields[0].noun, record: fields[0].record, fields }));
}
