// What is shown: what the book last told, with what this phone has said since laid over it. A record here is
// { id, rev, voided, said }, said in the words of an operation's body.

import * as queue from "./queue.js";
import * as snapshot from "./snapshot.js";
import { millimetres } from "./words.js";

let made = null; // worked out once until something changes

for (const event of ["range:told", "range:queue"]) document.addEventListener(event, () => { made = null; });

const blank = (id) => ({ id, rev: 0, voided: false, said: {} });

function laid(record, op) {
  const rev = op.answer ? Math.max(record.rev, op.answer.rev || 0) : record.rev;
  if (op.action === "void") return { ...record, rev, voided: true };
  if (op.action === "unvoid") return { ...record, rev, voided: false };
  const said = { ...record.said };
  for (const [name, value] of Object.entries(op.body)) {
    if (value === null || value === "") delete said[name];
    else said[name] = value;
  }
  return { ...record, rev, said };
}

/** Operations of this phone that the book's last word does not hold yet, oldest first. */
export const notHeardBack = () => (snapshot.told() ? ahead(snapshot.told().seq) : []);

function ahead(seq) {
  return queue.held().filter((op) => op.state === "queued" || op.state === "sending" || op.state === "needs"
    || (op.state === "book" && op.answer.seq > seq));
}

/** Whether a reading says that its arrow does not fly on as it is: cracked, broken, its head loose or gone. */
const grounds = (said) => Object.entries(snapshot.told().grounded || {}).some(([field, fates]) => (said[field] || []).some((one) => fates.includes(one)));

function arrowsAfter(arrows, ops, shots) {
  const byBuild = new Map(arrows.map((one) => [one.build, { ...one }]));
  const undone = new Set(ops.filter((op) => op.noun === "shot" && op.action === "void").map((op) => op.record_id));
  for (const arrow of byBuild.values()) {
    if (undone.has(arrow.last_shot)) takeBack(arrow);
  }
  for (const op of ops) {
    if (op.noun === "shot_reading") {
      const read = shots.get(op.record_id); // as it stands after all that was said of it
      const arrow = read && !read.voided && byBuild.get(read.said.arrow_build);
      if (arrow) ground(arrow, read);
    }
    if (op.action !== "put") continue;
    const arrow = byBuild.get(op.body.arrow_build);
    if (!arrow) continue;
    if (op.noun === "arrow_check") {
      arrow.state = op.body.sound === "sound" ? "sound" : "not_sound";
      Object.assign(arrow, { grounded_by: null, check: op.body.sound, checked_at: op.body.at || op.made_at });
    } else if (op.noun === "shot" && op.base_rev === 0 && op.body.purpose !== "let_down" && !undone.has(op.record_id)) {
      arrow.shots += 1;
      arrow.last_shot = op.record_id;
      if (arrow.state === "sound") arrow.state = "to_check";
    }
  }
  return [...byBuild.values()];
}

/** The book still counts a shot that was undone here: the arrow stands as it did before it. */
function takeBack(arrow) {
  Object.assign(arrow, { shots: arrow.shots - 1, last_shot: arrow.shot_before, loosed_at: arrow.loosed_before });
  if (arrow.state === "to_check" && (arrow.loosed_at || 0) <= (arrow.checked_at || 0)) arrow.state = "sound";
}

/** A reading said here, of an arrow that nobody has looked at since its shot. */
function ground(arrow, shot) {
  const since = (arrow.checked_at || 0) > (shot.said.loosed_at || 0);
  if (!since && !shot.reading.voided && grounds(shot.reading.said)) {
    arrow.grounded_by = shot.id;
    arrow.state = "not_sound";
  } else if (arrow.grounded_by === shot.id) {
    arrow.grounded_by = null;
    arrow.state = arrow.check === "not_sound" ? "not_sound" : "to_check";
  }
}

function named(shot, told, setups, shootingEnds) {
  const by = told.archers.find((one) => one.id === shot.said.archer);
  const bow = told.bows.find((one) => one.build === shot.said.bow_build);
  const arrow = told.arrows.find((one) => one.build === shot.said.arrow_build);
  const shootingEnd = shootingEnds.get(shot.said.shooting_end);
  const setup = shootingEnd && setups.get(shootingEnd.said.setup);
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
  const shootingEnds = new Map(told.shooting_ends.map((one) => [one.id, one]));
  const visits = new Map((told.at_the_butt || []).map((one) => [one.id, one]));
  const shots = new Map(told.shots.map((one) => [one.id, { ...one, state: "book", warnings: [] }]));
  for (const op of ops) {
    const at = op.noun === "speed_reading" ? shotOfSpeed(op, shots) : op.record_id;
    if (op.noun === "shooting_end") shootingEnds.set(op.record_id, laid(shootingEnds.get(op.record_id) || blank(op.record_id), op));
    if (op.noun === "butt_visit") visits.set(op.record_id, laid(visits.get(op.record_id) || { ...blank(op.record_id), letter: told.phone.letter, who: told.phone.name }, op));
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
  for (const [id, shot] of shots) shots.set(id, named(shot, told, setups, shootingEnds));
  return { told, setups, shootingEnds, visits, shots, arrows: arrowsAfter(told.arrows, ops, shots) };
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
const hit = (one) => (one.reading && !one.reading.voided ? one.reading.said.hit : undefined);
export const isRead = (one) => Boolean(hit(one));
export const readingOf = (one) => (isRead(one) ? one.reading.said : null);

/** Shots of the open set-ups, in the order they were loosed as far as that is known. */
export function shotsHere() {
  if (!seen()) return [];
  const { shots, setups: open } = seen();
  return [...shots.values()].filter((one) => open.has(one.setup))
    .sort((a, b) => (a.said.loosed_at || 0) - (b.said.loosed_at || 0) || (a.id < b.id ? -1 : 1));
}

export const unread = () => shotsHere().filter((one) => !one.voided && one.said.purpose === "counted" && !isRead(one));

/** What still has to be checked from behind: an outcome of two levels, a depth that may be more, or a wish; until somebody looked. */
export function toCheckFromBehind() {
  return shotsHere().filter((one) => {
    const said = !one.voided && readingOf(one);
    if (one.slim && said && said.rear_check === undefined) return false; // what still has to be checked is told in full
    if (!said || said.hit !== "on_panel" || said.rear_check === "no") return false;
    return said.rear_check === "yes" || said.outcome_low !== said.outcome_high || said.depth_bound === "at_least";
  });
}

export const arrowsToCheck = () => (seen() ? seen().arrows.filter((one) => one.state === "to_check" || one.grounded_by) : []);

/** Earlier hits on a panel build: those with a known place, but for one shot. */
export function hitsOn(panel, except) {
  if (!seen()) return [];
  return [...seen().shots.values()]
    .filter((one) => one.panel === panel && one.id !== except && !one.voided && isRead(one))
    .filter((one) => Number.isFinite(one.reading.x_m) && Number.isFinite(one.reading.y_m))
    .sort((a, b) => (a.said.loosed_at || 0) - (b.said.loosed_at || 0));
}

export const shootingEndOpen = (setup) => {
  const open = [...(seen() ? seen().shootingEnds.values() : [])]
    .filter((one) => one.said.setup === setup && !one.voided && !one.said.at_butt_at);
  return open.sort((a, b) => (a.id < b.id ? 1 : -1))[0];
};

/** Whose phone says that it is at the butt, the longest first. `own`: this phone. */
export function atTheButt() {
  if (!seen()) return [];
  return [...seen().visits.values()].filter((one) => !one.voided && one.said.went_at && !one.said.back_at)
    .map((one) => ({ ...one, own: one.letter === seen().told.phone.letter })).sort((a, b) => a.said.went_at - b.said.went_at);
}

export const shotsOfShootingEnd = (shootingEnd) => shotsHere().filter((one) => one.said.shooting_end === shootingEnd && !one.voided);

/** The number of an end among those of its set-up, as people count them: from one, in the order they were begun. */
export function shootingEndNumber(shootingEnd) {
  const all = [...seen().shootingEnds.values()].filter((one) => one.said.setup === shootingEnd.said.setup && !one.voided);
  return 1 + all.filter((one) => (one.said.begun_at || 0) < (shootingEnd.said.begun_at || 0)).length;
}

/** What two people said differently, one entry a record, without those that this phone has just decided. */
export function clashes() {
  if (!seen()) return [];
  const decided = queue.held().filter((op) => op.settles && op.state !== "needs").flatMap((op) => op.settles);
  const groups = new Map();
  for (const one of seen().told.clashes) {
    if (decided.includes(one.id)) continue;
    // Both halves of a place were said by one hand: they are decided together.
    const what = ["x", "y"].includes(one.field) ? "place" : ["outcome_low", "outcome_high"].includes(one.field) ? "outcome" : one.field;
    const key = `${one.noun} ${one.record} ${what} ${one.offered.who}`;
    groups.set(key, [...(groups.get(key) || []), one]);
  }
  return [...groups.entries()].map(([key, fields]) => ({ key, what: key.split(" ")[2], noun: fields[0].noun, record: fields[0].record, fields }));
}
