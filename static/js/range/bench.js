// The bench: the hits that still have to be checked from behind, by panel, and every arrow that flew since it was last found sound.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import { showCautions } from "./stop.js";
import * as thumb from "./thumb.js";
import * as where from "./where.js";
import { bookTime, newId } from "./clock.js";
import { openReading } from "./reading.js";
import { setup } from "./which_panel.js";
import { readRow } from "./butt.js";
import { bindPhotos } from "./photo_box.js";
import { aloud, copy, fillRows, glyph, say, slot, wordOf } from "./drawn.js";
import { count } from "./words.js";

let root = null;
let open = null;

export function show(place, wanted) {
  root = copy("range-bench-view");
  place.replaceChildren(root);
  open = null;
  root.addEventListener("click", (event) => {
    const key = event.target.closest("[data-sound]");
    if (key) check(key.closest("[data-row]").dataset.row, key.dataset.sound);
  });
  if (seen.shot(wanted)) read(wanted);
  slot(root, "close").href = `${where.place()}#held`;
  const unbind = bindPhotos(slot(root, "photos"), {});
  update();
  return { update, keys, leave: () => { unbind(); if (open) open.close(); }, title: () => (open ? `${open.label} · Bench` : "Bench") };
}

async function read(id) {
  open = { id, label: seen.shot(id).said.label, close() {}, save() {} };
  const made = await openReading(slot(root, "reading"), id, { bench: true, saved: next });
  if (open?.id !== id) return made.close();
  open = made;
  update();
  slot(made.form, "title").focus({ preventScroll: true });
  made.form.scrollIntoView({ block: "start" });
}

function next(shot) {
  open.close();
  open = null;
  where.closed();
  const left = seen.toCheckFromBehind().filter((one) => one.id !== shot.id);
  const same = left.find((one) => one.panel === shot.panel) || left[0];
  if (same) read(same.id);
  else slot(root, "title").focus();
  update();
}

async function check(build, sound) {
  const arrow = seen.seen().arrows.find((one) => one.build === build);
  const id = newId();
  const about = { noun: "arrow_check", record_id: id, about: id, words: `arrow ${arrow.tag}, checked` };
  await queue.add([{ ...about, body: { arrow_build: build, sound, at: bookTime() } }]);
  const words = sound === "sound" ? "sound" : "not sound";
  aloud(`Arrow ${arrow.tag}: ${words}, saved on this phone`);
  thumb.offer(`Arrow ${arrow.tag}: ${words}`, () => queue.add([{ ...about, action: "void", reason: "undone at once" }]));
  slot(root, "title").focus({ preventScroll: true });
}

function update() {
  if (!seen.seen() || !setup()) return;
  showCautions(slot(root, "caution"), "bench", setup().session);
  const shots = seen.toCheckFromBehind();
  const arrows = seen.arrowsToCheck();
  say(root, "lead", [
    shots.length ? `${count(shots.length, "shot still has", "shots still have")} to be checked from behind.` : "No shot has to be checked from behind.",
    arrows.length ? `Check ${count(arrows.length, "arrow before it flies", "arrows before they fly")} again.` : "No arrow has to be checked.",
  ].join(" "));
  drawPanels(shots);
  slot(root, "arrows-box").hidden = !arrows.length;
  fillRows(slot(root, "arrows"), arrows.map(arrowRow));
  document.dispatchEvent(new CustomEvent("range:keys"));
}

function drawPanels(shots) {
  const setups = seen.seen().setups;
  const panels = [...new Set(shots.map((one) => one.panel))];
  const box = slot(root, "panels");
  const same = panels.join();
  if (box.dataset.same !== same) {
    box.replaceChildren(...panels.map(() => copy("range-bench-panel")));
    box.dataset.same = same;
  }
  panels.forEach((panel, n) => {
    const part = box.children[n];
    const some = shots.filter((one) => one.panel === panel);
    say(part, "panel", setups.get(some[0].setup).panel_words);
    fillRows(slot(part, "shots"), some.map(rearRow));
  });
}

function rearRow(shot) {
  const said = seen.readingOf(shot);
  const depth = said.depth ? `${said.depth_bound === "at_least" ? "≥ " : ""}${/[a-z"]/.test(said.depth) ? said.depth : `${said.depth}\u00a0mm`}` : "";
  const how = said.depth_method ? wordOf("range-reading-view", "depth_method", said.depth_method).toLowerCase() : "";
  const made = readRow(shot, "/range/bench");
  made.classList.add("row--need");
  const small = [depth, how, said.damage].filter(Boolean).join(", ");
  if (small) say(made, "small", small);
  return made;
}

function arrowRow(arrow) {
  const made = copy("range-bench-arrow");
  const shot = arrow.last_shot && seen.shot(arrow.last_shot);
  const panel = shot && seen.seen().setups.get(shot.setup);
  made.dataset.row = arrow.build;
  say(made, "mark", arrow.tag);
  say(made, "words", "Flex it and look");
  say(made, "small", [arrow.grounded_by ? `not sound as ${seen.shot(arrow.grounded_by)?.said.label ?? "its last shot"} was read` : "", shot && panel ? `last shot ${shot.said.label} at ${panel.panel_name}` : "", `${count(arrow.shots, "shot", "shots")} since made`].filter(Boolean).join(", "));
  slot(made, "head").append(glyph(`head-${arrow.form}`));
  return made;
}

function keys() {
  if (open) return [{ words: open.words || `Save ${open.label}`, main: true, act: () => open && open.save() }];
  const first = seen.toCheckFromBehind()[0];
  if (!first) return [{ words: "To the line", main: true, act: () => document.dispatchEvent(new CustomEvent("range:go", { detail: "/range" })) }];
  const panel = seen.seen().setups.get(first.setup);
  return [{ words: `Turn ${panel.panel_name} round, start with ${first.said.label}`, main: true, act: () => read(first.id) }];
}
