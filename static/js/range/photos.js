// Photos: kept whole on this phone the moment they are taken, sent one at a time once their shot is in the book, and
// kept for two weeks more, in case the book is put back to an older copy.
//
// state: queued -> book, or needs (the book can't take it: a person looks), or dropped (a person let it go, or wants room)

import { GROUP } from "../faults.js";
import * as store from "./store.js";
import * as queue from "./queue.js";
import { bookTime, contact, newId } from "./clock.js";

const MOST_BYTES = 20_000_000;
const STALLS_AFTER_MS = 20_000;
const LONGEST_WAIT_MS = 60_000;
const KEEP_MS = 14 * 24 * 3600 * 1000;
const tabs = "BroadcastChannel" in window ? new BroadcastChannel(`proofyard photos${GROUP}`) : null;

let all = [];
let progress = { id: "", share: 0 };
let busy = false;
let tries = 0;
let timer = 0;

const changed = () => document.dispatchEvent(new CustomEvent("range:queue"));
const told = () => { changed(); if (tabs) tabs.postMessage("changed"); };

export const waiting = () => all.filter((one) => one.state === "queued");
export const refused = () => all.filter((one) => one.state === "needs");
export const ofRecord = (id) => all.filter((one) => one.record === id && one.state !== "dropped");
/** Those of this phone that nobody has placed yet, newest first. */
export const unplaced = () => all.filter((one) => !one.record && one.state !== "dropped" && one.blob).reverse();

export async function load() {
  const kept = await store.readAll("photos");
  // A store that was emptied behind our back takes no photo with it that is still to be sent.
  const only = all.filter((one) => (one.state === "queued" || one.state === "needs") && !kept.some((had) => had.id === one.id));
  if (only.length) await store.write(only.map((one) => ({ in: "photos", put: one })));
  const there = [...kept, ...only].sort((a, b) => a.made_at - b.made_at);
  const old = there.filter((one) => (one.state === "book" || one.state === "dropped") && Date.now() - one.made_at > KEEP_MS);
  if (old.length) await store.write(old.map((one) => ({ in: "photos", drop: one.id })));
  all = there.filter((one) => !old.includes(one));
  changed();
}

const STARTS = [["image/jpeg", [0xff, 0xd8, 0xff]], ["image/png", [0x89, 0x50, 0x4e, 0x47]], ["image/webp", [0x52, 0x49, 0x46, 0x46, -1, -1, -1, -1, 0x57, 0x45, 0x42, 0x50]]];

/** What the bytes are, whatever their name says. */
const kindOf = (bytes) => STARTS.find(([, start]) => start.every((one, n) => one < 0 || bytes[n] === one))?.[0];

/** Keep a file on this phone; gives what is wrong with it in words, or "". Done when it is kept. */
export async function add(file, { noun = "", record = "" } = {}) {
  let bytes;
  try {
    bytes = await file.arrayBuffer(); // the file itself may be gone by the time that the laptop is back
  } catch {
    return `“${file.name}” can’t be read. Take it again.`;
  }
  const type = kindOf(new Uint8Array(bytes, 0, Math.min(12, bytes.byteLength)));
  if (!type) return `“${file.name}” is not a JPEG, PNG or WebP photo. Set the camera to JPEG (“most compatible”), then take it again.`;
  if (bytes.byteLength > MOST_BYTES) return `“${file.name}” has ${(bytes.byteLength / 1e6).toFixed(1)} MB; the book takes 20 MB at most. Take it smaller.`;
  const one = {
    id: newId(), noun: record ? noun : "", record, blob: new Blob([bytes], { type }), type, bytes: bytes.byteLength, taken_at: bookTime(), made_at: Date.now(),
    state: "queued", sentence: "", book: queue.bookNow(), rev: 0,
  };
  try {
    await store.write([{ in: "photos", put: one }]);
  } catch (error) {
    return `“${file.name}” was not saved. ${error.message}`; // a photo that finds no room blocks no shot
  }
  all = [...all, one];
  told();
  send();
  return "";
}

async function change(id, with_) {
  const now = { ...all.find((one) => one.id === id), ...with_ };
  await store.write([{ in: "photos", put: now }]);
  all = all.map((one) => (one.id === id ? now : one));
  told();
}

export const letGo = (id) => change(id, { state: "dropped", blob: null });

export async function tryAgain(id) {
  await change(id, { state: "queued", sentence: "" });
  send();
}

/** Say what a photo is of. One that the book has is changed there, like any record; one that waits goes up so. */
export async function place(id, record, words) {
  const one = all.find((had) => had.id === id);
  if (one.state === "book") {
    await queue.add([{ noun: "photo", record_id: id, base_rev: one.rev, body: { noun: "shot", record }, about: record, words: `${words}, its photo` }]);
  }
  await change(id, { noun: "shot", record });
  send();
}

/** What there is to say of one: where it is. */
export function where(one) {
  if (one.state === "book") return "in the book";
  if (one.state === "needs") return `needs you: ${one.sentence}`;
  return progress.id === one.id ? `sending, ${Math.round(100 * progress.share)} %` : "saved on this phone";
}

/** The next that may go: of this book, its shot in the book already, and not put off in this round. */
function next(putOff) {
  const shots = new Set([...queue.waiting(), ...queue.refused()].filter((op) => op.noun === "shot").map((op) => op.record_id));
  return waiting().find((one) => !putOff.has(one.id) && !shots.has(one.record) && !(one.book && one.book !== queue.bookNow()));
}

export async function send() {
  if (busy || !queue.bookNow()) return;
  busy = true;
  clearTimeout(timer);
  const putOff = new Set();
  try {
    for (let one = next(putOff); one; one = next(putOff)) {
      const answer = await put(one);
      if (await settled(one, answer)) tries = 0;
      else if (answer && queue.saidIn(answer.text).trouble === "waits") putOff.add(one.id); // for its shot; the others need not
      else break;
    }
    if (waiting().length) later();
  } catch (error) {
    document.dispatchEvent(new CustomEvent("range:store", { detail: error.message }));
  } finally {
    busy = false;
    progress = { id: "", share: 0 };
    changed();
  }
}

export function tryNow() {
  tries = 0;
  send();
}

function later() {
  clearTimeout(timer);
  timer = setTimeout(send, Math.min(LONGEST_WAIT_MS, 2000 * 2 ** tries) * (0.75 + Math.random() / 2));
  tries += 1;
}

/** Whether the next may be tried at once. A refusal is for good; everything else is tried again. */
async function settled(one, answer) {
  if (!answer) return false;
  const said = queue.saidIn(answer.text);
  const now = all.find((had) => had.id === one.id) || one;
  if (answer.status === 200 && said.id === one.id) {
    await change(one.id, { state: "book", rev: said.rev, sentence: "" });
    // It was given to another shot, or let go of, while it was on its way: the book hears that as a change.
    if (now.record !== one.record) await place(one.id, now.record, "the shot");
    return true;
  }
  if ([413, 415, 422].includes(answer.status) || said.trouble === "other_photo") {
    await change(one.id, { state: "needs", sentence: said.sentence || said.detail || "The book did not take it." });
    return true;
  }
  return false;
}

/** Upload with progress, which fetch can't tell; null when nothing moves or nobody answers. */
function put(one) {
  return new Promise((resolve) => {
    const ask = new XMLHttpRequest();
    const query = new URLSearchParams({ taken_at: Math.round(one.taken_at), ...(one.record ? { noun: one.noun, record: one.record } : {}) });
    let stall = setTimeout(() => ask.abort(), STALLS_AFTER_MS);
    const moves = () => { clearTimeout(stall); stall = setTimeout(() => ask.abort(), STALLS_AFTER_MS); };
    ask.upload.addEventListener("progress", (event) => {
      moves();
      const share = event.total ? event.loaded / event.total : 0;
      if (share < 1 && share - progress.share < 0.05 && progress.id === one.id) return;
      progress = { id: one.id, share };
      changed();
    });
    ask.addEventListener("loadend", () => {
      clearTimeout(stall);
      resolve(ask.status ? { status: ask.status, text: ask.responseText } : null);
    });
    ask.open("PUT", `/api/photos/${one.id}?${query}`);
    ask.setRequestHeader("Content-Type", one.type);
    ask.send(one.blob);
  });
}

/** The bytes of what the book has may go when the phone is full. */
async function makeRoom() {
  const some = all.filter((one) => one.state === "book" && one.blob).map((one) => ({ ...one, blob: null }));
  if (!some.length) return false;
  await store.write(some.map((one) => ({ in: "photos", put: one })));
  all = all.map((one) => some.find((now) => now.id === one.id) || one);
  return true;
}

let making = null;
store.whenFull(() => {
  if (making) return false; // making room needs a little room itself
  making = makeRoom().catch(() => false);
  return making.finally(() => { making = null; });
});

document.addEventListener("range:met", async ({ detail }) => {
  if (detail.restored) {
    const again = all.filter((one) => one.state === "book" && one.blob && one.book === detail.book);
    for (const one of again) await change(one.id, { state: "queued" });
  }
  send();
});
document.addEventListener("range:answered", send);
document.addEventListener("range:contact", () => { if (contact().reached && waiting().length) tryNow(); });
if (tabs) tabs.addEventListener("message", load);
