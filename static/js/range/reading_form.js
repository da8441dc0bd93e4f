// The controls of a reading <-> the body of an operation. Only what differs from what was said is sent.
// Checking from behind asks three things: what came through, how deep, save. All else of a reading is folded beneath.

import { chosen, copy, say, slot } from "./drawn.js";
import { lengthWords, putTyped, typedIn } from "./words.js";

export const FIELDS = [
  "hit", "why", "x", "y", "place_known", "touched_first", "entry", "plate", "layers", "angle", "outcome_low", "outcome_high", "rear_check",
  "depth", "depth_bound", "depth_method", "reached", "back_face", "arrow_did", "bounced", "head_fate", "shaft_fate", "damage",
  "may_be_shot", "certainty", "fair_overrule", "fair_reason", "note",
];
const ONLY_ON_TARGET = ["outcome_low", "outcome_high", "rear_check", "depth", "depth_bound", "depth_method", "reached", "back_face"];
const AT_LEAST = /^\s*(?:≥|>=|>)\s*/;

const controls = (form, name) => [...form.querySelectorAll(`[name="${name}"]`)].filter((one) => !one.closest("[data-correction]"));

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
    else state[name] = typedIn(some[0]);
  }
  return state;
}

export function fillForm(form, state) {
  for (const [name, value] of Object.entries(state)) {
    for (const one of controls(form, name)) {
      if (one.type === "radio") one.checked = one.value === String(value ?? "");
      else if (one.type === "checkbox") one.checked = Array.isArray(value) ? value.includes(one.value) : value === "yes";
      else if (one.matches("input")) putTyped(one, value ?? "");
      else one.value = value ?? "";
    }
  }
}

/** The whole of what the form says, in the words of an operation. `bench`: somebody has checked it from behind now. */
export function asBody(form, { unknown, bench }) {
  const body = formState(form);
  if (unknown) body.place_known = "no";
  else if (body.x || body.y) body.place_known = "yes";
  else body.place_known = "";
  if (AT_LEAST.test(body.depth)) {
    body.depth = body.depth.replace(AT_LEAST, "");
    body.depth_bound = "at_least";
  }
  if (!body.depth) body.depth_bound = ""; // a bound of nothing says nothing
  if (body.outcome_low) body.outcome_high = body.outcome_high || body.outcome_low;
  if (Number(body.outcome_high) < Number(body.outcome_low)) [body.outcome_low, body.outcome_high] = [body.outcome_high, body.outcome_low];
  if (body.hit !== "on_panel") for (const name of ONLY_ON_TARGET) body[name] = "";
  else if (bench) body.rear_check = body.rear_check || "no";
  if (body.hit === "missed") body.entry = "";
  if (body.hit === "on_panel") body.why = "";
  return body;
}

const plain = (value) => (Array.isArray(value) ? JSON.stringify(value) : String(value ?? ""));
const empty = (value) => value === "" || value === undefined || (Array.isArray(value) && !value.length);

/** What an operation has to carry: only the differences; null empties a field. */
export function differences(body, said) {
  const changed = {};
  for (const [name, value] of Object.entries(body)) {
    if (empty(value) && empty(said[name])) continue;
    // "Not checked from behind" is said by leaving the tick away; a "no" of the bench stays.
    if (name === "rear_check" && empty(value) && said[name] === "no") continue;
    if (plain(value) !== plain(said[name])) changed[name] = empty(value) ? null : value;
  }
  return changed;
}

/** What stands in the way of saving: [field, sentence], in the order of the page. */
export function troubles(form, place) {
  const hit = chosen(form, "hit");
  const said = formState(form);
  const found = [];
  if (hit === "on_panel" && !place.unknown && !said.x && !said.y) found.push(["place", "Tap where it hit, or choose “Can’t tell”."]);
  else if (Boolean(said.x) !== Boolean(said.y)) found.push(["place", "Enter both: how far right and how far up."]);
  else if (["on_panel", "partial"].includes(hit)) found.push(...offThePanel(place));
  if (hit === "on_panel" && !said.outcome_low) found.push(["outcome_low", "Choose what it did. Not sure? Choose the lower level here and the higher one under More."]);
  if (hit === "on_panel" && said.outcome_low && said.outcome_high && Math.abs(said.outcome_high - said.outcome_low) > 1) found.push(["outcome_high", "Choose two levels next to each other, for example 3 or 4."]);
  if (hit === "spoiled" && !said.why) found.push(["why", "Enter what spoiled it, for example: hit the frame."]);
  if (said.fair_overrule && !said.fair_reason) found.push(["fair_reason", "Enter why you overrule, in a few words."]);
  return found;
}

/** A place measured from the edge, or with a digit too many, lies beside the panel; the book would refuse it. */
function offThePanel({ x, y, farthest = [] }) {
  const off = [[x, farthest[0], x < 0 ? "left of" : "right of"], [y, farthest[1], y < 0 ? "below" : "above"]].find(([at, most]) => most && Math.abs(at) > most);
  if (!off) return [];
  return [["place", `${lengthWords(off[0])} ${off[2]} the middle is off this panel. Measure from the middle. If the panel’s size in the book is wrong, correct it on the laptop; until then choose “Can’t tell”.`]];
}

/** The levels that a check from behind chooses between: those behind the rear face, and what the butt said before it. */
function likely({ outcome_low: low, outcome_high: high }) {
  const said = [0, 1, 2, 3].filter((n) => low !== undefined && n >= Number(low) && n <= Number(high ?? low));
  return new Set([5, 4, ...(said.length ? said : [3])]);
}

/** Arrange an open reading for the bench. `said`: what the butt said of it. */
export function arrange(form, label, said) {
  const part = copy("range-bench-three");
  const outcomes = form.querySelector(".outcomes");
  const rest = [...form.children].filter((one) => !one.matches(".butt__title, [data-slot=state]"));
  slot(part, "rest-in").append(...rest);
  say(part, "rest-words", `More about ${label}`);
  outcomes.querySelector("legend").textContent = "1 What came through?";
  slot(part, "behind").append(outcomes);
  const bound = part.querySelector("[name=depth_bound]").closest("fieldset");
  bound.querySelector("[value='']").closest("label").hidden = true;
  slot(part, "deep").append(part.querySelector("[name=depth]").closest(".field"), bound);
  const some = likely(said);
  for (const key of outcomes.querySelectorAll("input")) key.closest("label").hidden = !some.has(Number(key.value));
  slot(part, "all").addEventListener("click", () => {
    for (const key of outcomes.querySelectorAll("label")) key.hidden = false;
    slot(part, "all-box").hidden = true;
    outcomes.querySelector("input").focus();
  });
  form.append(part);
}
