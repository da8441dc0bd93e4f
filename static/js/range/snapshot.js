// What the book last told this phone: kept in the store, so that the page opens without the laptop. Asked again every
// two seconds while the page is in sight; only what changed is sent.

import * as store from "./store.js";
import * as clock from "./clock.js";
import * as queue from "./queue.js";
import { ask } from "./clock.js";

const EACH_MS = 2000;
let now = null;
let timer = 0;
let asking = false;

/** The last that was told, or null if this phone never heard from the book. */
export const told = () => now;

/** A store that was emptied behind our back does not make an open page forget: it is written down again. */
export async function load() {
  const there = await store.read("kept", "snapshot");
  if (!there && now) await store.write([{ in: "kept", key: "snapshot", put: now }]);
  now = there || now;
}

// Shots of earlier days come as rows (server/proofyard/records/shots_at_the_range.py): enough to draw and judge their hits.
// `slim` until somebody opens one.
function laidOut(row, panel, ends) {
  const [id, rev, label, at, purpose, position, loosed_at, letter, by, tag, voided, read, hit, outcome_low, outcome_high, x, y, plate, planned_shot] = row;
  const [x_m, y_m] = [x, y].map((mm) => (mm == null ? null : mm / 1000));
  const reading = { id, rev: read, voided: !hit, said: { hit, outcome_low, outcome_high, plate }, x_m, y_m };
  const said = { label, shooting_end: ends[at]?.id, purpose, position, loosed_at, planned_shot };
  for (const some of [said, reading.said]) for (const name in some) if (some[name] == null) delete some[name];
  return { id, rev, voided: Boolean(voided), said, reading: read ? reading : null, speed: null, setup: ends[at]?.said.setup, panel, letter, by, tag, slim: true };
}

/** Ids come once each (server/proofyard/api/packed_ids.py). */
function withIds(text) {
  const [table, said] = text.split("\n");
  if (!said) return table;
  const [later, row] = JSON.parse(table);
  const digits = Array.from(atob(row), (one) => one.charCodeAt().toString(16).padStart(2, 0)).join("");
  let ms = 0, next = 0;
  const ids = later.map((more, n) => {
    const made = (ms += more).toString(16).padStart(12, 0), of = (from, to) => digits.slice(19 * n + from, 19 * n + to);
    return `"${made.slice(0, 8)}-${made.slice(8)}-7${of(0, 3)}-${of(3, 7)}-${of(7, 19)}"`;
  });
  return said.replace(new RegExp('"~(\\d*)"', "g"), (_, n) => ids[n || next++]);
}

/** News with those among the others. */
function unpacked({ earlier, ...news }) {
  const old = Object.entries(earlier || {}).flatMap(([panel, rows]) => rows.map((row) => laidOut(row, panel, news.shooting_ends)));
  return { ...news, shots: [...old, ...news.shots] };
}

function merged(before, news_) {
  const news = unpacked(news_);
  if (news.whole || !before) return news;
  const byId = (old, some) => [...new Map([...old, ...some].map((one) => [one.id, one])).values()];
  return { ...news, shots: byId(before.shots, news.shots), shooting_ends: byId(before.shooting_ends, news.shooting_ends) };
}

/** Have a shot in full of which only the hit is here: whether the laptop told it. */
export async function wantWhole(id) {
  const answer = await ask(`/api/range/shots/${id}`);
  const { epoch, shot } = answer && answer.status === 200 ? queue.saidIn(answer.text) : {};
  if (!shot || shot.id !== id || epoch !== now.epoch) return false;
  now = merged(now, { ...now, whole: false, shots: [shot] });
  await store.write([{ in: "kept", key: "snapshot", put: now }]);
  document.dispatchEvent(new CustomEvent("range:told"));
  return true;
}

export async function look() {
  if (asking) return;
  asking = true;
  clearTimeout(timer);
  // The news go on from here: the store may be read again meanwhile, and what it held may be older.
  const before = now;
  try {
    const address = "/api/range?form=2" + (before ? `&since=${before.seq}&epoch=${encodeURIComponent(before.epoch)}` : "");
    const began = clock.begin();
    const answer = await ask(address);
    if (answer && (answer.status === 200 || answer.status === 204)) {
      const [t1, t2] = (answer.headers.get("Proofyard-Clock") || "").split(" ").map(Number);
      clock.sample(began, t1, t2);
    }
    const news = answer && answer.status === 200 ? queue.saidIn(answer.text, withIds) : {};
    if (news.seq !== undefined) { // the page of another network may answer with 200 as well
      now = merged(before, news);
      await store.write([{ in: "kept", key: "snapshot", put: now }]);
      await queue.meet(now);
      document.dispatchEvent(new CustomEvent("range:told"));
    } else if (answer && answer.status === 204) {
      queue.knock();
    }
  } catch (error) {
    if (!(error instanceof store.StoreTrouble)) throw error; // a fault of ours: static/js/faults.js says so
    document.dispatchEvent(new CustomEvent("range:store", { detail: error.message }));
  } finally {
    asking = false;
    if (!document.hidden) timer = setTimeout(look, EACH_MS);
  }
}

document.addEventListener("visibilitychange", () => {
  clearTimeout(timer);
  if (!document.hidden) look();
});
document.addEventListener("range:answered", () => look());
