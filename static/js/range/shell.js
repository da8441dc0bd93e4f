// The range's page: opens the phone's store, shows line, butt or bench, and keeps the two acknowledgements apart:
// saved on this phone, in the book. While the laptop is away everything goes on.

import * as store from "./store.js";
import * as queue from "./queue.js";
import * as snapshot from "./snapshot.js";
import * as seen from "./seen.js";
import * as strip from "./strip.js";
import * as line from "./line.js";
import * as butt from "./butt.js";
import * as bench from "./bench.js";
import * as needs from "./needs.js";
import * as held from "./held.js";
import * as order from "./order.js";
import * as photos from "./photos.js";
import * as same from "./same.js";
import * as where from "./where.js";
import { contact } from "./clock.js";
import * as choices from "./kept.js";
import * as thumb from "./thumb.js";
import { light, units } from "./words.js";
import { copy, say, slot } from "./drawn.js";

const OURS = /^(#shot=[0-9a-f-]{36}|#needs|#held|#order)?$/; // any other hash leads within the page, such as that of the skip link
const VIEWS = { "/range": ["line", line], "/range/butt": ["butt", butt], "/range/bench": ["bench", bench] };
let current = null;

function nothing(place) {
  const told = snapshot.told();
  const root = copy("range-nothing");
  place.replaceChildren(root);
  const [title, words, href, link] = !told
    ? ["Waiting for the laptop", "This phone has not heard from the book yet. It needs the laptop once; after that it works without it.", "/trials", "To the book"]
    : ["No set-up is open", "You need an open trial, a session and a set-up. Make them in the book.", "/trials", "To the trials"];
  say(root, "title", title);
  say(root, "words", words);
  say(root, "link", link);
  slot(root, "link").href = href;
  return { keys: () => [], title: () => "Range" };
}

function show() {
  const place = document.querySelector("[data-place]");
  const { path, hash } = where.there();
  const [name, view] = VIEWS[path] || VIEWS["/range"];
  const wanted = hash === "#order" ? "order" : /^#shot=([0-9a-f-]{36})$/.exec(hash)?.[1];
  where.arrived(path, hash);
  if (current?.leave) current.leave();
  for (const link of document.querySelectorAll(".masthead__link")) {
    if (link.pathname === path) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  const ready = seen.setups().length > 0;
  const apart = { "#needs": needs, "#held": held }[hash];
  if (apart && snapshot.told()) current = { ...apart.show(place), apart: true };
  else current = ready ? view.show(place, wanted) : nothing(place);
  current.waitsFor = ready ? "" : "a set-up";
  if (document.body.dataset.view !== name) thumb.clear();
  document.body.dataset.view = name;
  drawKeys();
  strip.draw();
}

function drawKeys() {
  const asked = thumb.question();
  const keys = asked?.keys ?? (current?.keys ? current.keys() : []);
  thumb.draw();
  const box = document.querySelector("[data-keys]");
  document.querySelector("[data-thumb]").hidden = !keys.length;
  const same = [asked?.words, ...keys.map((one) => one.words)].join("|");
  if (box.dataset.same !== same) {
    const focused = box.contains(document.activeElement) ? document.activeElement.textContent : null;
    box.replaceChildren(...keys.map((one) => button(one)));
    const again = [...box.children].find((made) => made.textContent === focused); // the same key is still under the hand
    if (again || (focused !== null && asked)) (again || box.firstElementChild).focus({ preventScroll: true }); // a question stands where the hand was
    box.dataset.same = same;
  }
  [...box.children].forEach((made, n) => { made.act = keys[n].act; });
  document.title = `${current?.title ? current.title() : "Range"} · Proofyard`;
}

function button({ words, main }) {
  const made = copy(main ? "range-key" : "range-key-plain").querySelector("button");
  made.textContent = words;
  made.addEventListener("click", () => made.act());
  return made;
}

function go(address) {
  const kept = where.kept(address);
  if (kept !== location.pathname + location.hash) history.pushState(null, "", kept);
  window.scrollTo(0, 0);
  show();
}

function refresh() {
  strip.draw();
  if (!current) return;
  // The first set-up came, or the last one went (its trial was closed on the laptop): another page stands here.
  if (Boolean(current.waitsFor) === seen.setups().length > 0 && !current.apart) show();
  else if (current.update) current.update();
  drawKeys();
}

let waiting = 0;
function soon() {
  clearTimeout(waiting);
  waiting = setTimeout(refresh, 0);
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  if (link && VIEWS[link.pathname] && link.origin === location.origin && OURS.test(link.hash) && !event.metaKey && !event.ctrlKey) {
    event.preventDefault();
    go(link.pathname + link.hash);
  }
  if (event.target.closest("[data-try-now]")) {
    if (queue.isStale()) location.reload();
    queue.tryNow();
    photos.tryNow();
    snapshot.look();
  }
});
document.querySelector("[data-unsent]").addEventListener("toggle", ({ target }) => { if (target.open) held.showUnsent(slot(target, "text")); });

/** Something that is said once, above everything, until somebody has read it. */
function once(words) {
  const notice = copy("range-once");
  say(notice, "words", words);
  notice.querySelector("[data-once-read]").addEventListener("click", () => { notice.remove(); document.getElementById("main").focus(); });
  document.querySelector("[data-once]").replaceChildren(notice);
}
document.addEventListener("range:clock", ({ detail }) => {
  if (detail) once(detail);
  snapshot.look(); // what time it is by the laptop is asked at once
});
// Whatever could not be kept says so: a promise that nobody caught is a save that did not happen.
window.addEventListener("unhandledrejection", (event) => {
  if (!(event.reason instanceof store.StoreTrouble)) return;
  event.preventDefault();
  strip.block(event.reason.message);
});
document.addEventListener("range:store", (event) => strip.block(event.detail));
document.addEventListener("range:go", (event) => go(event.detail));
document.addEventListener("range:keys", drawKeys);
for (const name of ["range:queue", "range:told", "range:contact", "range:compared"]) document.addEventListener(name, soon);
window.addEventListener("popstate", () => { if (OURS.test(where.there().hash)) show(); });

async function back() {
  if (document.hidden) return;
  try {
    await queue.heal(await store.probe());
    if (strip.blockedBy()) await Promise.all([queue.load(), photos.load(), snapshot.load()]);
    strip.unblock();
    if (!current) show();
  } catch (error) {
    if (!(error instanceof store.StoreTrouble)) throw error;
    strip.block(error.message);
    return;
  }
  light();
  units();
  queue.tryNow();
  photos.tryNow();
  snapshot.look();
}
// A reload asks the laptop, whatever the browser has kept: without it the page would give way to the browser's own error.
window.addEventListener("beforeunload", (event) => { if (contact().reached === false && !queue.isStale()) event.preventDefault(); });
document.addEventListener("visibilitychange", back);
for (const name of ["online", "pageshow", "focus"]) window.addEventListener(name, back);
setInterval(strip.draw, 10_000);
// A store that did not answer once is asked again, so that an archer who only waits can go on.
setInterval(() => { if (strip.blockedBy() === store.NO_ANSWER) back(); }, 4000);

light();
units();
try {
  await Promise.all([queue, snapshot, choices, photos, same, order].map((one) => one.load()));
  if (snapshot.told()) await queue.meet(snapshot.told());
  show();
  snapshot.look();
} catch (error) {
  if (!(error instanceof store.StoreTrouble)) throw error; // a fault of ours: static/js/faults.js says so
  strip.block(error.message);
}
