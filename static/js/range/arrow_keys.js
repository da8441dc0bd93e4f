// The arrows as keys on the line: the one that comes next first, the sound ones in turn, those to check folded away. One that nobody
// has checked or fetched since it was shot is asked about before it is logged, once an end.

import * as seen from "./seen.js";
import { choices } from "./kept.js";
import { fillChoice, slot } from "./drawn.js";

const MOST_KEYS = 6; // more arrows than these fold away, so that Loosed stays under the thumb

/** The sound arrow after one, round and round; none when all are out or to check. */
export function nextSound(arrows, after) {
  const at = arrows.findIndex((one) => one.build === after);
  const turned = [...arrows.slice(at + 1), ...arrows.slice(0, at + 1)];
  return turned.find((one) => one.state === "sound" && one.build !== after);
}

/** The arrow that stands ready: the one that was picked, unless it was found not sound, or the next sound one. One that is to
 * check stands only if a hand or the plan picked it: the other phone may have shot the one that came next here. */
export function ready(arrows, picked, meant) {
  const one = arrows.find((arrow) => arrow.build === picked && arrow.state !== "not_sound");
  return one && (one.state === "sound" || meant) ? one : nextSound(arrows, picked);
}

/** Those that stand in sight. Where none is sound, those to check do: one may have been loosed all the same. */
function inSight(arrows, now) {
  if (arrows.length <= MOST_KEYS) return arrows;
  const sound = arrows.filter((one) => one.state === "sound" || one === now);
  const some = [sound, arrows.filter((one) => one.state === "to_check"), arrows].find((list) => list.length);
  const at = Math.max(0, some.indexOf(now));
  return [...some.slice(at), ...some.slice(0, at)].slice(0, MOST_KEYS - 1);
}

const asKey = (one) => ({
  value: one.build, glyph: one.state === "sound" ? `head-${one.form}` : "", need: one.state !== "sound", disabled: one.state === "not_sound",
  words: one.state === "sound" ? one.tag : `${one.tag}, ${one.state === "to_check" ? "to check" : "not sound"}`,
  unseen: one.state === "sound" ? `, ${one.head || one.form}` : "",
});

/** Draw them: `fieldset` holds those in sight, the slot "others" of `root` the rest, and how many they are for its fold. */
export function drawArrows(root, fieldset, arrows, now) {
  const first = inSight(arrows, now);
  const others = arrows.filter((one) => !first.includes(one));
  fillChoice(fieldset, first.map(asKey), now?.build);
  const box = slot(root, "others");
  box.hidden = !others.length;
  box.dataset.words = others.length ? `${others.length} more arrow${others.length === 1 ? "" : "s"}` : "";
  fillChoice(box.querySelector("fieldset"), others.map(asKey), now?.build);
}

/** What to say of a choice of arrow that nobody can make, or has not made. */
export function whichArrow(arrows) {
  if (!arrows.length) return "No arrow is in the book for this trial. Add one under Kit; then log the shot.";
  if (arrows.every((one) => one.state === "not_sound")) return "No arrow here is sound. Check one at the bench; then log the shot.";
  return "Choose an arrow.";
}

/** Whether an arrow is still at the butt, as far as this phone can tell: its end is open, and it was not read. */
export function stillOut(arrow, here) {
  const last = arrow.state === "to_check" && arrow.last_shot && seen.shot(arrow.last_shot);
  if (!last || last.voided || seen.isRead(last) || seen.seen().setups.get(last.setup)?.session !== here.session) return false;
  const end = seen.seen().shootingEnds.get(last.said.shooting_end);
  return Boolean(end) && !end.said.at_butt_at;
}

const listed = (tags) => (tags.length > 1 ? `${tags.slice(0, -1).join(", ")} and ${tags.at(-1)}` : tags[0]);

/** The question: { kind, words, more }, or null. `arrows`: all that may be picked; `end`: the open end or undefined. */
export function against(arrow, arrows, here, end) {
  if (arrow?.state !== "to_check") return null;
  const kind = stillOut(arrow, here) ? "out" : "unchecked";
  const { allowed } = choices();
  if (end && allowed?.end === end.id && allowed.kinds.includes(kind)) return null;
  const last = arrow.last_shot && seen.shot(arrow.last_shot)?.said.label;
  const since = last ? `since ${last}` : "since it was last shot";
  if (kind === "out") return { kind, words: `Arrow ${arrow.tag} was not fetched ${since}.`, more: "Shoot it all the same?" };
  const others = arrows.filter((one) => one !== arrow && one.state === "to_check" && !stillOut(one, here)).map((one) => one.tag);
  const nor = others.length ? `Nor ${others.length === 1 ? "was" : "were"} ${listed(others)}. ` : "";
  return { kind, words: `Arrow ${arrow.tag} was not checked ${since}.`, more: `${nor}Shoot ${others.length ? "them" : "it"} all the same?` };
}

/** What was answered for an end, with one kind more. */
export function withAllowed(end, kind) {
  const { allowed } = choices();
  const kinds = allowed?.end === end ? allowed.kinds : [];
  return { end, kinds: [...new Set([...kinds, kind])] };
}
