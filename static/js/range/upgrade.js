// A store that a page of an earlier version wrote: its operations, half-filled forms and photos take today's names, in the
// one transaction that opens the store, so that nothing unsent is lost. What the book told last is let go of and asked again.
//
// The book's own migration (0008) renames the same and keeps each operation's fingerprint in step, so that one whose
// answer was lost on the way is still known when it is sent again.

const PHOTOS_BEFORE = "pictures"; // its presence is the mark: no later page makes it
const NOUNS = { walk: "shooting_end", picture: "photo" };
const ACTIONS = { strike: "void", unstrike: "unvoid" };
const FIELDS = { shot: { walk: "shooting_end" }, shot_reading: { way_in: "entry", look_behind: "rear_check" } };
const HITS = { fair_target: "on_panel" };

/** Whether an earlier page wrote this store, or wrote in it since. */
export const isOfBefore = (db) => db.objectStoreNames.contains(PHOTOS_BEFORE);

function inNewNames(noun, said) {
  const names = FIELDS[noun] || {};
  return Object.fromEntries(Object.entries(said).map(([name, value]) => [names[name] || name, (name === "hit" && HITS[value]) || value]));
}

const problemIn = (noun) => (one) => ({ ...one, field: FIELDS[noun]?.[one.field] || one.field });

function operation(op) {
  const known = problemIn(op.noun);
  return {
    ...op, noun: NOUNS[op.noun] || op.noun, action: ACTIONS[op.action] || op.action, body: inNewNames(op.noun, op.body), problems: (op.problems || []).map(known),
    ...(op.answer ? { answer: { ...op.answer, warnings: (op.answer.warnings || []).map(known) } } : {}),
  };
}

const draft = (one) => (one.state ? { ...one, state: inNewNames("shot_reading", one.state) } : one);

function each(store, act, done = () => {}) {
  store.openCursor().onsuccess = ({ target }) => {
    if (!target.result) { done(); return; }
    act(target.result);
    target.result.continue();
  };
}

/** Rename what an earlier page wrote; `tx` is the transaction of the upgrade, in which today's stores stand already. */
export function upgrade(db, tx) {
  if (!isOfBefore(db)) return;
  each(tx.objectStore("ops"), (at) => at.update(operation(at.value)));
  each(tx.objectStore("drafts"), (at) => at.update(draft(at.value)));
  tx.objectStore("kept").delete("snapshot");
  each(tx.objectStore(PHOTOS_BEFORE), (at) => tx.objectStore("photos").put(at.value), () => db.deleteObjectStore(PHOTOS_BEFORE));
}
