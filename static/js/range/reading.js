// One shot's reading: the form opened, kept while half filled, saved on this phone.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as drafts from "./drafts.js";
import * as undo from "./undo.js";
import * as where from "./where.js";
import { bookTime } from "./clock.js";
import { newId } from "./ids.js";
import { bindPlace } from "./place.js";
import { proposed } from "./way_in.js";
import { bindLoose } from "./loose.js";
import { bindPictures } from "./picture_box.js";
import { asBody, differences, fillForm, formState, troubles } from "./reading_form.js";
import { aloud, chosen, copy, rungNames, say, slot, wrong } from "./drawn.js";
import { rungWords } from "./words.js";

const WHERE = { phone: "Saved on this phone, not yet in the book.", needs: "The book did not take all of it: see “needs you”." };
const IN_THE_WAY = { place: "[data-touch]", outcome_low: ".ladder", why: "[name=why]", fair_reason: "[name=fair_reason]" };

/** Open a shot in `box`. `saved` is called after a save with the shot; gives { id, save, close }. */
export async function openReading(box, id, { bench = false, saved }) {
  const shot = seen.shot(id);
  const setup = seen.seen().setups.get(shot.setup);
  const form = copy("range-reading-view");
  const said = shot.reading ? shot.reading.said : {};
  // A reading that was undone comes back as it was said, to be mended: nothing of it counts until it is saved again.
  const fresh = !shot.reading || shot.reading.struck;
  say(form, "title", shot.said.label);
  say(form, "loose", `${shot.by}, ${shot.bow}, arrow ${shot.tag}${shot.struck ? ", struck through" : ""}`);
  say(form, "panel", `${setup.panel_words}, from the front`);
  say(form, "state", [WHERE[shot.state], ...shot.warnings.map((one) => one.sentence)].filter(Boolean).join(" "));
  slot(form, "state").hidden = !slot(form, "state").textContent;
  showWays(form, setup);
  fillOthers(form, shot);
  fillForm(form, { hit: "fair_target", ...said, outcome_high: said.outcome_high === said.outcome_low ? "" : said.outcome_high });
  let byHand = Boolean(said.way_in);
  const hits = seen.hitsOn(shot.panel, id);
  const place = bindPlace(form, setup, shot.said.label, (now) => {
    wrongPlace(form, "");
    if (!byHand && Number.isFinite(now.x) && Number.isFinite(now.y)) propose(form, proposed(setup, now, hits, place.outline(), place.view));
    keepDraft();
  });
  const was = await drafts.kept(`reading ${id}`);
  if (was) {
    fillForm(form, was.state);
    byHand = was.byHand;
  }
  box.replaceChildren(form);
  place.redraw(hits);
  place.say(was ? was.unknown : said.place_known === "no");
  showFor(form);
  if (bench) for (const box of [slot(form, "more"), form.querySelector(".butt__more:nth-of-type(2)")]) box.open = true;
  bindLoose(slot(form, "loose-form"), shot, () => saved(shot));
  const unbind = bindPictures(slot(form, "pictures"), { record: id, label: shot.said.label });
  const open = { id, form, close: () => { drafts.flushAll(); unbind(); form.remove(); }, save };

  function keepDraft() {
    drafts.keep(`reading ${id}`, () => ({ state: formState(form), unknown: place.place().unknown, byHand }));
  }

  form.addEventListener("input", (event) => {
    if (event.target.closest("[data-loose], [data-pictures]")) return;
    if (event.target.name === "way_in") byHand = true;
    // At the bench the rear is in sight: a rung tapped there is the answer, unless "or" is said anew.
    if (bench && event.target.name === "outcome_low") fillForm(form, { outcome_high: "", look_behind: "" });
    const control = event.target.closest(".choice, .ladder, .field");
    if (control) wrong(control, "");
    showFor(form);
    keepDraft();
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); save(); });

  async function save() {
    if (open.busy || !checked(form, place.place())) return;
    open.busy = true;
    const body = asBody(form, { unknown: place.place().unknown, bench });
    const now = seen.shot(id); // somebody may have read it meanwhile: their rev is not what was seen here
    const changed = differences(body, fresh && !shot.reading ? {} : said);
    const about = { about: id, words: `${shot.said.label}, its reading` };
    const made = [];
    if (shot.reading?.struck) made.push({ ...about, action: "unstrike", noun: "shot_reading", record_id: id, reason: "read again" });
    if (Object.keys(changed).length) made.push({ ...about, noun: "shot_reading", record_id: id, base_rev: shot.reading?.rev ?? 0, body: changed });
    made.push(...incident(form, shot, setup, body), ...walkEnd(now));
    try {
      if (made.length) await queue.add(made);
      await drafts.drop(`reading ${id}`);
    } finally {
      open.busy = false;
    }
    const words = body.hit === "fair_target" ? rungWords(rungNames(), body.outcome_low, body.outcome_high) : outcome(form);
    if (made.length) offerBack(shot, said, { fresh, changed, words });
    saved(shot);
  }
  return open;
}

function offerBack(shot, said, { fresh, changed, words }) {
  const about = { about: shot.id, words: `${shot.said.label}, its reading` };
  undo.offer(`${shot.said.label}: ${words.toLowerCase()}`, async () => {
    if (fresh) {
      await queue.add([{ ...about, action: "strike", noun: "shot_reading", record_id: shot.id, reason: "undone at once" }]);
    } else {
      const back = Object.fromEntries(Object.keys(changed).map((name) => [name, said[name] ?? null]));
      await queue.add([{ ...about, noun: "shot_reading", record_id: shot.id, base_rev: seen.shot(shot.id).reading.rev, body: back, reason: "undone at once" }]);
    }
    aloud(`Reading of ${shot.said.label} undone`);
    document.dispatchEvent(new CustomEvent("range:go", { detail: `${where.place()}#shot=${shot.id}` }));
  });
}

const outcome = (form) => {
  const key = form.querySelector("[name=hit]:checked").closest("label").cloneNode(true);
  key.querySelector(".tools-unseen")?.remove();
  return key.textContent.trim();
};

function incident(form, shot, setup, body) {
  const tick = form.querySelector("[name=incident]");
  if (body.arrow_did !== "bounced" || !tick.checked || tick.dataset.written) return [];
  tick.dataset.written = "yes";
  const said = { session: setup.session, shot: shot.id, what: "bounce_back", at: bookTime() };
  if (body.bounced) said.distance = body.bounced;
  const done = form.querySelector("[name=incident_done]").value.trim();
  if (done) said.done = done;
  return [{ noun: "incident", record_id: newId(), body: said, about: shot.id, words: `${shot.said.label}, the bounce` }];
}

/** Whoever reads a shot has walked forward: a walk that nobody ended is over. */
function walkEnd(shot) {
  const walk = seen.seen().walks.get(shot.said.walk);
  if (!walk || walk.said.at_butt_at) return [];
  return [{ noun: "walk", record_id: walk.id, base_rev: walk.rev, body: { at_butt_at: bookTime() }, about: shot.id, words: "the walk’s end" }];
}

function showWays(form, setup) {
  for (const input of form.querySelectorAll("[name=way_in], [name=touched_first]")) {
    if (input.value && !setup.ways.includes(input.value)) input.closest("label").remove();
  }
}

function propose(form, way) {
  for (const input of form.querySelectorAll("[name=way_in]")) input.checked = input.value === way;
  form.querySelector("[name=way_in]").closest("fieldset").querySelector("legend").textContent = "Way in, proposed from the spot";
}

function fillOthers(form, shot) {
  const session = seen.seen().setups.get(shot.setup).session;
  const others = seen.shotsHere().filter((one) => one.id !== shot.id && !one.struck && seen.seen().setups.get(one.setup).session === session);
  form.querySelector("[name=may_be_shot]").append(...others.slice(-40).reverse().map((one) => new Option(`${one.said.label}, arrow ${one.tag}`, one.id)));
}

/** Only what the ending has: a miss has no rung. */
function showFor(form) {
  const hit = chosen(form, "hit");
  const target = hit === "fair_target";
  form.querySelector(".ladder").hidden = !target;
  slot(form, "figure").hidden = hit === "missed";
  form.querySelector("#reading-way_in").closest("fieldset").hidden = hit === "missed";
  slot(form, "why").hidden = target;
  slot(form, "incident").hidden = chosen(form, "arrow_did") !== "bounced";
  form.querySelector("[name=bounced]").closest(".field").hidden = chosen(form, "arrow_did") !== "bounced";
}

function wrongPlace(form, words) {
  const place = slot(form, "where-wrong");
  place.textContent = words;
  place.hidden = !words;
}

function checked(form, place) {
  const found = troubles(form, place);
  for (const [name, sentence] of found) {
    if (name === "place") wrongPlace(form, sentence);
    else wrong(form.querySelector(IN_THE_WAY[name]).closest(".choice, .ladder, .field"), sentence);
  }
  if (!found.length) return true;
  const first = form.querySelector(IN_THE_WAY[found[0][0]]);
  for (let box = first.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
  const target = first.matches(".ladder") ? first.querySelector("input") : first;
  target.focus();
  aloud(found.map(([, sentence]) => sentence).join(" "));
  return false;
}
