// The speed box: in the unit of the chronograph, which the phone remembers. What no arrow does is asked about, never guessed.

import { choices, choose } from "./kept.js";
import { say, slot } from "./drawn.js";
import { question } from "./thumb.js";
import { inchPound } from "./words.js";
import { speedRead } from "./words.js";

const SLOW_M_S = 20; // between these the speed of an arrow is ordinary: quantities/kinds.py, arrow_speed
const FAST_M_S = 90;
const MOST_M_S = 150; // the book takes no more
const OTHER = { "m/s": "fps", fps: "m/s" };

export const unit = () => choices().speed_unit || (inchPound() ? "fps" : "m/s");

/** As the book is told it: with its unit unless that is m/s, which a bare number means there. */
export const said = (text, unit_) => (text && /^[\d.,\s]+$/.test(text) && unit_ === "fps" ? `${text} fps` : text);

/** A stored speed for a box beside keys of its unit: { text, unit }. */
export function split(value = "") {
  const found = /^\s*([\d.,]+)\s*(m\/s|fps|ft\/s)\s*$/i.exec(value);
  if (!found) return { text: value, unit: "m/s" };
  return { text: found[1], unit: found[2].toLowerCase() === "m/s" ? "m/s" : "fps" };
}

/** What is strange about a typed speed: { words, other, keep }; null if nothing. `other`: the unit in which it would be ordinary.
 * `keep`: whether the book would take it all the same. */
export function strange(text, unit_) {
  if (!text.trim()) return null;
  const read = speedRead(said(text.trim(), unit_));
  if (read.trouble) return { words: read.trouble, other: "", keep: false, unread: true };
  const ordinary = (m_s) => m_s >= SLOW_M_S && m_s <= FAST_M_S;
  if (ordinary(read.m_s)) return null;
  const shown = `${read.number} ${read.unit}`;
  const other = OTHER[read.unit];
  const there = other && ordinary(speedRead(`${read.number} ${other}`).m_s) ? other : "";
  if (read.m_s === 0) return { words: `${shown} is not a speed.`, other: "", keep: false };
  const words = read.m_s > FAST_M_S ? "fast" : "slow";
  return { words: `${shown} is too ${words} for an arrow.`, fast: words === "fast", number: read.number, shown, other: there, keep: read.m_s <= MOST_M_S };
}

const SETTLES_MS = 400;

const boxOf = (root) => root.querySelector("[name=speed]");

/** `changed`: draw the line again, after its unit was changed here. */
export function bind(root, changed) {
  boxOf(root).addEventListener("input", () => look(root));
  // Not under the finger: a tap on the main key leaves the box first, and the page would move away before it lands.
  boxOf(root).addEventListener("change", () => setTimeout(() => { if (!question()) look(root, { left: true }); }, SETTLES_MS));
  slot(root, "speed-other").addEventListener("click", ({ currentTarget }) => {
    choose({ speed_unit: currentTarget.dataset.unit });
    boxOf(root).value = currentTarget.dataset.number;
    changed();
    look(root);
    boxOf(root).focus();
  });
  slot(root, "speed-again").addEventListener("click", () => again(root));
}

function again(root) {
  const box = boxOf(root);
  box.value = "";
  box.dispatchEvent(new Event("input", { bubbles: true }));
  box.focus();
}

/** Say what is strange. What is too slow may still be being typed: that is said once the box was left. */
export function look(root, { left = false } = {}) {
  const box = boxOf(root);
  const one = strange(box.value, unit());
  const shown = one && (left || one.fast || one.unread);
  const notice = slot(root, "speed-wrong");
  notice.hidden = !shown;
  box.setAttribute("aria-invalid", String(Boolean(shown)));
  if (!shown) return;
  say(root, "speed-words", one.words);
  const other = slot(root, "speed-other");
  other.hidden = !one.other;
  Object.assign(other.dataset, { unit: one.other, number: one.number });
  say(root, "speed-other", `${one.number} ${one.other}`);
}

/** What is asked before it is logged: { words, keys }, or null. `log`: with these words as the speed; "" for none. */
export function asks(root, { logged, misread, log }) {
  const text = boxOf(root).value.trim();
  const one = strange(text, unit());
  if (!one || (misread && one.keep)) return null; // a misread one is left out anyway
  slot(root, "speed-wrong").hidden = true; // it is asked at the thumb now
  const keys = [{ words: "Type again", act: () => again(root) }];
  if (one.other) {
    const takes = async () => { await choose({ speed_unit: one.other }); log(said(one.number, one.other)); };
    keys.unshift({ words: `${one.number} ${one.other}, ${logged}`, main: true, act: takes });
  } else keys[0].main = true;
  if (one.keep) keys.push({ words: `${one.shown} is right`, act: () => log(said(text, unit())) });
  else if (one.unread) keys.push({ words: `${logged}, speed as typed`, act: () => log(text) });
  else keys.push({ words: `${logged}, no speed`, act: () => log("") });
  return { words: one.words, keys };
}
