// The line: one tap logs a shot with the last choices, and the next sound arrow stands ready.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as drafts from "./kept.js";
import { showCautions } from "./stop.js";
import * as same from "./same.js";
import * as stop from "./stop.js";
import * as thumb from "./thumb.js";
import * as following from "./next.js";
import * as speed from "./speed.js";
import * as which from "./which_panel.js";
import { shotRow } from "./butt.js";
import { against, drawArrows, nextSound, ready, stillOut, whichArrow, withAllowed } from "./arrow_keys.js";
import { bookTime, newId } from "./clock.js";
import { choices, choose } from "./kept.js";
import { aloud, chosen, copy, fillChoice, fillRows, say, slot, wordOf, wrong } from "./drawn.js";
import { clockWords } from "./words.js";

const TWICE_MS = 500; // the second tap of a cold thumb: nobody looses two arrows within half a second
const { setup } = which;
const MOST_LABELS = 4; // of the end so far, in one line; the rows beneath have all
let next = {}; // what the plan or the rule says
let busy = false;
let loosedAt = -TWICE_MS;
let root = null;
let boxes = {}; // the three choices by name: found once, since a list may be empty for a while

const used = (all, ids, key) => (ids.length ? all.filter((one) => ids.includes(one[key])) : all);
const bowsAt = (here) => used(seen.seen().told.bows, here.bows, "bow");
/** Those that the trial uses, and the one that its plan names all the same. */
function arrowsAt(here) {
  const some = used(seen.seen().arrows, here.arrows, "arrow");
  return [...some, ...seen.seen().arrows.filter((one) => one.build === next.arrow_build && !some.includes(one))];
}

/** The highest number of this phone's labels that is known here. */
function highestLabel() {
  const { phone } = seen.seen().told;
  const own = new RegExp(`^${phone.letter}(\\d+)$`);
  const labels = [...[...seen.seen().shots.values()].map((one) => one.said.label), ...queue.held().map((op) => op.body.label)];
  const numbers = labels.map((label) => own.exec(label || "")).filter(Boolean).map((found) => Number(found[1]));
  return Math.max(phone.highest, 0, ...numbers);
}

const nextLabel = () => seen.seen().told.phone.letter + (highestLabel() + 1);

function drawNext(here) {
  const arrows = arrowsAt(here);
  const now = ready(arrows, choices().arrow_build, choices().arrow_meant);
  drawArrows(root, boxes.arrow_build, arrows, now);
  const short = root.querySelector("[name=small][value=let_down]").checked ? "" : "when the line is clear";
  const meant = next.arrow_build === now?.build;
  say(root, "next", now ? `Next: arrow ${now.tag},${meant && next.aim ? ` ${next.aim},` : ""}` : "No sound arrow left:");
  drawPlan(now);
  say(root, "when", now ? (now.state === "to_check" ? `once it is ${stillOut(now, here) ? "fetched and checked" : "checked"}` : short || "let down") : "check one at the bench");
}

/** What comes next is picked once a shot; whoever picks another arrow for this one is told, and not contradicted. */
function follow(here) {
  next = following.following(here);
  if (next.id && next.id !== choices().next) {
    const { id, arrow_build, archer, bow_build } = next;
    if (choices().bow_build && bow_build && bow_build !== choices().bow_build) aloud([next.words, next.change].filter(Boolean).join(", "));
    choose({ next: id, arrow_build, arrow_meant: true, archer: archer || choices().archer, bow_build: bow_build || choices().bow_build });
  }
}

const isMeant = (picks) => picks.arrow_build === next.arrow_build && picks.archer === (next.archer || picks.archer);

function drawPlan(now) {
  const picked = { arrow_build: now?.build, archer: chosen(root, "archer") || next.archer };
  const bow = chosen(root, "bow_build");
  const meant = isMeant(picked) && (!next.bow_build || !bow || bow === next.bow_build);
  slot(root, "plan").hidden = !(next.words || next.wait);
  say(root, "plan-words", next.wait || (meant ? next.words : next.otherwise) || "");
  say(root, "plan-change", meant && next.change ? `, ${next.change}` : "");
  say(root, "plan-waits", next.waiting || "");
  root.querySelector("[data-skip]").hidden = !next.place;
}

async function skip() {
  const one = next;
  await following.skip(one);
  update();
  thumb.offer(`Planned shot ${one.place} skipped`, async () => { await following.skip(one, "no"); update(); });
}

function drawShootingEnd(here) {
  const shootingEnd = seen.shootingEndOpen(here.id);
  const shots = shootingEnd ? seen.shotsOfShootingEnd(shootingEnd.id) : [];
  slot(root, "end-box").hidden = !shots.length;
  if (!shots.length) return;
  const labels = shots.map((one) => one.said.label);
  const some = labels.length > MOST_LABELS ? ["…", ...labels.slice(-MOST_LABELS)] : labels;
  say(root, "end", `End ${seen.shootingEndNumber(shootingEnd)} so far: ${some.join(" ")}`);
  // The same shot from two phones is asked about at the butt; here its row says so, and stands open for that.
  const asked_ = shots.filter((one) => same.askedOf(one.id)).map((one) => one.id).join();
  if (asked_ && slot(root, "end-box").dataset.asked !== asked_) slot(root, "end-box").open = true;
  slot(root, "end-box").dataset.asked = asked_;
  fillRows(slot(root, "shots"), [...shots].reverse().map((one) => shotRow(one, "/range/butt")));
}

export function show(place) {
  root = copy("range-line");
  boxes = Object.fromEntries([["archer", "archer"], ["bow_build", "bow"], ["arrow_build", "arrow"]]
    .map(([name, id]) => [name, root.querySelector(`#line-${id}`).closest("fieldset")]));
  for (const box of Object.values(boxes)) box.tabIndex = -1; // where the hand is led when it holds no key
  place.replaceChildren(root);
  root.addEventListener("submit", (event) => { event.preventDefault(); loose(); });
  root.querySelector("[data-skip]").addEventListener("click", skip);
  root.addEventListener("change", (event) => {
    const { name, value } = event.target;
    thumb.drop();
    if (name === "small") exclude(event.target);
    else if (name === "setup") goTo(value);
    else if (["archer", "bow_build", "arrow_build", "speed_unit"].includes(name)) {
      choose({ [name]: value, ...(name === "arrow_build" ? { arrow_meant: true } : {}) });
      if (name !== "speed_unit") wrong(event.target.closest("fieldset, .field"), "");
    }
    update();
  });
  root.addEventListener("input", () => {
    loosedAt = -TWICE_MS; // something was chosen or typed since: the next tap is another arrow
    drafts.keep("line", draft);
  });
  for (const name of ["news-go", "news-stay"]) slot(root, name).addEventListener("click", ({ currentTarget }) => { goTo(currentTarget.dataset.to); boxes.archer.focus({ preventScroll: true }); });
  slot(root, "stop-back").addEventListener("click", async () => { await stop.allBack(); update(); });
  speed.bind(root, update);
  drafts.kept("line").then((was) => { if (was) refill(was); update(); });
  which.settle();
  update();
  return { update, keys, leave: thumb.drop, title: () => `${slot(root, "label").textContent} · Line` };
}

/** The set-up that was picked stands from here on, and whatever was said of others is known. */
function goTo(id) {
  which.pick(id);
  slot(root, "setups").open = false;
  update();
  aloud(`This phone logs to ${setup().panel_name}`);
}

const typedSpeed = () => root.querySelector("[name=speed]");
const small = () => [...root.querySelectorAll("[name=small]:checked")].map((one) => one.value);
const draft = () => ({ speed: typedSpeed().value, small: small() });

function refill(was) {
  typedSpeed().value = was.speed;
  for (const key of root.querySelectorAll("[name=small]")) key.checked = was.small.includes(key.value);
  speed.look(root);
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
  showCautions(slot(root, "caution"), "line", here.session);
  drawSetup(here);
  say(root, "label", nextLabel());
  stop.show(root, { label: nextLabel(), panel: here.panel_name });
  if (stop.stopped()) thumb.drop(); // nobody shoots: whatever was asked of the next shot is over
  follow(here);
  const bows = bowsAt(here);
  fillChoice(boxes.archer, told.archers.map((one) => ({ value: one.id, words: one.name })), only(told.archers, "id", choices().archer));
  fillChoice(boxes.bow_build, bows.map((one) => ({ value: one.build, words: one.label, unseen: one.label === one.name ? "" : `, ${one.name}` })), only(bows, "build", choices().bow_build));
  fillChoice(slot(root, "unit"), Object.keys(UNIT_WORDS).map((one) => ({ value: one, words: one, unseen: UNIT_WORDS[one] })), speed.unit());
  drawNext(here);
  drawOdd();
  drawLast();
  for (const [name, box_] of Object.entries(boxes)) if (chosen(root, name)) wrong(box_, "");
  drawShootingEnd(here);
  document.dispatchEvent(new CustomEvent("range:keys"));
}

const UNIT_WORDS = { "m/s": ", metres a second", fps: ", feet a second" };

/** The panel in the same type as the label, what it is under it, and the way to another; in its place what is news of set-ups. */
function drawSetup(here) {
  const name = slot(root, "panel");
  say(root, "panel", here.panel_name);
  name.dataset.long = here.panel_name.length > 10 ? "more" : here.panel_name.length > 4 ? "some" : "no";
  const told = which.showNews(root);
  const alone = seen.setups().length < 2;
  for (const [part, shown] of [["setup-alone", !told && alone], ["setups", !told && !alone]]) {
    slot(root, part).hidden = !shown;
    say(root, `${part}-words`, which.underName(here));
  }
  say(root, "older", here.older || "");
  slot(root, "older").hidden = !here.older;
  fillChoice(slot(root, "setups").querySelector("fieldset"), seen.setups().map((one) => ({ value: one.id, words: which.pickWords(one) })), here.id);
}

/** What is unusual about this shot stands on the fold, so that nothing is chosen out of sight. */
function drawOdd() {
  const words = small().map((one) => wordOf("range-line", "small", one).split(":")[0].toLowerCase());
  say(root, "odd-words", words.length ? `This shot: ${words.join(", ")}` : [slot(root, "others").dataset.words, "unusual shot"].filter(Boolean).join(", ").replace(/^u/, "U"));
}

/** The last shot of this phone, with its way back until the next one: it outlives a reload, and a walk to the butt. */
function drawLast() {
  const { last } = choices();
  const shot = last && seen.shot(last.id);
  const of = `shot ${last?.id}`;
  const stands = shot && !shot.voided && !seen.isRead(shot);
  if (!stands && thumb.stands() === of) thumb.clear();
  if (stands && !thumb.stands()) thumb.offer(last.words, () => takeBack(last), { key: `Undo ${last.label}`, of });
}

async function takeBack({ id, label, arrow }) {
  await queue.add([{ action: "void", noun: "shot", record_id: id, reason: "undone at once", about: id, words: `${label}, undone` }]);
  await choose({ arrow_build: arrow, arrow_meant: true, last: null });
  aloud(`${label} undone`);
  update();
}

/** What is chosen, or the one there is. */
const only = (all, key, now) => (all.some((one) => one[key] === now) ? now : all.length === 1 ? all[0][key] : undefined);

function keyWords() {
  const went = small();
  return went.includes("let_down") ? "Let down" : went.includes("sighter") ? "Loosed, a sighter" : "Loosed";
}

function keys() {
  const here = setup();
  if (!here) return [];
  const shootingEnd = seen.shootingEndOpen(here.id);
  const words = keyWords();
  const forward = () => stop.atButt(here).then(() => document.dispatchEvent(new CustomEvent("range:go", { detail: "/range/butt" })));
  if (stop.stopped()) return stop.keys({ redraw: update, forward, label: nextLabel() });
  const all = [{ words, main: true, act: () => loose() }];
  if (shootingEnd && seen.shotsOfShootingEnd(shootingEnd.id).length) all.push({ words: "We’re at the butt", act: forward });
  return all;
}

/** Who, with which bow, which arrow; or null, with what is missing said beside it. */
function asked(here) {
  const { told } = seen.seen();
  const say_ = {
    archer: told.archers.length ? "Choose who loosed it." : "No archer is in the book. Add one under Kit; then log the shot.",
    bow_build: bowsAt(here).length ? "Choose a bow." : "No bow is in the book for this trial. Add one under Kit; then log the shot.",
    arrow_build: whichArrow(arrowsAt(here)),
  };
  const picks = Object.fromEntries(Object.keys(say_).map((name) => [name, chosen(root, name)]));
  const missing = Object.keys(say_).filter((name) => !picks[name]);
  for (const name of missing) wrong(boxes[name], say_[name]);
  if (!missing.length) return picks;
  const first = boxes[missing[0]];
  (first.querySelector("input:not(:disabled)") || first).focus();
  aloud(`Not logged. ${missing.map((name) => say_[name]).join(" ")}`);
  return null;
}

/** Ends in a saved shot, in a question or in a sentence; the second tap of a cold thumb belongs to the first. `yes`: what was answered. */
async function loose(yes = {}) {
  if (busy || performance.now() - loosedAt < TWICE_MS) return;
  const here = setup();
  if (!here) thumb.note("No set-up is open any more: this shot was not logged. Look at the trial on the laptop.");
  const picks = here && asked(here);
  if (!picks || questioned(here, picks, yes)) return;
  busy = true;
  loosedAt = performance.now();
  try {
    await log(here, picks, yes);
  } catch (error) {
    loosedAt = -TWICE_MS; // it was not saved, so the next tap is no second one
    throw error;
  } finally {
    busy = false;
  }
}

/** Whether something has to be answered first: an arrow not checked or not fetched, a speed that no arrow has. */
function questioned(here, picks, yes) {
  const arrows = arrowsAt(here);
  const asks = !yes.arrow && !small().includes("let_down") && against(arrows.find((one) => one.build === picks.arrow_build), arrows, here, seen.shootingEndOpen(here.id));
  const logged = `${nextLabel()} ${keyWords().toLowerCase()}`;
  if (asks) {
    const another = () => (boxes.arrow_build.querySelector("input:checked") || boxes.arrow_build.querySelector("input:not(:disabled)"))?.focus();
    thumb.ask({ ...asks, keys: [{ words: "Choose another", main: true, act: another }, { words: `Yes, ${logged}`, act: () => loose({ ...yes, arrow: asks.kind }) }] });
    return true;
  }
  const strange = yes.speed === undefined && speed.asks(root, { logged, misread: small().includes("misread"), log: (said) => loose({ ...yes, speed: said }) });
  if (strange) thumb.ask(strange);
  return Boolean(strange);
}

async function log(here, picks, yes) {
  const went = small();
  const id = newId();
  const shown = nextLabel();
  const before = seen.shootingEndOpen(here.id);
  const shootingEnd = before ? before.id : newId();
  const others = before ? seen.shotsOfShootingEnd(shootingEnd) : [];
  const { letter } = seen.seen().told.phone;
  const body = { label: shown, shooting_end: shootingEnd, ...picks, purpose: went.includes("let_down") ? "let_down" : went.includes("sighter") ? "sighter" : "counted", loosed_at: bookTime() };
  if (went.includes("short_draw")) body.short_draw = "yes";
  if (next.place && body.purpose === "counted" && isMeant(picks)) body.planned_shot = next.id;
  // The order is known while one phone alone logs the end; with two it is asked, not guessed.
  if (others.every((one) => one.letter === letter)) body.position = others.length + 1;
  const made = [{ noun: "shot", record_id: id, body, about: id, words: shown }];
  if (!before) made.unshift({ noun: "shooting_end", record_id: shootingEnd, body: { setup: here.id, begun_at: bookTime() }, about: id, words: `${shown}, its end` });
  const value = yes.speed ?? speed.said(typedSpeed().value.trim(), speed.unit());
  if (value || went.includes("misread")) {
    const said = { shot: id, method: "chronograph", ...(value ? { value } : {}), ...(went.includes("misread") ? { left_out_reason: "misread" } : {}) };
    made.push({ noun: "speed_reading", record_id: newId(), body: said, about: id, words: `${shown}, speed` });
  }
  const label = await queue.addShot(made, letter, highestLabel());
  stop.logged();
  const arrow = picks.arrow_build;
  const after = body.purpose === "let_down" ? arrow : nextSound(arrowsAt(here), arrow)?.build;
  const who = seen.seen().told.archers.find((one) => one.id === picks.archer)?.name;
  const did = body.purpose === "let_down" ? " let down" : "";
  const last = { id, label, arrow, words: `${label}${did} by ${who}, ${clockWords(Date.now())}` };
  thumb.clear();
  // After each shot, planned or not, what comes next is picked again; a let-down is to be loosed yet.
  await choose({
    ...picks, setup: here.id, arrow_build: after, arrow_meant: body.purpose === "let_down", last, ...(yes.arrow ? { allowed: withAllowed(shootingEnd, yes.arrow) } : {}),
    ...(body.purpose === "let_down" ? {} : { next: null }),
  });
  typedSpeed().value = "";
  for (const key of root.querySelectorAll("[name=small]")) key.checked = false;
  slot(root, "odd").open = false;
  speed.look(root);
  await drafts.drop("line");
  update();
}
