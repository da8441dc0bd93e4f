// The order within an end that two phones logged: asked at the butt. Two clocks only propose it; a person says yes, or swaps
// two that stand wrong.
// Sighters that nobody read: once their end is over it is asked whether they marked the panel. An unread one would leave it open
// whether the hits after it were fair.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as store from "./store.js";
import * as thumb from "./thumb.js";
import { aloud, copy, say, slot } from "./drawn.js";
import { setup } from "./which_panel.js";

let given = new Set(); // ends of which somebody at this phone said that nobody knows
const CLOSE_S = 5; // two clocks that were set by one laptop may still stand in the wrong order (common practice, no source)
let list = []; // ids of the shots asked about, in the order in which they stand in the page
let end = null;

export async function load() {
  given = new Set((await store.read("kept", "order not known")) || []);
}

const flown = (shootingEnd) => seen.shotsOfShootingEnd(shootingEnd.id).filter((one) => one.said.purpose !== "let_down")
  .sort((a, b) => a.said.label.localeCompare(b.said.label, "en", { numeric: true }));

/** The newest end whose order nobody has said: two phones logged in it, and their places are missing or meet. */
export function shootingEndToOrder(session) {
  const { shootingEnds, setups } = seen.seen();
  const open = [...shootingEnds.values()].filter((one) => !one.voided && !given.has(one.id) && setups.get(one.said.setup)?.session === session);
  return open.sort((a, b) => (a.id < b.id ? 1 : -1)).find((shootingEnd) => {
    const shots = flown(shootingEnd);
    const places = new Set(shots.map((one) => String(one.said.position ?? "")).filter(Boolean));
    return new Set(shots.map((one) => one.letter)).size > 1 && places.size < shots.length;
  });
}

/** The order that the times propose; those without one after the others, by label. */
const byClock = (shots) => [...shots].sort((a, b) => (a.said.loosed_at ?? Infinity) - (b.said.loosed_at ?? Infinity) || 0);

/** Whether an order is to be asked here. */
export const isAsked = () => Boolean(shootingEndToOrder(setup()?.session));

/** The guess in `box`, each with the key that swaps it with the one above; or nothing. */
export function ask(box, shown) {
  const shootingEnd = shown && shootingEndToOrder(setup()?.session);
  const shots = shootingEnd ? flown(shootingEnd) : [];
  const same = shootingEnd ? [shootingEnd.id, ...shots.map((one) => one.id)].join() : "";
  if (box.dataset.same === same) return;
  box.dataset.same = same;
  end = shootingEnd || null;
  list = byClock(shots).map((one) => one.id);
  if (!shootingEnd) {
    box.replaceChildren();
    return;
  }
  const part = copy("range-order");
  const timed = shots.every((one) => Number.isFinite(one.said.loosed_at));
  const number = seen.shootingEndNumber(shootingEnd);
  say(part, "title", timed ? `End ${number}: is this the order?` : `End ${number}: in which order?`);
  say(part, "how", timed ? "From both phones’ clocks. Swap two that stand wrong." : "Not every shot has a time. Swap two that stand wrong.");
  box.replaceChildren(part);
  draw(slot(part, "list"));
}

/** The keys that answer it, at the thumb. */
export const keys = () => [{ words: "Yes, this order", main: true, act: save }, { words: "Nobody knows", act: () => nobody(end) }];

const timeWords = (ms) => (Number.isFinite(ms) ? new Date(ms).toLocaleTimeString("en-GB") : "no time");

function near(one, above) {
  const apart = above && above.letter !== one.letter ? Math.abs(one.said.loosed_at - above.said.loosed_at) / 1000 : NaN;
  return apart < CLOSE_S ? `, ${apart < 1 ? "less than 1" : Math.floor(apart)} s from ${above.said.label}` : "";
}

function draw(place) {
  const shots = list.map((id) => seen.shot(id));
  place.replaceChildren(...shots.map((one, n) => {
    const made = copy("range-order-row");
    const above = shots[n - 1];
    say(made, "mark", one.said.label);
    say(made, "words", timeWords(one.said.loosed_at));
    say(made, "small", `${one.by}, arrow ${one.tag}${near(one, above)}`);
    const up = made.querySelector("[data-up]");
    if (!above) up.remove();
    else {
      up.setAttribute("aria-label", `Up: swap ${one.said.label} with ${above.said.label}`);
      up.addEventListener("click", () => swap(place, n));
    }
    return made;
  }));
}

function swap(place, n) {
  [list[n - 1], list[n]] = [list[n], list[n - 1]];
  draw(place);
  (place.children[n - 1].querySelector("button") || place.children[n].querySelector("button")).focus();
  aloud(`${seen.shot(list[n - 1]).said.label} before ${seen.shot(list[n]).said.label}`);
}

async function save() {
  const order = [...list];
  const before = new Map(order.map((id) => [id, seen.shot(id).said.position ?? null]));
  const put = (placeOf, reason) => queue.add(order.map((id) => seen.shot(id)).filter((one) => one.said.position !== placeOf(one)).map((one) => ({
    noun: "shot", record_id: one.id, base_rev: one.rev, body: { position: placeOf(one) }, reason, about: one.id, words: `${one.said.label}, its place in the end`,
  })));
  await put((one) => order.indexOf(one.id) + 1, "order given at the butt");
  const words = order.map((id) => seen.shot(id).said.label).join(", ");
  aloud(`Loosed in this order: ${words}; saved on this phone`);
  thumb.offer(`Order: ${words}`, () => put((one) => before.get(one.id), "undone at once"));
}

async function nobody(shootingEnd) {
  given = new Set([...given, shootingEnd.id]);
  await store.write([{ in: "kept", key: "order not known", put: [...given] }]);
  aloud("The order stays unknown");
  document.dispatchEvent(new CustomEvent("range:queue"));
}

const NONE = { hit: "missed", why: "sighter: it did not mark the panel" };

/** Those of the day whose end is over. */
export const unreadSighters = () => seen.shotsHere().filter((one) => {
  const end = seen.seen().shootingEnds.get(one.said.shooting_end);
  return !one.voided && one.said.purpose === "sighter" && !seen.isRead(one) && end?.said.at_butt_at && seen.seen().setups.get(one.setup).session === setup()?.session;
});

const listed = (labels) => (labels.length > 1 ? `${labels.slice(0, -1).join(", ")} and ${labels.at(-1)}` : labels[0]);

/** The question in `box`, or nothing. `read`: opens the reading of a shot. */
export function askSighters(box, shown, read) {
  const some = shown ? unreadSighters() : [];
  const same = some.map((one) => one.id).join();
  if (box.dataset.same === same) return;
  box.dataset.same = same;
  box.replaceChildren();
  if (!some.length) return;
  const part = copy("range-sighter");
  const labels = some.map((one) => one.said.label);
  say(part, "title", some.length === 1 ? `Sighter ${labels[0]}: did it mark the panel?` : `Sighters ${listed(labels)}: did any of them mark the panel?`);
  say(part, "sighter-read", `Yes, read ${labels[0]}`);
  slot(part, "sighter-read").addEventListener("click", () => read(some[0].id));
  slot(part, "sighter-none").addEventListener("click", () => none(some));
  box.append(part);
}

async function none(some) {
  const about = (one) => ({ about: one.id, noun: "shot_reading", record_id: one.id, words: `${one.said.label}, a sighter` });
  await queue.add(some.flatMap((one) => [
    ...(one.reading?.voided ? [{ ...about(one), action: "unvoid", reason: "read again" }] : []),
    { ...about(one), base_rev: one.reading?.rev ?? 0, body: NONE },
  ]));
  const words = `${listed(some.map((one) => one.said.label))}: no mark on the panel`;
  aloud(`${words}; saved on this phone`);
  thumb.offer(words, () => queue.add(some.map((one) => ({ ...about(one), action: "void", reason: "undone at once" }))));
}
