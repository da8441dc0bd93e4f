// One shot's reading: the form opened, kept while half filled, saved on this phone.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as snapshot from "./snapshot.js";
import * as drafts from "./kept.js";
import * as thumb from "./thumb.js";
import * as where from "./where.js";
import { bookTime, newId } from "./clock.js";
import { arrange } from "./reading_form.js";
import { bindPlace } from "./place.js";
import { proposed } from "./place.js";
import { fitUnits } from "./words.js";
import { bindCorrection } from "./shot_correction.js";
import { bindPhotos } from "./photo_box.js";
import { asBody, differences, fillForm, formState, troubles } from "./reading_form.js";
import { aloud, chosen, copy, keyWords, outcomeNames, say, slot, wrong } from "./drawn.js";
import { outcomeWords } from "./words.js";

const WHERE = { phone: "Saved on this phone, not yet in the book.", needs: "The book did not take all of it: see “needs you”." };
const IN_THE_WAY = { place: "[data-touch]", outcome_low: ".outcomes", outcome_high: "[name=outcome_high]", why: "[name=why]", fair_reason: "[name=fair_reason]" };

/** In `box`, a shot of which only the hit is here, while the laptop is asked for the rest; its key asks again. */
function notHere(box, { id, said: { label } }) {
  const form = copy("range-earlier");
  say(form, "title", label);
  box.replaceChildren(form);
  const save = () => document.dispatchEvent(new CustomEvent("range:go", { detail: `${where.place()}#shot=${id}` }));
  return { id, label, words: "Ask the laptop again", form, close: () => form.remove(), save };
}

/** Open a shot in `box`. `saved` is called after a save with the shot; gives { id, save, close }. */
export async function openReading(box, id, { bench = false, saved }) {
  if (seen.shot(id).slim) {
    const asked = notHere(box, seen.shot(id));
    if (!(await snapshot.wantWhole(id))) {
      say(asked.form, "sentence", "Only its hit is on this phone, and the laptop does not answer now.");
      return asked;
    }
  }
  const shot = seen.shot(id);
  const setup = seen.seen().setups.get(shot.setup);
  const form = copy("range-reading-view");
  fitUnits(form);
  const said = shot.reading ? shot.reading.said : {};
  // A reading that was undone comes back as it was said, to be mended: nothing of it counts until it is saved again.
  const fresh = !shot.reading || shot.reading.voided;
  say(form, "title", shot.said.label);
  say(form, "shot", [
    `${endWords(shot)}on ${setup.panel_name}.`, `${shot.by}, ${shot.bow}, arrow ${shot.tag}${shot.voided ? ", crossed out" : ""}.`,
    bench && said.outcome_low !== undefined ? `At the butt: ${outcomeWords(outcomeNames(), said.outcome_low, said.outcome_high)}.` : "",
  ].join(" ").trim());
  say(form, "panel", `${setup.panel_words}, from the front`);
  say(form, "state", [WHERE[shot.state], ...shot.warnings.map((one) => one.sentence)].filter(Boolean).join(" "));
  slot(form, "state").hidden = !slot(form, "state").textContent;
  showEntries(form, setup);
  form.querySelector("[name=entry]").closest("fieldset").addEventListener("change", () => entryWords(form, ""));
  fillOthers(form, shot);
  // At the bench two levels are a question, not an answer: one of them is chosen there.
  const two = said.outcome_high !== said.outcome_low;
  fillForm(form, { hit: "on_panel", ...said, outcome_high: two && !bench ? said.outcome_high : "", ...(two && bench ? { outcome_low: "" } : {}) });
  if (bench) {
    arrange(form, shot.said.label, said);
    if (!said.depth_bound) fillForm(form, { depth_bound: "equal" });
  }
  let byHand = Boolean(said.entry);
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
  entryWords(form, byHand || !chosen(form, "entry") ? "" : "from the spot");
  place.say(was ? was.unknown : said.place_known === "no");
  showFor(form);
  bindCorrection(slot(form, "correction"), shot, () => saved(shot));
  const unbind = bindPhotos(slot(form, "photos"), { record: id, label: shot.said.label });
  const open = { id, label: shot.said.label, form, close: () => { drafts.flushAll(); unbind(); form.remove(); }, save };

  function keepDraft() {
    drafts.keep(`reading ${id}`, () => ({ state: formState(form), unknown: place.place().unknown, byHand }));
  }

  form.addEventListener("input", (event) => {
    if (event.target.closest("[data-correction], [data-photos]")) return;
    if (event.target.name === "entry") byHand = true;
    // At the bench the rear is in sight: an outcome tapped there is the answer, unless "or" is said again.
    if (bench && event.target.name === "outcome_low") fillForm(form, { outcome_high: "", rear_check: "" });
    const control = event.target.closest(".choice, .outcomes, .field");
    if (control) wrong(control, "");
    showFor(form);
    keepDraft();
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); save(); });

  async function save() {
    if (open.busy || !checked(form, { ...place.place(), farthest: setup.farthest })) return;
    open.busy = true;
    const body = asBody(form, { unknown: place.place().unknown, bench });
    const now = seen.shot(id) ?? shot; // somebody may have read it meanwhile, or its set-up was closed on the laptop
    const changed = differences(body, fresh && !shot.reading ? {} : said);
    const about = { about: id, words: `${shot.said.label}, its reading` };
    const made = [];
    if (shot.reading?.voided) made.push({ ...about, action: "unvoid", noun: "shot_reading", record_id: id, reason: "read again" });
    if (Object.keys(changed).length) made.push({ ...about, noun: "shot_reading", record_id: id, base_rev: shot.reading?.rev ?? 0, body: changed });
    made.push(...incident(form, shot, setup, body), ...closeOfEnd(now));
    try {
      if (made.length) await queue.add(made);
      await drafts.drop(`reading ${id}`);
    } finally {
      open.busy = false;
    }
    const words = body.hit === "on_panel" ? outcomeWords(outcomeNames(), body.outcome_low, body.outcome_high) : outcome(form);
    if (made.length) offerBack(shot, said, { fresh, changed, words });
    saved(shot);
  }
  return open;
}

function endWords(shot) {
  const end = seen.seen().shootingEnds.get(shot.said.shooting_end);
  return end ? `End ${seen.shootingEndNumber(end)}, ` : "";
}

function offerBack(shot, said, { fresh, changed, words }) {
  const about = { about: shot.id, words: `${shot.said.label}, its reading` };
  thumb.offer(`${shot.said.label}: ${words.toLowerCase()}`, async () => {
    if (fresh) {
      await queue.add([{ ...about, action: "void", noun: "shot_reading", record_id: shot.id, reason: "undone at once" }]);
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

/** Whoever reads a shot has walked forward: an end that nobody closed is over. */
function closeOfEnd(shot) {
  const shootingEnd = seen.seen().shootingEnds.get(shot.said.shooting_end);
  if (!shootingEnd || shootingEnd.said.at_butt_at) return [];
  return [{ noun: "shooting_end", record_id: shootingEnd.id, base_rev: shootingEnd.rev, body: { at_butt_at: bookTime() }, about: shot.id, words: "the close of an end" }];
}

function showEntries(form, setup) {
  for (const input of form.querySelectorAll("[name=entry], [name=touched_first]")) {
    if (input.value && !setup.entries.includes(input.value)) input.closest("label").remove();
  }
}

function propose(form, entry) {
  for (const input of form.querySelectorAll("[name=entry]")) input.checked = input.value === entry;
  entryWords(form, "from the spot");
}

/** The fold's one line: what is chosen, and whence it comes. */
function entryWords(form, from) {
  const picked = form.querySelector("[name=entry]:checked");
  say(form, "entry-words", picked?.value ? keyWords(picked) : "not recorded");
  say(form, "entry-from", picked?.value ? from : "");
}

function fillOthers(form, shot) {
  const session = seen.seen().setups.get(shot.setup).session;
  const others = seen.shotsHere().filter((one) => one.id !== shot.id && !one.voided && seen.seen().setups.get(one.setup).session === session);
  form.querySelector("[name=may_be_shot]").append(...others.slice(-40).reverse().map((one) => new Option(`${one.said.label}, arrow ${one.tag}`, one.id)));
}

/** Only what the ending has: a miss has no outcome. */
function showFor(form) {
  const hit = chosen(form, "hit");
  const target = hit === "on_panel";
  form.querySelector(".outcomes").hidden = !target;
  slot(form, "figure").hidden = hit === "missed";
  slot(form, "entry-box").hidden = hit === "missed";
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
    else wrong(form.querySelector(IN_THE_WAY[name]).closest(".choice, .outcomes, .field"), sentence);
  }
  if (!found.length) return true;
  const first = form.querySelector(IN_THE_WAY[found[0][0]]);
  for (let box = first.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
  const target = first.matches(".outcomes") ? first.querySelector("input") : first;
  target.focus();
  aloud(found.map(([, sentence]) => sentence).join(" "));
  return false;
}
