// What this phone keeps: IndexedDB, and nothing else. A write is done when its transaction is, on the disk if the
// browser can say so. A handle that died in the background is opened again, once; then the page says so and stops.
//
//   ops       operations, by op_id: what was said here, until two weeks after the book has it
//   drafts    half-filled forms, by key
//   kept      the last that the book told, choices, counters, the sender's lease
//   photos    photos taken here with their bytes, by id

import { GROUP } from "../faults.js";
import { isOfBefore, upgrade } from "./upgrade.js";

const NAME = `proofyard${GROUP}`;
const STORES = { ops: { keyPath: "op_id" }, drafts: undefined, kept: undefined, photos: { keyPath: "id" } };
const WITH_KEPT = ["ops", "drafts", "kept"];
const DEAD = new Set(["InvalidStateError", "UnknownError", "AbortError", "NotFoundError", "TimeoutError"]);
const ANSWERS_WITHIN_MS = 8000; // a store that was asked in the background may never answer

export class StoreTrouble extends Error {}

let opened = null;
let makeRoom = async () => false;

/** What to do when there is no room left: gives whether some was made. */
export const whenFull = (act) => { makeRoom = act; };

function lost(name) {
  return new DOMException(name, name);
}

/** The store as it stands, whichever version of this page made it: an old page opens what a newer one has added to. */
function open(version) {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(lost("TimeoutError")), ANSWERS_WITHIN_MS);
    const asked = indexedDB.open(NAME, version);
    asked.onupgradeneeded = () => {
      for (const [name, options] of Object.entries(STORES)) {
        if (!asked.result.objectStoreNames.contains(name)) asked.result.createObjectStore(name, options);
      }
      upgrade(asked.result, asked.transaction);
    };
    asked.onblocked = () => reject(new StoreTrouble("Another tab of this page is out of date. Close it, then open this one again."));
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      clearTimeout(timer);
      const db = asked.result;
      db.onclose = () => { opened = null; };
      db.onversionchange = () => { db.close(); opened = null; };
      resolve(db);
    };
  });
}

async function openWhole() {
  const db = await open();
  if (Object.keys(STORES).every((name) => db.objectStoreNames.contains(name)) && !isOfBefore(db)) return db;
  const next = db.version + 1;
  db.close();
  return open(next);
}

async function attempt(stores, mode, work) {
  opened = opened || openWhole();
  const db = await opened;
  return new Promise((resolve, reject) => {
    const tx = db.transaction(stores, mode, { durability: "strict" });
    const result = {};
    const timer = setTimeout(() => reject(lost("TimeoutError")), ANSWERS_WITHIN_MS);
    tx.oncomplete = () => { clearTimeout(timer); resolve(result.value); };
    tx.onabort = () => { clearTimeout(timer); reject(tx.error || lost("AbortError")); };
    // The whole of it or nothing: a fault in one place undoes the transaction.
    tx.onerror = (event) => { event.preventDefault(); if (event.target.error.name === "AbortError") return; reject(event.target.error); try { tx.abort(); } catch { /* it is over already */ } };
    work(tx, (value) => { result.value = value; });
  });
}

async function run(stores, mode, work) {
  try {
    return await attempt(stores, mode, work);
  } catch (first) {
    if (first instanceof StoreTrouble) throw forget(first);
    if (first.name === "QuotaExceededError" ? !(await makeRoom()) : !DEAD.has(first.name)) throw forget(first);
    if (first.name !== "QuotaExceededError") opened = null;
    try {
      return await attempt(stores, mode, work);
    } catch (second) {
      throw forget(second);
    }
  }
}

/** The handle is let go of, so that the next who asks opens again. */
function forget(error) {
  opened = null;
  return error instanceof StoreTrouble ? error : new StoreTrouble(inWords(error));
}

export const NO_ANSWER = "This phone’s store does not answer. Close this tab and open the page again; what was saved is kept.";

function inWords(error) {
  return error.name === "QuotaExceededError" ? "This phone has no room left. Free some, then come back to this page." : NO_ANSWER;
}

export const read = (store, key) => run([store], "readonly", (tx, give) => {
  tx.objectStore(store).get(key).onsuccess = (event) => give(event.target.result);
});

export const readAll = (store) => run([store], "readonly", (tx, give) => {
  tx.objectStore(store).getAll().onsuccess = (event) => give(event.target.result);
});

/** Several changes in one transaction: { in: store, put: value, key } or { in: store, drop: key }. */
export const write = (changes) => run([...new Set(changes.map((one) => one.in))], "readwrite", (tx) => {
  for (const one of changes) {
    const store = tx.objectStore(one.in);
    if ("drop" in one) store.delete(one.drop);
    else if (store.keyPath) store.put(one.put);
    else store.put(one.put, one.key);
  }
});

/** Read a value of `kept` and write what `change` makes of it and the stores, in one transaction. */
export const update = (key, change) => run(WITH_KEPT, "readwrite", (tx, give) => {
  const kept = tx.objectStore("kept");
  kept.get(key).onsuccess = (event) => {
    const made = change(event.target.result, tx);
    if (made !== undefined) kept.put(made, key);
    give(made);
  };
});

/** How many operations it holds, or that it does not answer; asked when the page comes back from the background. */
export const probe = () => run(["ops"], "readonly", (tx, give) => {
  tx.objectStore("ops").count().onsuccess = (event) => give(event.target.result);
});
