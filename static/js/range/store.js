// What this phone keeps: IndexedDB, and nothing else. A write is done when its transaction is, on the disk if the
// browser can say so. A handle that died in the background is opened anew, once; then the page says so and stops.
//
//   ops      operations, by op_id: what was said here, until two weeks after the book has it
//   drafts   half-filled forms, by key
//   kept     the last that the book told, choices, counters, the sender's lease

const NAME = "proofyard";
const STORES = ["ops", "drafts", "kept"];
const DEAD = new Set(["InvalidStateError", "UnknownError", "AbortError"]);

export class StoreTrouble extends Error {}

let opened = null;

function open() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("ops", { keyPath: "op_id" });
      asked.result.createObjectStore("drafts");
      asked.result.createObjectStore("kept");
    };
    asked.onblocked = () => reject(new StoreTrouble("Another tab of this page is out of date. Close it."));
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      const db = asked.result;
      db.onclose = () => { opened = null; };
      db.onversionchange = () => { db.close(); opened = null; };
      resolve(db);
    };
  });
}

async function attempt(stores, mode, work) {
  opened = opened || open();
  const db = await opened;
  return new Promise((resolve, reject) => {
    const tx = db.transaction(stores, mode, { durability: "strict" });
    const result = {};
    tx.oncomplete = () => resolve(result.value);
    tx.onabort = () => reject(tx.error || new DOMException("aborted", "AbortError"));
    tx.onerror = (event) => event.preventDefault() || reject(event.target.error);
    work(tx, (value) => { result.value = value; });
  });
}

async function run(stores, mode, work) {
  try {
    return await attempt(stores, mode, work);
  } catch (first) {
    opened = null;
    if (first instanceof StoreTrouble) throw first;
    if (!DEAD.has(first.name)) throw new StoreTrouble(inWords(first));
    try {
      return await attempt(stores, mode, work);
    } catch (second) {
      opened = null;
      throw new StoreTrouble(inWords(second));
    }
  }
}

function inWords(error) {
  if (error.name === "QuotaExceededError") return "This phone has no room left. Free some, then come back to this page.";
  return "This phone’s store does not answer. Close this tab and open the page again; what was saved is kept.";
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
export const update = (key, change) => run(STORES, "readwrite", (tx, give) => {
  const kept = tx.objectStore("kept");
  kept.get(key).onsuccess = (event) => {
    const made = change(event.target.result, tx);
    if (made !== undefined) kept.put(made, key);
    give(made);
  };
});

/** Whether the store still answers; asked when the page comes back from the background. */
export const probe = () => run(["ops"], "readonly", (tx, give) => {
  tx.objectStore("ops").count().onsuccess = (event) => give(event.target.result);
});
