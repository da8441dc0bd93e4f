// The controls of a reading <-> the body of an operation. Only what differs from what was said is sent.

import { chosen } from "./drawn.js";

export const FIELDS = [
  "hit", "why", "x", "y", "place_known", "touched_first", "way_in", "plate", "layers", "angle", "outcome_low", "outcome_high", "look_behind",
  "depth", "depth_bound", "depth_method", "reached", "back_face", "arrow_did", "bounced", "head_fate", "shaft_fate", "damage",
  "may_be_shot", "certainty", "fair_overrule", "fair_reason", "note",
];
const ONLY_ON_TARGET = ["outcome_low", "outcome_high", "look_behind", "depth", "depth_bound", "depth_method", "reached", "back_face"];
const AT_LEAST = /^\s*(?:≥|>=|>)\s*/;

const controls = (form, name) => [...form.querySelectorAll(`[name="${name}"]`)].filter((one) => !one.closest("[data-loose]"));

/** What stands in the form: field -> text, word or list; "" and [] where nothing was said. */
export function formState(form) {
  const state = {};
  for (const name of FIELDS) {
    const some = controls(form, name);
    if (!some.length) continue;
    const { type } = some[0];
    if (type === "radio") state[name] = some.find((one) => one.checked)?.value ?? "";
    else if (type === "checkbox" && some.length > 1) state[name] = some.filter((one) => one.checked).map((one) => one.value);
    else if (type === "checkbox") state[name] = some[0].checked ? "yes" : "";
    else state[name] = some[0].value.trim();
  }
  return state;
}

export function fillForm(form, state) {
  for (const [name, value] of Object.entries(state)) {
    for (const one of controls(form, name)) {
      if (one.type === "radio") one.checked = one.value === String(value ?? "");
      else if (one.type === "checkbox") one.checked = Array.isArray(value) ? value.includes(one.value) : value === "yes";
      else one.value = value ?? "";
    }
  }
}

/** The whole of what the form says, in the words of an operation. `bench`: somebody has looked behind now. */
export function asBody(form, { unknown, bench }) {
  const body = formState(form);
  if (unknown) body.place_known = "no";
  else if (body.x || body.y) body.place_known = "yes";
  else body.place_known = "";
  if (AT_LEAST.test(body.depth)) {
    body.depth = body.depth.replace(AT_LEAST, "");
    body.depth_bound = "at_least";
  }
  if (body.outcome_low) body.outcome_high = body.outcome_high || body.outcome_low;
  if (Number(body.outcome_high) < Number(body.outcome_low)) [body.outcome_low, body.outcome_high] = [body.outcome_high, body.outcome_low];
  if (body.hit !== "fair_target") for (const name of ONLY_ON_TARGET) body[name] = "";
  else if (bench) body.look_behind = body.look_behind || "no";
  if (body.hit === "missed") body.way_in = "";
  if (body.hit === "fair_target") body.why = "";
  return body;
}

const plain = (value) => (Array.isArray(value) ? JSON.stringify(value) : String(value ?? ""));
const empty = (value) => value === "" || value === undefined || (Array.isArray(value) && !value.length);

/** What an operation has to carry: only the differences; null empties a field. */
export function differences(body, said) {
  const changed = {};
  for (const [name, value] of Object.entries(body)) {
    if (empty(value) && empty(said[name])) continue;
    // "Not looked behind" is said by leaving the tick away; a "no" of the bench stays.
    if (name === "look_behind" && empty(value) && said[name] === "no") continue;
    if (plain(value) !== plain(said[name])) changed[name] = empty(value) ? null : value;
  }
  return changed;
}

/** What stands in the way of saving: [field, sentence], in the order of the page. */
export function troubles(form, place) {
  const hit = chosen(form, "hit");
  const said = formState(form);
  const found = [];
  if (hit === "fair_target" && !place.unknown && !said.x && !said.y) found.push(["place", "Tap where it struck, or say that you can’t tell."]);
  else if (Boolean(said.x) !== Boolean(said.y)) found.push(["place", "A place needs both: how far right and how far up."]);
  if (hit === "fair_target" && !said.outcome_low) found.push(["outcome_low", "Pick what it did. Not sure? Pick the lower rung, and the higher one under More."]);
  if (hit === "spoiled" && !said.why) found.push(["why", "Say what spoiled it, for example: struck the frame."]);
  if (said.fair_overrule && !said.fair_reason) found.push(["fair_reason", "Say why you overrule, in a few words."]);
  return found;
}
