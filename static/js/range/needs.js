// What needs a person: an operation that the book refused, with what was typed; one field that two people said
// differently, with who said what when. Nothing of it holds up the rest.

import * as queue from "./queue.js";
import * as pictures from "./pictures.js";
import * as seen from "./seen.js";
import * as where from "./where.js";
import { needs } from "./strip.js";
import { aloud, copy, rungNames, say, slot } from "./drawn.js";
import { clockWords, count } from "./words.js";

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
  const some = pictures.refused();
  const same = JSON.stringify([refused.map((op) => op.op_id), clashes.map((one) => one.key), some.map((one) => one.id)]);
  say(root, "title", needs() ? count(needs(), "thing needs you", "things need you") : "Nothing needs you");
  if (same === drawn) return; // what somebody is typing here stays
  drawn = same;
  slot(root, "list").replaceChildren(...refused.map(refusal), ...some.map(noPicture), ...clashes.map(clash));
}

function labelOf(name) {
  const field = name === "value" ? "speed" : name; // a speed's own field is its value
  for (const template of ["range-reading-view", "range-loose"]) {
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
  const field = op.problems.map((one) => one.field).find((name) => typeof op.body[name] === "string" && !looksLikeId(op.body[name]));
  const box = slot(part, "box");
  if (field) {
    const input = box.querySelector("input");
    input.id = `typed-${op.op_id}`;
    box.querySelector("label").htmlFor = input.id;
    box.querySelector("label").textContent = `${labelOf(field)}, as typed`;
    input.value = op.body[field];
  } else {
    box.remove();
  }
  part.querySelector("[data-again]").addEventListener("click", () => {
    const now = field && box.querySelector("input").value.trim();
    queue.mend(op.op_id, field && now !== op.body[field] ? { [field]: now } : null);
    aloud(`${op.words}: sent again`);
  });
  part.querySelector("[data-leave]").addEventListener("click", () => {
    queue.letGo(op.op_id);
    aloud(`${op.words}: left out`);
  });
  return part;
}

function noPicture(one) {
  const part = copy("range-refused");
  const words = `Picture of ${seen.shot(one.record)?.said.label ?? "no shot yet"}`;
  say(part, "title", words);
  say(part, "sentence", one.sentence);
  slot(part, "box").remove();
  part.querySelector("[data-again]").addEventListener("click", () => { pictures.tryAgain(one.id); aloud(`${words}: sent again`); });
  part.querySelector("[data-leave]").addEventListener("click", () => { pictures.letGo(one.id); aloud(`${words}: left out`); });
  return part;
}

const looksLikeId = (text) => /^[0-9a-f]{8}-[0-9a-f]{4}-/.test(text);

function inWords(field, value) {
  if (value === null || value === undefined || value === "") return "nothing";
  if (field === "outcome_low" || field === "outcome_high") return rungNames()[Number(value)];
  const listed = typeof value === "string" && value.startsWith("[") ? JSON.parse(value) : [value];
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

const WHAT = { place: "where it struck", rung: "what it did" };

function clash({ what, noun, record, fields }) {
  const part = copy("range-clash");
  const shot = noun === "speed_reading" ? [...seen.seen().shots.values()].find((one) => one.speed?.id === record) : seen.shot(record);
  const words = (side) => [...new Set(fields.map((one) => inWords(one.field, one[side].say)))].join(what === "place" ? " right, " : " or ") + (what === "place" ? " up" : "");
  const about = WHAT[what] || labelOf(fields[0].field).toLowerCase();
  say(part, "title", `${shot ? shot.said.label : "A record"}: ${about}`);
  const side = (name) => `${fields[0][name].who}${fields[0][name].at ? `, ${clockWords(fields[0][name].at)}` : ""}: ${words(name)}`;
  say(part, "sentence", "Two answers came in. The first stands until you pick.");
  for (const name of ["stands", "offered"]) {
    const key = part.querySelector(`[data-pick="${name}"]`);
    key.textContent = side(name);
    key.addEventListener("click", () => pick({ noun, record, fields, name, shot, about }));
  }
  return part;
}

async function pick({ noun, record, fields, name, shot, about }) {
  const body = Object.fromEntries(fields.map((one) => [one.field, value(one[name].say)]));
  const rev = noun === "shot_reading" ? shot.reading.rev : noun === "speed_reading" ? shot.speed.rev : shot ? shot.rev : 0;
  const words = `${shot ? shot.said.label : "a record"}, ${about}`;
  await queue.add([{ noun, record_id: record, base_rev: rev, body, reason: "picked between two answers", about: record, words, settles: fields.map((one) => one.id) }]);
  aloud(`${words}: picked, saved on this phone`);
}

const value = (said) => (typeof said === "string" && said.startsWith("[") ? JSON.parse(said) : said);
