// What needs a person: an operation that the book refused, with what was typed; one field that two people said
// differently, with who said what when. Nothing of it holds up the rest.
// What an operation points to and the book has not, as after a restore: the end it belongs to, its arrow, its set-up.
// Another is picked here, or an end is begun again under its own name; every other operation that lacks the same goes along.

import * as queue from "./queue.js";
import * as photos from "./photos.js";
import * as seen from "./seen.js";
import * as where from "./where.js";
import { needs } from "./strip.js";
import { aloud, copy, fillSelect, outcomeNames, say, slot } from "./drawn.js";
import { clockWords, count, millimetres, placeWords } from "./words.js";
import { bookTime } from "./clock.js";
import { ends, NEW_END, pickWords } from "./which_panel.js";

let root = null;
let drawn = "";

export function show(place) {
  root = copy("range-needs-view");
  place.replaceChildren(root);
  slot(root, "back").href = where.place();
  drawn = "";
  update();
  slot(root, "title").focus();
  return { update, keys: () => [], title: () => "Needs you" };
}

function update() {
  const refused = queue.refused();
  const clashes = seen.clashes();
  const some = photos.refused();
  const renamed = queue.renamed();
  const same = JSON.stringify([refused.map((op) => op.op_id), renamed.map((op) => op.op_id), clashes.map((one) => one.key), some.map((one) => one.id)]);
  say(root, "lead", needs() ? `${count(needs(), "thing", "things")} to check` : "Nothing to check");
  fillPicks(root);
  if (same === drawn) return; // what somebody is typing here stays
  drawn = same;
  slot(root, "list").replaceChildren(...refused.map(refusal), ...renamed.map(otherLabel), ...some.map(noPhoto), ...clashes.map(clash));
}

function labelOf(name) {
  const field = name === "value" ? "speed" : name; // the own field of a speed is its value
  for (const template of ["range-reading-view", "range-shot"]) {
    const control = document.getElementById(template).content.querySelector(`[name="${field}"]`);
    const label = control && (control.closest("fieldset")?.querySelector("legend") || control.closest(".field").querySelector("label"));
    if (label) return label.firstChild.textContent.trim();
  }
  return field;
}

function refusal(op) {
  const part = copy("range-refused");
  say(part, "title", op.words);
  say(part, "sentence", op.problems.map((one) => one.sentence).join(" "));
  const fields = [...new Set(op.problems.map((one) => one.field))].filter((name) => typeof op.body[name] === "string" && (canBePicked(name) || !looksLikeId(op.body[name])));
  const lost = fields.filter((name) => looksLikeId(op.body[name]));
  const boxes = fields.map((name) => (lost.includes(name) ? pickBox(op, name) : typedBox(op, name)));
  if (boxes.length) slot(part, "boxes").append(...boxes);
  else slot(part, "boxes").remove();
  part.querySelector("[data-again]").addEventListener("click", async () => {
    const said = Object.fromEntries(boxes.map((box, n) => [fields[n], box.querySelector("input, select").value.trim()]));
    const typed = fields.filter((name) => !lost.includes(name) && said[name] !== op.body[name]).map((name) => [name, said[name]]);
    const picked = lost.filter((name) => said[name] !== KEEP).map((name) => [name, said[name]]);
    const also = await replaced(op, picked);
    const changed = Object.fromEntries([...typed, ...picked.map(([name, value]) => [name, madeOf(op, name, value)])]);
    await queue.mend(op.op_id, Object.keys(changed).length ? changed : null);
    aloud(`${op.words}: sent again${also ? `, and ${count(also, "other", "others")} with it` : ""}`);
  });
  part.querySelector("[data-discard]").addEventListener("click", () => {
    queue.letGo(op.op_id);
    aloud(`${op.words}: discarded`);
  });
  return part;
}

function otherLabel(op) {
  const part = copy("range-renamed");
  say(part, "title", `${op.body.label} has another label`);
  say(part, "sentence", op.answer.warnings.find((one) => one.field === "label").sentence);
  part.querySelector("[data-noted]").addEventListener("click", () => {
    queue.noted(op.op_id);
    aloud(`${op.body.label}: noted`);
  });
  return part;
}

function typedBox(op, name) {
  const box = copy("range-refused-typed");
  const input = box.querySelector("input");
  input.id = `typed-${name}-${op.op_id}`;
  box.querySelector("label").htmlFor = input.id;
  box.querySelector("label").textContent = `${labelOf(name)}, as typed`;
  input.value = op.body[name];
  return box;
}

function noPhoto(one) {
  const part = copy("range-refused");
  const words = `Photo of ${seen.shot(one.record)?.said.label ?? "no shot yet"}`;
  say(part, "title", words);
  say(part, "sentence", one.sentence);
  slot(part, "boxes").remove();
  part.querySelector("[data-again]").addEventListener("click", () => { photos.tryAgain(one.id); aloud(`${words}: sent again`); });
  part.querySelector("[data-discard]").addEventListener("click", () => { photos.letGo(one.id); aloud(`${words}: discarded`); });
  return part;
}

const looksLikeId = (text) => /^[0-9a-f]{8}-[0-9a-f]{4}-/.test(text);

function inWords(field, value) {
  if (value === null || value === undefined || value === "") return "nothing";
  if (field === "outcome_low" || field === "outcome_high") return outcomeNames()[Number(value)];
  const listed = Array.isArray(value) ? value : [value];
  if (!listed.length) return "nothing";
  return listed.map((one) => {
    if (looksLikeId(String(one))) return nameOf(one);
    const input = document.getElementById("range-reading-view").content.querySelector(`[name="${field}"][value="${CSS.escape(String(one))}"]`);
    return input ? input.closest("label").textContent.trim() : String(one);
  }).join(", ");
}

/** A field as somebody reads it: "speed 52.6"; "" for what only says where the record belongs. */
export function said(field, value) {
  if (typeof value === "number" && value > 1e12) return "";
  const words = inWords(field, value);
  return words === OTHER ? "" : `${labelOf(field).toLowerCase()} ${words}`;
}

const OTHER = "another record";

function nameOf(id) {
  if (!seen.seen()) return OTHER;
  const { told, arrows } = seen.seen();
  const named = told.archers.find((one) => one.id === id)?.name || told.bows.find((one) => one.build === id)?.label || arrows.find((one) => one.build === id)?.tag;
  return named || seen.shot(id)?.said.label || OTHER;
}

/** Both halves of a place, also where the two people agree on one of them. */
function placeOf(fields, side, shot) {
  const half = (name) => millimetres(fields.find((one) => one.field === name)?.[side].say ?? shot?.reading?.said[name]);
  return placeWords(half("x"), half("y"));
}

const WHAT = { place: "where it hit", outcome: "what it did" };

function clash({ what, noun, record, fields }) {
  const part = copy("range-clash");
  const shot = noun === "speed_reading" ? [...seen.seen().shots.values()].find((one) => one.speed?.id === record) : seen.shot(record);
  const words = (side) => (what === "place" ? placeOf(fields, side, shot) : [...new Set(fields.map((one) => inWords(one.field, one[side].say)))].join(" or "));
  const about = WHAT[what] || labelOf(fields[0].field).toLowerCase();
  say(part, "title", `${shot ? shot.said.label : "A record"}: ${about}`);
  const side = (name) => `${fields[0][name].who}${fields[0][name].at ? `, ${clockWords(fields[0][name].at)}` : ""}: ${words(name)}`;
  say(part, "sentence", "Two people entered different answers. The first counts until you choose.");
  for (const name of ["stands", "offered"]) {
    const key = part.querySelector(`[data-pick="${name}"]`);
    key.textContent = side(name);
    key.addEventListener("click", () => pick({ noun, record, fields, name, shot, about }));
  }
  return part;
}

async function pick({ noun, record, fields, name, shot, about }) {
  const body = Object.fromEntries(fields.map((one) => [one.field, one[name].say]));
  const rev = noun === "shot_reading" ? shot.reading.rev : noun === "speed_reading" ? shot.speed.rev : shot ? shot.rev : 0;
  const words = `${shot ? shot.said.label : "a record"}, ${about}`;
  await queue.add([{ noun, record_id: record, base_rev: rev, body, reason: "picked between two answers", about: record, words, settles: fields.map((one) => one.id) }]);
  aloud(`${words}: picked, saved on this phone`);
}

export const KEEP = "keep"; // nothing picked: it is sent as it was, and may be there by now
const NONE = ["", "None: leave it empty"];
const NAMES = { shooting_end: "End", setup: "Set-up", arrow_build: "Arrow", bow_build: "Bow", archer: "Loosed by", aim: "Aimed at", planned_shot: "Planned shot", may_be_shot: "May be the hit of" };

/** Whether another can be picked for this field; a reading just waits for its shot. */
export const canBePicked = (name) => name in NAMES;

const OPTIONS = {
  shooting_end: ends,
  setup: () => seen.setups().map((one) => [one.id, pickWords(one)]),
  arrow_build: () => seen.seen().arrows.map((one) => [one.build, [one.tag, one.head].filter(Boolean).join(", ")]),
  bow_build: () => seen.seen().told.bows.map((one) => [one.build, [one.weight && `${one.weight} lb`, one.name].filter(Boolean).join(", ")]),
  archer: () => seen.seen().told.archers.map((one) => [one.id, one.name]),
};

/** The same lack in other refused operations. */
const alike = (op, name) => queue.refused().filter((one) => one.op_id !== op.op_id && one.body[name] === op.body[name] && one.problems.some((problem) => problem.field === name));

/** A list to pick another from. */
export function pickBox(op, name) {
  const box = copy("range-refused-lost");
  const select = box.querySelector("select");
  select.id = `lost-${name}-${op.op_id}`;
  select.dataset.lost = name;
  const others = alike(op, name).length;
  box.querySelector("label").htmlFor = select.id;
  box.querySelector("label").textContent = (NAMES[name] || name) + (others ? `, also for ${count(others, "other", "others")} that lack it` : "");
  fillPick(select);
  return box;
}

function fillPick(select) {
  const name = select.dataset.lost;
  const now = select.value || KEEP;
  const options = [[KEEP, "Wait for the other phone"], ...(OPTIONS[name] ? OPTIONS[name]() : [NONE])];
  fillSelect(select, options, options.some(([value]) => value === now) ? now : KEEP);
}

/** What the book learned meanwhile can be picked too. */
export function fillPicks(root) {
  if (seen.seen()) for (const select of root.querySelectorAll("[data-lost]")) fillPick(select);
}

/** What the operation says instead: the end that was lost is begun again under the id that its shots give. */
export const madeOf = (op, name, value) => (name === "shooting_end" && value.startsWith(NEW_END) ? op.body.shooting_end : value || null);

/** Begin the lost end again, and send along whatever lacks the same; gives how many that were. */
export async function replaced(op, picked) {
  const also = new Map();
  for (const [name, value] of picked) {
    for (const one of alike(op, name)) also.set(one.op_id, { ...also.get(one.op_id), [name]: madeOf(one, name, value) });
    if (name === "shooting_end" && value.startsWith(NEW_END)) {
      const began = op.body.loosed_at || bookTime();
      await queue.add([{ noun: "shooting_end", record_id: op.body.shooting_end, body: { setup: value.slice(NEW_END.length), begun_at: began }, about: op.about, words: `${op.words}, its end` }]);
    }
  }
  for (const [id, body] of also) await queue.mend(id, body);
  return also.size;
}
