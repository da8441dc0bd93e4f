// "Add a photo", and those that are on this phone: of one shot, or of none yet, which can be placed from here.

import * as photos from "./photos.js";
import * as seen from "./seen.js";
import { aloud, copy, say, slot, wrong } from "./drawn.js";
import { clockWords } from "./words.js";

const MOST_SHOTS = 60;

/** Fill `box`; `record`: the shot, or none for the tray. Gives what is to be called when the box goes. */
export function bindPhotos(box, { record = "", label = "" }) {
  const part = copy("range-photos");
  const input = part.querySelector("input");
  const shown = new Map(); // photo id -> its row, so that a choice that is open stays open
  const title = part.querySelector("label");
  title.textContent = record ? `Add a photo of ${label}` : "Add a photo and choose its shot later";
  input.name = record ? "photo" : "photo_tray";
  input.id = title.htmlFor = `range-${input.name}`;
  input.addEventListener("change", async () => {
    const said = [];
    for (const file of input.files) said.push(await photos.add(file, { noun: "shot", record }));
    input.value = "";
    wrong(part.querySelector(".field"), said.filter(Boolean).join(" "));
    if (said.includes("")) aloud("Photo saved on this phone");
  });
  const draw = () => {
    const some = record ? photos.ofRecord(record) : photos.unplaced();
    for (const [id, one] of shown) {
      if (some.some((had) => had.id === id)) continue;
      URL.revokeObjectURL(slot(one, "thumb").src);
      one.remove();
      shown.delete(id);
    }
    for (const one of some) {
      if (!shown.has(one.id)) {
        shown.set(one.id, made(one, record));
        slot(part, "list").append(shown.get(one.id));
      }
      say(shown.get(one.id), "small", `${(one.bytes / 1e6).toFixed(1)} MB, ${photos.where(one)}`);
    }
    slot(part, "list").hidden = !shown.size;
  };
  document.addEventListener("range:queue", draw);
  box.replaceChildren(part);
  draw();
  return () => {
    document.removeEventListener("range:queue", draw);
    for (const one of shown.values()) URL.revokeObjectURL(slot(one, "thumb").src);
  };
}

function made(one, record) {
  const row = copy("range-photo-row");
  say(row, "words", `Taken ${clockWords(one.taken_at)}`);
  if (one.blob) slot(row, "thumb").src = URL.createObjectURL(one.blob);
  else slot(row, "thumb").remove();
  if (record) return row;
  const choice = copy("range-photo-of");
  const [select, title] = [choice.querySelector("select"), choice.querySelector("label")];
  select.id = title.htmlFor = `of-${one.id}`;
  const shots = seen.shotsHere().filter((shot) => !shot.voided).slice(-MOST_SHOTS).reverse();
  select.replaceChildren(new Option("—", ""), ...shots.map((shot) => new Option(`${shot.said.label}, ${shot.by}, arrow ${shot.tag}`, shot.id)));
  select.addEventListener("change", async () => {
    const shot = seen.shot(select.value);
    if (!shot) return;
    await photos.place(one.id, shot.id, shot.said.label);
    aloud(`Photo placed: ${shot.said.label}`);
  });
  slot(row, "end").append(choice);
  return row;
}
