// A shot as it was logged: corrected with a reason, crossed out with a reason, or put back.

import { newId } from "./clock.js";
import * as queue from "./queue.js";
import * as seen from "./seen.js";
import { aloud, chosen, copy, wrong } from "./drawn.js";
import { said as asTyped, split, strange } from "./speed.js";
import { NEW_END, ends } from "./which_panel.js";

export function bindCorrection(box, shot, saved) {
  const form = copy("range-shot");
  const { told, arrows } = seen.seen();
  const speed = shot.speed && !shot.speed.voided ? shot.speed : null;
  const said = { short_draw: "", position: "", note: "", ...shot.said };
  const control = (name) => form.querySelector(`[name="${name}"]`);
  const options = {
    archer: [told.archers.map((one) => [one.id, one.name]), shot.by],
    bow_build: [told.bows.map((one) => [one.build, `${one.label}, ${one.name}`]), shot.bow],
    arrow_build: [arrows.map((one) => [one.build, one.tag]), shot.tag],
    shooting_end: [ends(), "Its own end"],
  };
  for (const [name, [some, now]] of Object.entries(options)) {
    // The build that it was shot with may be an older one by now: it stays to be chosen.
    const all = some.some(([value]) => value === said[name]) ? some : [[said[name], now], ...some];
    control(name).replaceChildren(...all.map(([value, words]) => new Option(words, value)));
    control(name).value = said[name];
  }
  for (const key of form.querySelectorAll("[name=purpose]")) key.checked = key.value === said.purpose;
  form.querySelector('[name=purpose][value=""]').closest("label").remove();
  control("short_draw").checked = said.short_draw === "yes";
  control("position").value = said.position;
  control("note").value = said.note;
  const before = split(speed?.said.value);
  control("speed").value = before.text;
  for (const key of form.querySelectorAll("[name=shot_unit]")) key.checked = key.value === before.unit;
  control("left_out_reason").value = speed?.said.left_out_reason ?? "";
  const crossOut = form.querySelector("[data-cross-out]");
  crossOut.textContent = shot.voided ? "Put it back" : "Cross it out";
  form.querySelector("[data-correct]").disabled = shot.voided;

  const about = { about: shot.id, words: `${shot.said.label}, corrected` };

  function why() {
    const reason = control("reason").value.trim();
    wrong(control("reason").closest(".field"), reason ? "" : "Enter why, for example: wrong arrow picked.");
    if (!reason) control("reason").focus();
    return reason;
  }

  function changes(reason) {
    const body = {};
    for (const name of ["archer", "bow_build", "arrow_build", "shooting_end", "position", "note"]) {
      const value = control(name).value.trim();
      if (value !== String(said[name])) body[name] = value || null;
    }
    if (chosen(form, "purpose") !== said.purpose) body.purpose = chosen(form, "purpose");
    if (control("short_draw").checked !== (said.short_draw === "yes")) body.short_draw = control("short_draw").checked ? "yes" : "no";
    const begun = body.shooting_end ? moved(body) : [];
    const made = Object.keys(body).length ? [{ ...about, noun: "shot", record_id: shot.id, base_rev: shot.rev, body, reason }] : [];
    return [...begun, ...made, ...speedChange(reason)];
  }

  /** A shot that goes to another end loses its place in the order, at another panel also what it was aimed at; an end of its own is over. */
  function moved(body) {
    const picked = body.shooting_end;
    const isNew = picked.startsWith(NEW_END);
    const setup = isNew ? picked.slice(NEW_END.length) : seen.seen().shootingEnds.get(picked).said.setup;
    if (body.position === undefined && said.position !== "") body.position = null;
    if (said.aim && seen.seen().setups.get(setup)?.panel !== shot.panel) body.aim = null;
    if (!isNew) return [];
    body.shooting_end = newId();
    const at = shot.said.loosed_at;
    return [{ ...about, noun: "shooting_end", record_id: body.shooting_end, body: { setup, ...(at ? { begun_at: at, at_butt_at: at } : {}) } }];
  }

  function speedChange(reason) {
    const now = { value: asTyped(control("speed").value.trim(), chosen(form, "shot_unit")), left_out_reason: control("left_out_reason").value.trim() };
    if (now.value === asTyped(before.text, before.unit)) now.value = speed?.said.value ?? ""; // left as it was typed
    const was = { value: speed?.said.value ?? "", left_out_reason: speed?.said.left_out_reason ?? "" };
    const body = Object.fromEntries(Object.entries(now).filter(([name, value]) => value !== was[name]).map(([name, value]) => [name, value || null]));
    if (!Object.keys(body).length) return [];
    if (speed && !now.value && !now.left_out_reason) return [{ ...about, action: "void", noun: "speed_reading", record_id: speed.id, reason }];
    const op = speed ? { record_id: speed.id, base_rev: speed.rev, body } : { record_id: newId(), body: { shot: shot.id, method: "chronograph", ...body } };
    return [{ ...about, noun: "speed_reading", reason, ...op }];
  }

  form.querySelector("[data-correct]").addEventListener("click", async () => {
    const reason = why();
    const made = reason && changes(reason);
    if (!made) return;
    const strange_ = strange(control("speed").value, chosen(form, "shot_unit"));
    const kept = asTyped(before.text, before.unit) === asTyped(control("speed").value.trim(), chosen(form, "shot_unit"));
    wrong(control("speed").closest(".field"), strange_ && !strange_.keep && !kept ? strange_.words : "");
    if (strange_ && !strange_.keep && !kept) return control("speed").focus();
    if (made.length) await queue.add(made);
    aloud(made.length ? `${shot.said.label} corrected, saved on this phone` : "Nothing was changed");
    saved();
  });
  crossOut.addEventListener("click", async () => {
    const reason = why();
    if (!reason) return;
    await queue.add([{ ...about, action: shot.voided ? "unvoid" : "void", noun: "shot", record_id: shot.id, reason }]);
    aloud(`${shot.said.label} ${shot.voided ? "put back" : "crossed out"}, saved on this phone`);
    saved();
  });
  box.replaceChildren(form);
}
