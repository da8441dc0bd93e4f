// What was said when it was loosed: corrected with a reason, struck through with a reason, or put back.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import { newId } from "./ids.js";
import { aloud, chosen, copy, wrong } from "./drawn.js";

export function bindLoose(box, shot, saved) {
  const form = copy("range-loose");
  const { told, arrows } = seen.seen();
  const speed = shot.speed && !shot.speed.struck ? shot.speed : null;
  const said = { short_draw: "", position: "", note: "", ...shot.said };
  const control = (name) => form.querySelector(`[name="${name}"]`);
  const options = {
    archer: [told.archers.map((one) => [one.id, one.name]), shot.by],
    bow_build: [told.bows.map((one) => [one.build, `${one.label}, ${one.name}`]), shot.bow],
    arrow_build: [arrows.map((one) => [one.build, one.tag]), shot.tag],
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
  control("speed").value = speed?.said.value ?? "";
  control("left_out_reason").value = speed?.said.left_out_reason ?? "";
  const strike = form.querySelector("[data-strike]");
  strike.textContent = shot.struck ? "Put it back" : "Strike it through";
  form.querySelector("[data-correct]").disabled = shot.struck;

  const about = { about: shot.id, words: `${shot.said.label}, corrected` };

  function why() {
    const reason = control("reason").value.trim();
    wrong(control("reason").closest(".field"), reason ? "" : "Say why, in a few words, for example: wrong arrow picked.");
    if (!reason) control("reason").focus();
    return reason;
  }

  function changes(reason) {
    const body = {};
    for (const name of ["archer", "bow_build", "arrow_build", "position", "note"]) {
      const value = control(name).value.trim();
      if (value !== String(said[name])) body[name] = value || null;
    }
    if (chosen(form, "purpose") !== said.purpose) body.purpose = chosen(form, "purpose");
    if (control("short_draw").checked !== (said.short_draw === "yes")) body.short_draw = control("short_draw").checked ? "yes" : "no";
    const made = Object.keys(body).length ? [{ ...about, noun: "shot", record_id: shot.id, base_rev: shot.rev, body, reason }] : [];
    return [...made, ...speedChange(reason)];
  }

  function speedChange(reason) {
    const now = { value: control("speed").value.trim(), left_out_reason: control("left_out_reason").value.trim() };
    const was = { value: speed?.said.value ?? "", left_out_reason: speed?.said.left_out_reason ?? "" };
    const body = Object.fromEntries(Object.entries(now).filter(([name, value]) => value !== was[name]).map(([name, value]) => [name, value || null]));
    if (!Object.keys(body).length) return [];
    if (speed && !now.value && !now.left_out_reason) return [{ ...about, action: "strike", noun: "speed_reading", record_id: speed.id, reason }];
    const op = speed ? { record_id: speed.id, base_rev: speed.rev, body } : { record_id: newId(), body: { shot: shot.id, method: "chronograph", ...body } };
    return [{ ...about, noun: "speed_reading", reason, ...op }];
  }

  form.querySelector("[data-correct]").addEventListener("click", async () => {
    const reason = why();
    const made = reason && changes(reason);
    if (!made) return;
    if (made.length) await queue.add(made);
    aloud(made.length ? `${shot.said.label} corrected, saved on this phone` : "Nothing was changed");
    saved();
  });
  strike.addEventListener("click", async () => {
    const reason = why();
    if (!reason) return;
    await queue.add([{ ...about, action: shot.struck ? "unstrike" : "strike", noun: "shot", record_id: shot.id, reason }]);
    aloud(`${shot.said.label} ${shot.struck ? "put back" : "struck through"}, saved on this phone`);
    saved();
  });
  box.replaceChildren(form);
}
