// The order within a walk that two phones logged: asked at the butt, tapped in order, never guessed from two clocks.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as store from "./store.js";
import * as undo from "./undo.js";
import { aloud, copy, say, slot } from "./drawn.js";

let given = new Set(); // walks of which somebody at this phone said that nobody knows
let tapped = [];

export async function load() {
  given = new Set((await store.read("kept", "order not known")) || []);
}

const flown = (walk) => seen.shotsOfWalk(walk.id).filter((one) => one.said.purpose !== "let_down")
  .sort((a, b) => a.said.label.localeCompare(b.said.label, "en", { numeric: true }));

/** The newest walk whose order nobody has said: two phones logged in it, and their places are missing or meet. */
export function walkToOrder(session) {
  const { walks, setups } = seen.seen();
  const open = [...walks.values()].filter((one) => !one.struck && !given.has(one.id) && setups.get(one.said.setup)?.session === session);
  return open.sort((a, b) => (a.id < b.id ? 1 : -1)).find((walk) => {
    const shots = flown(walk);
    const places = new Set(shots.map((one) => String(one.said.position ?? "")).filter(Boolean));
    return new Set(shots.map((one) => one.letter)).size > 1 && places.size < shots.length;
  });
}

/** The question in `box`, or nothing. */
export function ask(box, session) {
  const walk = walkToOrder(session);
  const shots = walk ? flown(walk) : [];
  const same = walk ? [walk.id, ...shots.map((one) => one.id)].join() : "";
  if (box.dataset.same === same) return;
  box.dataset.same = same;
  tapped = [];
  if (!walk) {
    box.replaceChildren();
    return;
  }
  const part = copy("range-order");
  say(part, "title", `Walk ${seen.walkNumber(walk)}: which was first?`);
  const list = slot(part, "keys");
  list.replaceChildren(...shots.map((one) => key(one, shots, list)));
  part.querySelector("[data-anew]").addEventListener("click", () => { tapped = []; draw(list); });
  part.querySelector("[data-nobody]").addEventListener("click", () => nobody(walk));
  box.replaceChildren(part);
  draw(list);
}

function key(shot, shots, list) {
  const made = copy("range-order-key").querySelector("button");
  made.dataset.shot = shot.id;
  made.dataset.words = `${shot.said.label}, arrow ${shot.tag}`;
  made.addEventListener("click", () => {
    tapped = tapped.includes(shot.id) ? tapped.filter((one) => one !== shot.id) : [...tapped, shot.id];
    const left = shots.filter((one) => !tapped.includes(one.id));
    if (left.length === 1) tapped = [...tapped, left[0].id]; // the last one needs no tap
    draw(list);
    if (tapped.length === shots.length) save(shots);
  });
  return made;
}

function draw(list) {
  for (const made of list.children) {
    const place = tapped.indexOf(made.dataset.shot) + 1;
    made.textContent = place ? `${place}: ${made.dataset.words}` : made.dataset.words;
    made.setAttribute("aria-pressed", String(place > 0));
  }
}

async function save(shots) {
  const before = new Map(shots.map((one) => [one.id, one.said.position ?? null]));
  const put = (placeOf, reason) => queue.add(shots.filter((one) => seen.shot(one.id).said.position !== placeOf(one)).map((one) => ({
    noun: "shot", record_id: one.id, base_rev: seen.shot(one.id).rev, body: { position: placeOf(one) }, reason, about: one.id, words: `${one.said.label}, its place in the walk`,
  })));
  const order = [...tapped];
  await put((one) => order.indexOf(one.id) + 1, "order said at the butt");
  const words = order.map((id) => seen.shot(id).said.label).join(", ");
  aloud(`Loosed in this order: ${words}; saved on this phone`);
  undo.offer(`Order: ${words}`, () => put((one) => before.get(one.id), "undone at once"));
}

async function nobody(walk) {
  given = new Set([...given, walk.id]);
  await store.write([{ in: "kept", key: "order not known", put: [...given] }]);
  aloud("The order stays unknown");
  document.dispatchEvent(new CustomEvent("range:queue"));
}
