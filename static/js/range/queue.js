// The outbox. An operation is first on this phone (its transaction is complete), then in the book (the laptop has
// committed and said so); nothing leaves the outbox before the second. One tab sends at a time, by a lease in the
// store; two senders would do no harm, since the book knows every operation by its id.
//
// state: queued -> sending -> book, or needs (the book refused it: a person looks), or dropped (a person let it go)

import { GROUP } from "../faults.js";
import * as store from "./store.js";
import * as clock from "./clock.js";
import { ask, contact, newId } from "./clock.js";

const OP_VERSION = 3;
const MOST_AT_ONCE = 50;
const LEASE_MS = 10_000;
const LONGEST_WAIT_MS = 30_000;
const KEEP_MS = 14 * 24 * 3600 * 1000;
const boot = newId();
const tabs = "BroadcastChannel" in window ? new BroadcastChannel(`proofyard${GROUP}`) : null;

let ops = [];
let book = "";
let sending = new Set();
let tries = 0;
let timer = 0;
let busy = false;
let away = false;
let stale = "";
let sure = false; // whether the laptop that answers has shown which book it holds, since it was last out of reach
let unkept = [];
let known = new Set(); // the shots and ends that the book told of last

const changed = () => document.dispatchEvent(new CustomEvent("range:queue"));

/** The operations that this phone holds, in the order they were made. `state` says where each one is. */
export const held = () => ops.map((op) => (sending.has(op.op_id) && op.state === "queued" ? { ...op, state: "sending" } : op));
export const waiting = () => ops.filter((op) => op.state === "queued");
export const refused = () => ops.filter((op) => op.state === "needs");
/** Operations that this phone's store did not take: they are nowhere but in this page, and not sent. */
export const notKept = () => unkept;
/** Why the laptop takes nothing from a page of this age, or "". */
export const isStale = () => stale;
export const bookNow = () => book;
export const ofOtherBook = () => waiting().filter((op) => op.book && book && op.book !== book);

export async function load() {
  const there = await store.readAll("ops");
  const ids = new Set(there.map((op) => op.op_id));
  // A store that was cleared behind our back takes nothing with it that is still to be sent.
  const only = ops.filter((op) => (op.state === "queued" || op.state === "needs") && !ids.has(op.op_id));
  ops = [...there, ...only].sort((a, b) => a.n - b.n);
  unkept = [];
  changed();
}

/** Let go of what is long in the book, once the book's own news hold it: until then it is shown from here alone. */
async function letGoOfOld(seq) {
  const heard = (op) => op.state === "dropped" || (op.state === "book" && op.answer.seq <= seq);
  const old = ops.filter((op) => heard(op) && Date.now() - op.made_at > KEEP_MS);
  if (old.length) await store.write(old.map((op) => ({ in: "ops", drop: op.op_id })));
  ops = ops.filter((op) => !old.includes(op));
}

/** The store came back with less than this page holds (somebody cleared it): write down again what is here. */
export async function heal(count) {
  if (count >= ops.length) return;
  await store.write(ops.map((op) => ({ in: "ops", put: op })));
  await store.update("count", (n) => Math.max(n || 0, ...ops.map((op) => op.n)));
}

/** Put operations on this phone; done when they are. Each: { action, noun, record_id, base_rev, body, reason, about, words }. */
export const add = (asked) => keep(asked.map(stamped), (_, then) => then());

/**
 * Put a new shot on this phone, with all that goes with it, under the label that was shown. Another tab may have given
 * that label meanwhile: the next one is given in the very transaction that stores the shot, which the browser runs one
 * after another for all tabs. (Web Locks would do it too, but are missing on a plain http address.)
 * letter: this phone's; least: the highest number known here. Gives the label.
 */
export async function addShot(asked, letter, least) {
  let label = `${letter}${least + 1}`;
  const made = asked.map(stamped);
  await keep(made, (tx, then) => {
    const kept = tx.objectStore("kept");
    kept.get("labels").onsuccess = (event) => {
      const given = event.target.result || {};
      const number = Math.max(least, given[letter] || 0) + 1;
      kept.put({ ...given, [letter]: number }, "labels");
      for (const op of made) relabel(op, label, `${letter}${number}`);
      label = `${letter}${number}`;
      then();
    };
  });
  return label;
}

function relabel(op, shown, label) {
  if (op.body.label) op.body = { ...op.body, label };
  op.words = label + op.words.slice(shown.length);
}

function stamped(one) {
  const { offset, error } = clock.estimate();
  return {
    op_id: newId(), action: "put", base_rev: 0, body: {}, reason: null, state: "queued", problems: [], ...one,
    t_device: Date.now(), clock_offset_ms: offset, clock_error_ms: error, made_at: Date.now(), book,
  };
}

/** Count operations and store them, in one transaction; `first` does in it what comes before that. */
async function keep(made, first) {
  unkept = [...unkept, ...made];
  await store.update("count", (count, tx) => {
    const put = () => {
      let n = count || 0;
      for (const op of made) {
        n += 1;
        op.n = n;
        tx.objectStore("ops").put(op);
      }
      tx.objectStore("kept").put(n, "count");
    };
    first(tx, put);
  });
  unkept = unkept.filter((op) => !made.includes(op));
  // Another tab's word may have had all of the store read again meanwhile, these among it.
  ops = [...ops.filter((op) => !made.some((one) => one.op_id === op.op_id)), ...made];
  told();
  send();
  return made;
}

/** Shots whose label could not stand: the book keeps them under another, and somebody has to write that down. */
export const renamed = () => ops.filter((op) => op.state === "book" && !op.noted && op.noun === "shot" && op.answer.warnings.some((one) => one.field === "label"));

export const noted = (op_id) => change(op_id, { noted: true });

async function change(op_id, with_) {
  const op = ops.find((one) => one.op_id === op_id);
  if (!op) return;
  const now = { ...op, ...with_ };
  await store.write([{ in: "ops", put: now }]);
  ops = ops.map((one) => (one.op_id === op_id ? now : one));
  told();
}

/** Send a refused one again, with other words if a person mended it. A mended one is another operation. */
export async function mend(op_id, body) {
  const op = ops.find((one) => one.op_id === op_id);
  if (!op) return;
  if (!body) {
    await change(op_id, { state: "queued", problems: [] });
    send();
    return;
  }
  const { action, noun, record_id, base_rev, reason, about, words } = op;
  // First the new one, then the old one goes: in between both are held, and never neither.
  await add([{ action, noun, record_id, base_rev, reason, about, words, body: { ...op.body, ...body } }]);
  await change(op_id, { state: "dropped" });
}

export const letGo = (op_id) => change(op_id, { state: "dropped" });

function told() {
  changed();
  if (tabs) tabs.postMessage("changed");
}

/** Which book answers, and how far it knows this phone's count. A restored book is offered again what it may lack. */
export async function meet(told_) {
  const before = await store.read("kept", "epoch");
  book = told_.book;
  await store.update("count", (count) => Math.max(count || 0, told_.phone.highest_seq));
  const restored = before && before.book === told_.book && before.epoch !== told_.epoch;
  known = new Set([...told_.shots, ...told_.shooting_ends].map((one) => one.id));
  if (restored) await offerAgain((op) => op.book === book);
  await tryAgain(restored);
  await letGoOfOld(told_.seq);
  if (!before || before.epoch !== told_.epoch) await store.write([{ in: "kept", key: "epoch", put: { book, epoch: told_.epoch } }]);
  document.dispatchEvent(new CustomEvent("range:met", { detail: { book, restored: Boolean(restored) } }));
  if (waiting().length) send();
}

/** What was refused for want of the other phone's shot or end is sent again by itself once the book tells of that. */
async function tryAgain(all) {
  const again = refused().filter((op) => all || (op.lacked || []).some((id) => known.has(id))).map((op) => ({ ...op, state: "queued", problems: [], lacked: [] }));
  await replace(again);
}

async function replace(some) {
  if (!some.length) return;
  await store.write(some.map((op) => ({ in: "ops", put: op })));
  ops = ops.map((op) => some.find((one) => one.op_id === op.op_id) || op);
  changed();
}

/** Offer the book again what it had said to have. What it still has, it knows by its id. */
export async function offerAgain(which) {
  await replace(ops.filter((op) => op.state === "book" && which(op)).map((op) => ({ ...op, state: "queued" })));
}

/** The first of each record, up to fifty: a second change of the same record waits until the first one has its answer. */
function batch() {
  const taken = [];
  const touched = new Set();
  for (const op of ops) {
    if (taken.length === MOST_AT_ONCE) break;
    if (op.state !== "queued" || (op.book && book && op.book !== book)) continue;
    const record = `${op.noun} ${op.record_id}`;
    if (touched.has(record) && op.action === "put") continue;
    touched.add(record);
    taken.push(op);
  }
  return taken;
}

/** An operation as the laptop is told it. */
export const asSent = ({ op_id, action, noun, record_id, base_rev, body, reason, n, t_device, clock_offset_ms, clock_error_ms }) =>
  ({ op_id, action, noun, record_id, base_rev, body, reason, device_seq: n, t_device, clock_offset_ms, clock_error_ms });

async function hasLease() {
  const now = Date.now();
  const lease = await store.update("lease", (held_) => (!held_ || held_.owner === boot || held_.until < now || held_.until > now + LEASE_MS
    ? { owner: boot, until: now + LEASE_MS } : undefined));
  return Boolean(lease);
}

/** Nothing is being sent: the next page of this phone, or this one opened again, need not wait till the lease runs out. */
function giveUpLease() {
  store.update("lease", (held_) => (held_ && held_.owner === boot ? { owner: "", until: 0 } : undefined)).catch(() => {});
}

/** Send what waits. Called after every new operation, when the page comes back, and by "Try now". */
export async function send() {
  if (busy) return;
  busy = true;
  clearTimeout(timer);
  try {
    while (waiting().length && batch().length) {
      if (!sure) await whichBook();
      if (!batch().length) return;
      if (!(await hasLease())) {
        timer = setTimeout(send, LEASE_MS / 2);
        return;
      }
      const some = batch(); // asked again: another tab may have sent all of it while this one waited for its turn
      if (!some.length) return;
      if (!(await exchange(some))) {
        later();
        return;
      }
      tries = 0;
    }
  } catch (error) {
    if (!(error instanceof store.StoreTrouble)) {
      later();
      throw error; // a fault of ours: static/js/faults.js says so
    }
    document.dispatchEvent(new CustomEvent("range:store", { detail: error.message }));
  } finally {
    sending = new Set();
    busy = false;
    giveUpLease();
    changed();
  }
}

/** Another book may answer at this address by now: what was said for this one is not sent to that one. */
async function whichBook() {
  const answer = await ask("/api/ping");
  const said = answer ? saidIn(answer.text) : {};
  if (!said.book_id) return;
  book = said.book_id;
  sure = true;
}

export function tryNow() {
  tries = 0;
  send();
}

/** The laptop was heard just now: what waited only because it was out of reach is sent at once. */
export function knock() {
  if (away && waiting().length) tryNow();
}

function later(least = 0) {
  // 1, 2, 4 … 30 s, each a little off, so that two phones do not knock at the same moment for ever.
  const wait = Math.max(least, Math.min(LONGEST_WAIT_MS, 1000 * 2 ** tries));
  tries += 1;
  clearTimeout(timer);
  timer = setTimeout(send, wait * (0.75 + Math.random() / 2));
}

async function exchange(some) {
  sending = new Set(some.map((op) => op.op_id));
  changed();
  const began = clock.begin();
  const answer = await ask("/api/ops", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ op_v: OP_VERSION, boot, ops: some.map(asSent) }),
  });
  away = !answer;
  if (!answer) return false;
  stale = "";
  if (answer.status === 200) return settle(answer.text, began);
  const said = saidIn(answer.text);
  if (said.trouble === "version") {
    stale = said.sentence; // the page is at fault, not what was said on it: all of it waits for the next page
    return false;
  }
  if (answer.status === 413 || answer.status === 422) {
    if (some.length > 1) return exchange(some.slice(0, 1));
    await change(some[0].op_id, { state: "needs", problems: [{ field: "", sentence: said.sentence || said.detail || "The book did not take it." }] });
    return true;
  }
  return false; // 401, 403: this phone must be let in again; 408, 429, 5xx: later. Nothing is lost.
}

/** What an answer says of itself; {} if nothing that can be read. */
export function saidIn(text, written = (as) => as) {
  try {
    return JSON.parse(written(text)) || {};
  } catch {
    return {};
  }
}

async function settle(text, began) {
  const told_ = saidIn(text);
  if (!Array.isArray(told_.answers)) return false;
  clock.sample(began, told_.t1, told_.t2);
  let now = ops;
  for (const answer of told_.answers) {
    now = now.map((op) => (op.op_id === answer.op_id ? answered(op, answer, now) : op));
    const op = now.find((one) => one.op_id === answer.op_id);
    if (op && op.state === "book") now = now.map((one) => follows(one, op, answer));
  }
  const different = now.filter((op, place) => op !== ops[place]);
  if (different.length) await store.write(different.map((op) => ({ in: "ops", put: op })));
  // What was added to the outbox meanwhile stays: only what was answered is replaced.
  ops = ops.map((op) => different.find((one) => one.op_id === op.op_id) || op);
  sending = new Set();
  told();
  document.dispatchEvent(new CustomEvent("range:answered", { detail: told_.answers }));
  return different.length > 0;
}

function answered(op, answer, all) {
  if (answer.status === "refused") {
    // What went in beside it, in the same batch, is in the book although no snapshot has told of it: a speed that can't be
    // read was sent again when one did, and the form that somebody was mending it in was gone meanwhile.
    const there = (id) => known.has(id) || all.some((one) => one.record_id === id && one.state === "book");
    const names = [op.record_id, op.body.shot, op.body.shooting_end].filter(Boolean);
    return { ...op, state: "needs", problems: answer.problems, lacked: names.filter((id) => !there(id)) };
  }
  const { status, rev, seq, warnings, clashes } = answer;
  return { ...op, state: "book", answer: { status, rev, seq, warnings, clashes }, problems: [] };
}

/** What one answer means for the others that wait. */
function follows(one, op, answer) {
  const same = one.noun === op.noun && one.record_id === op.record_id && one.op_id !== op.op_id;
  // Our own earlier change is no second opinion: the next one builds on it. Only where nobody else came between (crossing
  // out does not ask): then whoever said the next one had not seen what the other phone said, and the book keeps both.
  if (same && op.action === "put" && answer.status === "applied" && one.state === "queued" && one.action === "put" && one.n > op.n && !sending.has(one.op_id)) {
    return { ...one, base_rev: Math.max(one.base_rev, answer.rev) };
  }
  // A reading that was refused for want of its shot is sent again when the shot is there.
  if (one.state === "needs" && op.noun === "shot" && (one.record_id === op.record_id || one.body.shot === op.record_id)) {
    return { ...one, state: "queued", problems: [], lacked: [] };
  }
  return one;
}

document.addEventListener("range:contact", () => { sure = sure && contact().reached !== false; });
if (tabs) tabs.addEventListener("message", () => load());
