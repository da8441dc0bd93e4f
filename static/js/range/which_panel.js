// Which set-up this phone shoots at. It stays until somebody here changes it; that another phone logs elsewhere, or that a
// set-up was added, is said at once, and one tap goes along.

import * as seen from "./seen.js";
import { bookTime } from "./clock.js";
import { choices, choose } from "./kept.js";
import { say, slot } from "./drawn.js";
import { clockWords, dayWords, inchPound } from "./words.js";

const RECENT_MS = 4 * 3600_000; // what was logged longer ago is no news (common practice, no source)

/** The set-up that this phone shoots at: the one it chose, or the first. */
export const setup = () => seen.setups().find((one) => one.id === choices().setup) || seen.setups()[0];

/** How far off it stands: as typed first, in this phone's units behind it. */
const distance = (one) => (inchPound() && one.distance_in) || one.distance;

/** "trial 3" where set-ups of several trials are open, so that one panel of two trials is two things in every list. */
const trialWords = (one) => (new Set(seen.setups().map((other) => other.trial)).size > 1 ? `trial ${one.trial_number}` : "");

/** "P3, build 2, 14 m, 17 Oct, trial 3": a set-up among others. */
export const setupWords = (one) => [one.panel_name, distance(one), one.angle, dayWords(one.day), trialWords(one)].filter(Boolean).join(", ");

/** The same where one is picked: what the trial asks goes with its number. */
export const pickWords = (one) => (trialWords(one) ? `${setupWords(one)}: ${one.question}` : setupWords(one));

export const NEW_END = "new:"; // before the id of a set-up: an end that is begun there

/** Every end of the open set-ups, the newest first, and a new one at each: [value, words]. */
export function ends() {
  const { shootingEnds, setups } = seen.seen();
  const labels = (end) => seen.shotsOfShootingEnd(end).map((one) => one.said.label).join(", ") || "no shot yet";
  const there = [...shootingEnds.values()].filter((one) => !one.voided && setups.has(one.said.setup)).sort((a, b) => (a.id < b.id ? 1 : -1));
  const began = seen.setups().map((one) => [NEW_END + one.id, `A new end at ${setupWords(one)}`]);
  return [...there.map((one) => [one.id, `End ${seen.shootingEndNumber(one)} at ${setupWords(setups.get(one.said.setup))}: ${labels(one.id)}`]), ...began];
}

const today = () => {
  const now = new Date();
  return [now.getFullYear(), String(now.getMonth() + 1).padStart(2, "0"), String(now.getDate()).padStart(2, "0")].join("-");
};

/** What stands under its name: "one-piece plate, 1.6 mm, 14 m", the day unless it is today, the trial where several are open. */
export const underName = (one) => [one.panel_words.slice(one.panel_name.length + 2), distance(one), one.angle, one.day === today() ? "" : dayWords(one.day), trialWords(one)].filter(Boolean).join(", ");

/** A set-up by its panel's name; where two share that, with what tells them apart. */
const named = (one, other) => (one.panel_name === other.panel_name ? setupWords(one) : one.panel_name);

/** The last shot of each other phone at a set-up that is open: letter -> shot. */
function lastOfOthers() {
  const { phone } = seen.seen().told;
  const last = new Map();
  for (const one of seen.shotsHere()) if (one.letter !== phone.letter && !one.voided) last.set(one.letter, one);
  return last;
}

/** All of it is known from here on: what is added later, or logged elsewhere later, is news. */
const known = () => ({
  setups: seen.setups().map((one) => one.id),
  others: Object.fromEntries([...lastOfOthers()].map(([letter, one]) => [letter, one.setup])),
});

export function pick(id) {
  return choose({ setup: id, setup_name: seen.seen().setups.get(id)?.panel_name, known: known() });
}

/** The first set-up is this phone's until somebody changes it; and what stands there at first is no news. */
export function settle() {
  const here = setup();
  if (here && (!choices().setup || !choices().known)) pick(here.id);
}

/** { words, more, to }: what this phone should hear of set-ups, or null. Without `to` there is nothing to switch to. */
export function news() {
  const here = setup();
  const before = choices().known;
  if (!here || !before) return null;
  if (choices().setup !== here.id) return { words: `${choices().setup_name || "The panel before"} takes no more shots.`, more: `This phone logs to ${here.panel_name} now.`, here };
  const soon = bookTime() - RECENT_MS;
  const other = [...lastOfOthers().values()].filter((one) => one.setup !== here.id && before.others[one.letter] !== one.setup && one.said.loosed_at > soon)
    .sort((a, b) => b.said.loosed_at - a.said.loosed_at)[0];
  if (other) {
    const to = seen.seen().setups.get(other.setup);
    const whose = other.phone ? `${other.phone}’s phone logs` : "The other phone logs";
    return { words: `${whose} to ${named(to, here)}.`, more: `${other.said.label} went there, ${clockWords(other.said.loosed_at)}. This phone: ${named(here, to)}.`, to, here };
  }
  const added = seen.setups().filter((one) => !before.setups.includes(one.id) && one.id !== here.id).at(-1);
  return added ? { words: `A set-up was added: ${setupWords(added)}.`, more: `This phone: ${named(here, added)}.`, to: added, here } : null;
}

/** The notice in the place of the set-up's row; whether it stands. */
export function showNews(root) {
  const one = news();
  const box = slot(root, "news");
  // Whoever had scrolled down to the arrows would not see it; whoever is typing is left in peace.
  if (one && box.hidden && !document.activeElement?.matches("[name=speed]")) window.scrollTo(0, 0);
  box.hidden = !one;
  if (!one) return false;
  say(root, "news-words", one.words);
  say(root, "news-more", one.more);
  const [go, stay] = [slot(root, "news-go"), slot(root, "news-stay")];
  go.hidden = !one.to;
  say(root, "news-go", one.to ? `Switch to ${named(one.to, one.here)}` : "");
  say(root, "news-stay", one.to ? `Stay on ${named(one.here, one.to)}` : `Go on with ${one.here.panel_name}`);
  go.dataset.to = one.to?.id || "";
  stay.dataset.to = one.here.id;
  return true;
}
