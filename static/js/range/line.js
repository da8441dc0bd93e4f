// The line: one tap logs a loose with the last choices, and the next sound arrow stands ready.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as store from "./store.js";
import * as drafts from "./drafts.js";
import * as undo from "./undo.js";
import * as cautions from "./cautions.js";
import * as same from "./same.js";
import * as following from "./next.js";
import { bookTime } from "./clock.js";
import { newId } from "./ids.js";
import { aloud, chosen, copy, fillChoice, fillRows, row, say, slot, wordOf, wrong } from "./drawn.js";
import { clockWords, dayWords, speedTrouble } from "./words.js";

const MOST_KEYS = 6; // more arrows than these fold away, so that Loosed stays under the thumb
const TWICE_MS = 500; // a cold thumb's second tap: nobody looses two arrows within half a second
let choices = {};
let next = {}; // what the plan or the rule says
let busy = false;
let loosedAt = -TWICE_MS;
let root = null;

export async function load() {
  choices = (await store.read("kept", "choices")) || {};
}

function choose(with_) {
  choices = { ...choices, ...with_ };
  return store.write([{ in: "kept", key: "choices", put: choices }]);
}

/** The set-up that this phone shoots at: the one it chose, or the first. */
export const setup = () => seen.setups().find((one) => one.id === choices.setup) || seen.setups()[0];

const used = (all, ids, key) => (ids.length ? all.filter((one) => ids.includes(one[key])) : all);

function nextLabel() {
  const { phone } = seen.seen().told;
  const own = new RegExp(`^${phone.letter}(\\d+)$`);
  const labels = [...[...seen.seen().shots.values()].map((one) => one.said.label), ...queue.held().map((op) => op.body.label)];
  const numbers = labels.map((label) => own.exec(label || "")).filter(Boolean).map((found) => Number(found[1]));
  return phone.letter + (Math.max(phone.highest, 0, ...numbers) + 1);
}

/** The sound arrow after one, round and round; none when all are out or to check. */
function nextSound(arrows, after) {
  const at = arrows.findIndex((one) => one.build === after);
  const turned = [...arrows.slice(at + 1), ...arrows.slice(0, at + 1)];
  return turned.find((one) => one.state === "sound" && one.build !== after);
}

const asKey = (one) => ({
  value: one.build, glyph: one.state === "sound" ? `head-${one.form}` : "", need: one.state !== "sound", disabled: one.state === "not_sound",
  words: one.state === "sound" ? one.tag : `${one.tag}, ${one.state === "to_check" ? "to check" : "not sound"}`,
  unseen: one.state === "sound" ? `, ${one.head || one.form}` : "",
});

function drawArrows(here) {
  const arrows = used(seen.seen().arrows, here.arrows, "arrow");
  const now = arrows.find((one) => one.build === choices.arrow_build && one.state !== "not_sound") || nextSound(arrows, choices.arrow_build);
  const sound = arrows.filter((one) => one.state === "sound" || one === now);
  const first = arrows.length <= MOST_KEYS ? arrows : turnTo(sound, now).slice(0, MOST_KEYS - 1);
  const others = arrows.filter((one) => !first.includes(one));
  fillChoice(root.querySelector("#line-arrow").closest("fieldset"), first.map(asKey), now?.build);
  const box = slot(root, "others");
  box.hidden = !others.length;
  if (others.length) {
    const checks = others.filter((one) => one.state === "to_check").length;
    say(root, "others-words", `${others.length} more${checks ? `, ${checks} to check` : ""}`);
    fillChoice(box.querySelector("fieldset"), others.map(asKey), now?.build);
  }
  const short = root.querySelector("[name=small][value=let_down]").checked ? "" : "when the line is clear";
  const meant = next.arrow_build === now?.build;
  say(root, "next", now ? `Next: arrow ${now.tag},${meant && next.aim ? ` ${next.aim},` : ""}` : "No sound arrow left:");
  say(root, "when", now ? (now.state === "to_check" ? "once it is checked" : short || "let down") : "check one at the bench");
}

/** What comes next is picked once; whoever picks another arrow is not contradicted. */
function follow(here) {
  next = following.following(here);
  if (next.id && next.id !== choices.next) {
    const { id, arrow_build, archer, bow_build } = next;
    choose({ next: id, arrow_build, archer: archer || choices.archer, bow_build: bow_build || choices.bow_build });
  }
  slot(root, "plan").hidden = !(next.words || next.wait);
  say(root, "plan-words", next.wait || next.words || "");
  root.querySelector("[data-skip]").hidden = !next.place;
}

async function skip() {
  const one = next;
  await following.skip(one);
  update();
  undo.offer(`Planned shot ${one.place} skipped`, async () => { await following.skip(one, "no"); update(); });
}

function turnTo(arrows, now) {
  const at = Math.max(0, arrows.indexOf(now));
  return [...arrows.slice(at), ...arrows.slice(0, at)];
}

function drawWalk(here) {
  const walk = seen.walkOpen(here.id);
  const shots = walk ? seen.shotsOfWalk(walk.id) : [];
  slot(root, "walk-box").hidden = !shots.length;
  if (!shots.length) return;
  say(root, "walk", `Walk ${seen.walkNumber(walk)}, loosed so far`);
  fillRows(slot(root, "shots"), [...shots].reverse().map((one) => shotRow(one, "/range/butt")));
}

const WHERE = { book: "in the book", phone: "on this phone", needs: "needs you" };

/** A shot as a row: label, what was loosed, where it is kept. */
export function shotRow(one, page, more = {}) {
  const speed = one.speed && !one.speed.struck && one.speed.said.value ? [/[a-z]/i.test(one.speed.said.value) ? one.speed.said.value : `${one.speed.said.value}\u00a0m/s`] : [];
  const kind = one.said.purpose === "counted" ? [] : [wordOf("range-loose", "purpose", one.said.purpose).toLowerCase()];
  return row({
    mark: one.said.label, words: `${one.by}, ${one.bow}, arrow ${one.tag}`, href: `${page}#shot=${one.id}`, id: one.id, need: one.state === "needs" || Boolean(same.askedOf(one.id)),
    struck: one.struck, small: [same.askedOf(one.id), ...kind, ...speed, one.struck ? "struck through" : "", WHERE[one.state]].filter(Boolean).join(", "), ...more,
  });
}

export function show(place) {
  root = copy("range-line");
  place.replaceChildren(root);
  root.addEventListener("submit", (event) => { event.preventDefault(); loose(); });
  root.querySelector("[data-skip]").addEventListener("click", skip);
  root.addEventListener("change", (event) => {
    const { name, value } = event.target;
    if (name === "small") exclude(event.target);
    else if (["setup", "archer", "bow_build", "arrow_build"].includes(name)) {
      choose({ [name]: value });
      wrong(event.target.closest("fieldset, .field"), "");
    }
    update();
  });
  root.addEventListener("input", () => {
    loosedAt = -TWICE_MS; // something was chosen or typed since: the next tap is another arrow
    look();
    drafts.keep("line", draft);
  });
  drafts.kept("line").then((was) => { if (was) refill(was); update(); });
  update();
  return { update, keys, title: () => `${slot(root, "label").textContent} · Line` };
}

const speedBox = () => root.querySelector("[name=speed]");
const look = () => wrong(speedBox().closest(".field"), speedTrouble(speedBox().value));
const small = () => [...root.querySelectorAll("[name=small]:checked")].map((one) => one.value);
const draft = () => ({ speed: speedBox().value, small: small() });

function refill(was) {
  speedBox().value = was.speed;
  for (const key of root.querySelectorAll("[name=small]")) key.checked = was.small.includes(key.value);
  if (was.speed) look();
}

/** A let-down flies nowhere, so it is neither a sighter nor a misread one. */
function exclude(key) {
  const off = key.value === "let_down" ? ["sighter", "misread", "short_draw"] : ["let_down"];
  for (const other of root.querySelectorAll("[name=small]")) if (key.checked && off.includes(other.value)) other.checked = false;
}

function update() {
  const here = setup();
  if (!here) return;
  const { told } = seen.seen();
  cautions.show(slot(root, "caution"), "line", here.session);
  const box = slot(root, "setup-box");
  box.hidden = seen.setups().length < 2;
  fillSelect(box.querySelector("select"), seen.setups().map((one) => [one.id, `${one.panel_name}${one.distance ? `, ${one.distance}` : ""}, ${dayWords(one.day)}`]), here.id);
  say(root, "label", nextLabel());
  follow(here);
  const bows = used(told.bows, here.bows, "bow");
  fillChoice(root.querySelector("#line-archer").closest("fieldset"), told.archers.map((one) => ({ value: one.id, words: one.name })), only(told.archers, "id", choices.archer));
  fillChoice(root.querySelector("#line-bow").closest("fieldset"), bows.map((one) => ({ value: one.build, words: one.label, unseen: one.label === one.name ? "" : `, ${one.name}` })), only(bows, "build", choices.bow_build));
  drawArrows(here);
  drawWalk(here);
  document.dispatchEvent(new CustomEvent("range:keys"));
}

/** What is chosen, or the one there is. */
const only = (all, key, now) => (all.some((one) => one[key] === now) ? now : all.length === 1 ? all[0][key] : undefined);

export function fillSelect(select, options, now) {
  const same = JSON.stringify(options);
  if (select.dataset.same !== same) {
    select.replaceChildren(...options.map(([value, words]) => new Option(words, value)));
    select.dataset.same = same;
  }
  if (now !== undefined) select.value = now;
}

function keys() {
  const here = setup();
  if (!here) return [];
  const walk = seen.walkOpen(here.id);
  const went = small();
  const words = went.includes("let_down") ? "Let down" : went.includes("sighter") ? "Loosed, a sighter" : "Loosed";
  const all = [{ words, main: true, act: loose }];
  if (walk && seen.shotsOfWalk(walk.id).length) all.push({ words: "We’re at the butt", act: () => atButt(here).then(() => document.dispatchEvent(new CustomEvent("range:go", { detail: "/range/butt" }))) });
  return all;
}

/** The walk is over: every open one of this set-up, whoever's phone began it. */
export async function atButt(here) {
  const open = [...seen.seen().walks.values()].filter((one) => one.said.setup === here.id && !one.struck && !one.said.at_butt_at);
  const went = open.filter((one) => seen.shotsOfWalk(one.id).length);
  if (went.length) await queue.add(went.map((one) => ({ noun: "walk", record_id: one.id, base_rev: one.rev, body: { at_butt_at: bookTime() }, about: one.id, words: "the walk’s end" })));
}

function asked() {
  const picks = { archer: chosen(root, "archer"), bow_build: chosen(root, "bow_build"), arrow_build: chosen(root, "arrow_build") };
  const say_ = { archer: "Who loosed it?", bow_build: "With which bow?", arrow_build: "Which arrow?" };
  const at = { archer: "#line-archer", bow_build: "#line-bow", arrow_build: "#line-arrow" };
  let first = null;
  for (const [name, value] of Object.entries(picks)) {
    const box = root.querySelector(at[name]).closest("fieldset");
    wrong(box, value ? "" : say_[name]);
    if (!value) first = first || box;
  }
  if (first) first.querySelector("input").focus();
  return first ? null : picks;
}

async function loose() {
  const picks = !busy && performance.now() - loosedAt >= TWICE_MS && asked();
  if (!picks) return;
  busy = true;
  loosedAt = performance.now();
  try {
    await log(setup(), picks);
  } catch (error) {
    loosedAt = -TWICE_MS; // it was not saved, so the next tap is no second one
    throw error;
  } finally {
    busy = false;
  }
}

async function log(here, picks) {
  const went = small();
  const id = newId();
  const label = nextLabel();
  const before = seen.walkOpen(here.id);
  const walk = before ? before.id : newId();
  const others = before ? seen.shotsOfWalk(walk) : [];
  const { letter } = seen.seen().told.phone;
  const body = { label, walk, ...picks, purpose: went.includes("let_down") ? "let_down" : went.includes("sighter") ? "sighter" : "counted", loosed_at: bookTime() };
  if (went.includes("short_draw")) body.short_draw = "yes";
  if (next.place && body.purpose === "counted" && picks.arrow_build === next.arrow_build && picks.archer === (next.archer || picks.archer)) body.planned_shot = next.id;
  // The order is known while one phone alone logs the walk; with two it is asked, not guessed.
  if (others.every((one) => one.letter === letter)) body.position = others.length + 1;
  const made = [{ noun: "shot", record_id: id, body, about: id, words: label }];
  if (!before) made.unshift({ noun: "walk", record_id: walk, body: { setup: here.id, begun_at: bookTime() }, about: id, words: `${label}, its walk` });
  const speed = speedBox().value.trim();
  if (speed || went.includes("misread")) {
    const said = { shot: id, method: "chronograph", ...(speed ? { value: speed } : {}), ...(went.includes("misread") ? { left_out_reason: "misread" } : {}) };
    made.push({ noun: "speed_reading", record_id: newId(), body: said, about: id, words: `${label}, speed` });
  }
  await queue.add(made);
  const arrow = picks.arrow_build;
  const after = body.purpose === "let_down" ? arrow : nextSound(used(seen.seen().arrows, here.arrows, "arrow"), arrow)?.build;
  await choose({ ...picks, setup: here.id, arrow_build: after });
  speedBox().value = "";
  for (const key of root.querySelectorAll("[name=small]")) key.checked = false;
  wrong(speedBox().closest(".field"), "");
  await drafts.drop("line");
  const who = seen.seen().told.archers.find((one) => one.id === picks.archer)?.name;
  const did = body.purpose === "let_down" ? "let down" : "loosed";
  undo.offer(`${label} ${did} by ${who}, ${clockWords(Date.now())}`, async () => {
    await queue.add([{ action: "strike", noun: "shot", record_id: id, reason: "undone at once", about: id, words: `${label}, undone` }]);
    await choose({ arrow_build: arrow });
    aloud(`${label} undone`);
    update();
  });
  update();
}
