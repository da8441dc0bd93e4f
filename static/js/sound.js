// A recording opened in the page: how loud it is from step to step, loose and hit as the laptop finds them in that,
// and marks that a finger or the arrow keys put right. The number boxes hold the answer; without script they do alone.

const RATE = 48000;
const STEP_S = 0.0005;
const PER_STEP = RATE * STEP_S;
const MOST_S = 60;
const QUIETEST = -1500; // tenths of a decibel
const SHOWN_DB = 70; // from the loudest down to the bottom of the photo
const CLOSE_S = 0.08; // how much a close view shows
const [WIDE, HIGH] = [340, 96];
const TELLING = ["distance", "temperature", "to_bow", "to_target", "into"]; // boxes that say which noises can be a flight

const file = document.querySelector("[data-recording]");
const told = document.querySelector("[data-recording-told]");
const trace = document.querySelector("[data-trace]");
const views = new Map([...document.querySelectorAll("[data-view]")].map((svg) => [svg.dataset.view, svg]));
const marks = { loose: null, hit: null };
const from = { whole: 0, loose: 0, hit: 0 }; // where each view begins, s
let levels = [];
let heard = [];
let byHand = false; // a mark that somebody placed is never moved by the search

const length = () => levels.length * STEP_S;
const shownS = (view) => (view === "whole" ? Math.max(length(), 0.001) : CLOSE_S);
const xOf = (view, t) => ((t - from[view]) / shownS(view)) * WIDE;
const box = (name) => document.querySelector(`#speeds-worked [name="${name}"]`);

/** Mean energy of every step between 600 Hz and 8 kHz, in tenths of a decibel below the loudest; null for silence. */
async function levelsOf(recording) {
  const whole = await new OfflineAudioContext(1, 1, RATE).decodeAudioData(await recording.arrayBuffer());
  const offline = new OfflineAudioContext(1, Math.ceil(Math.min(whole.duration, MOST_S) * RATE), RATE);
  const source = offline.createBufferSource();
  source.buffer = whole;
  const filters = [["highpass", 600], ["lowpass", 8000]].map(([type, frequency]) => {
    const filter = offline.createBiquadFilter();
    filter.type = type;
    filter.frequency.value = frequency;
    filter.Q.value = -3.01; // in decibels here: no hump at the edge
    return filter;
  });
  source.connect(filters[0]).connect(filters[1]).connect(offline.destination);
  source.start();
  const sound = (await offline.startRendering()).getChannelData(0);
  const energy = Array.from({ length: Math.floor(sound.length / PER_STEP) }, (_, n) => {
    let sum = 0;
    for (let at = n * PER_STEP; at < (n + 1) * PER_STEP; at += 1) sum += sound[at] * sound[at];
    return sum / PER_STEP;
  });
  const loudest = energy.reduce((most, one) => Math.max(most, one), 0);
  if (!loudest) return null;
  return energy.map((one) => Math.max(QUIETEST, Math.round(100 * Math.log10(one / loudest))) || 0).map((one, n) => (energy[n] > 0 ? one : QUIETEST));
}

async function findIn(sent) {
  const typed = Object.fromEntries(TELLING.map((name) => [name, box(name)?.value.slice(0, 200) ?? ""]));
  const answer = await fetch("/api/sound-levels", {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ step_s: STEP_S, levels: sent, typed }),
  });
  if (!answer.ok && answer.status !== 422) throw new Error(`answer ${answer.status}`);
  return answer.json();
}

function wave(view) {
  const perColumn = shownS(view) / WIDE / STEP_S;
  const first = from[view] / STEP_S;
  let path = `M0 ${HIGH}`;
  for (let x = 0; x < WIDE; x += 1) {
    const [a, b] = [Math.floor(first + x * perColumn), Math.floor(first + (x + 1) * perColumn)];
    let most = QUIETEST;
    for (let n = Math.max(0, a); n <= b && n < levels.length; n += 1) most = Math.max(most, levels[n]);
    const y = HIGH * Math.min(1, -most / (10 * SHOWN_DB));
    path += `L${x} ${y.toFixed(1)}L${x + 1} ${y.toFixed(1)}`;
  }
  return `${path}L${WIDE} ${HIGH}Z`;
}

function draw() {
  for (const [view, svg] of views) {
    svg.querySelector("[data-wave]").setAttribute("d", wave(view));
    const ticks = heard.map((t) => xOf(view, t)).filter((x) => x >= 0 && x <= WIDE);
    svg.querySelector("[data-heard]").setAttribute("d", ticks.map((x) => `M${x.toFixed(1)} ${HIGH}v-10`).join(""));
  }
  for (const name of ["loose", "hit"]) drawMark(name);
}

function drawMark(name) {
  const t = marks[name] ?? 0;
  views.get("whole").querySelector(`[data-line="${name}"]`).setAttribute("d", `M${xOf("whole", t).toFixed(1)} 0V${HIGH}`);
  const slide = document.querySelector(`[data-mark="${name}"]`);
  slide.setAttribute("transform", `translate(${xOf(name, t).toFixed(1)} 0)`);
  slide.setAttribute("aria-valuemax", length().toFixed(4));
  slide.setAttribute("aria-valuenow", t.toFixed(4));
  slide.setAttribute("aria-valuetext", `${t.toFixed(4)} seconds`);
}

/** Put a mark; its close view follows once it comes near the edge. `by`: the search vouches only for what it found itself. */
function put(name, t, { by = "hand", typed = false } = {}) {
  marks[name] = Math.min(Math.max(0, t), length());
  const x = xOf(name, marks[name]);
  if (x < 0.1 * WIDE || x > 0.9 * WIDE) {
    from[name] = marks[name] - CLOSE_S / 2;
    draw();
  } else drawMark(name);
  if (!typed) box(name).value = marks[name].toFixed(4);
  if (by !== "search") box("times_off").value = "";
  byHand ||= by === "hand";
}

async function open(recording) {
  told.textContent = "Listening…";
  trace.hidden = true;
  try {
    levels = (await levelsOf(recording)) ?? [];
  } catch {
    levels = [];
    told.textContent = "This file can’t be opened as a sound here. Try another form of it, or type the two moments below.";
    return;
  }
  if (levels.length < 200) {
    told.textContent = "Nothing can be heard in it. Try another, or type the two moments below.";
    return;
  }
  byHand = false;
  await search();
}

async function search() {
  let found;
  try {
    found = await findIn(levels);
  } catch {
    found = { why_not: "the laptop could not be asked: put the marks by hand" };
  }
  if (byHand) return; // placed while the answer was on its way
  heard = found.heard_s ?? [];
  trace.hidden = false;
  put("loose", found.loose_s ?? length() / 3, { by: found.loose_s === undefined ? "guess" : "search" });
  put("hit", found.hit_s ?? (2 * length()) / 3, { by: found.hit_s === undefined ? "guess" : "search" });
  if (found.u_s) box("times_off").value = String(found.u_s);
  for (const name of ["loose", "hit"]) from[name] = marks[name] - CLOSE_S / 2;
  draw();
  const others = heard.length === 3 ? "1 other noise" : `${heard.length - 2} other noises`;
  told.textContent = found.why_not
    ? `Release and hit were not found: ${found.why_not}.`
    : `Heard: release at ${marks.loose.toFixed(4)} s, hit at ${marks.hit.toFixed(4)} s, and ${others}. ${found.warning || "Look at the marks."}`;
}

file?.addEventListener("change", () => file.files[0] && open(file.files[0]));

function timeAt(view, event) {
  const svg = views.get(view);
  const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return from[view] + (spot.x / WIDE) * shownS(view);
}

function nearestHeard(t, within) {
  const near = heard.filter((one) => Math.abs(one - t) < within);
  return near.length ? near.reduce((best, one) => (Math.abs(one - t) < Math.abs(best - t) ? one : best)) : t;
}

for (const [view, svg] of views) {
  svg.addEventListener("pointerdown", (event) => {
    const t = timeAt(view, event);
    if (view === "whole") {
      const name = Math.abs(t - marks.loose) <= Math.abs(t - marks.hit) ? "loose" : "hit";
      put(name, nearestHeard(t, (12 / WIDE) * shownS("whole")));
      return;
    }
    svg.setPointerCapture(event.pointerId);
    put(view, t);
    svg.querySelector("[data-mark]").focus();
  });
  svg.addEventListener("pointermove", (event) => {
    if (view !== "whole" && svg.hasPointerCapture(event.pointerId)) put(view, timeAt(view, event));
  });
}

document.addEventListener("keydown", (event) => {
  const slide = event.target.closest?.("[data-mark]");
  if (!slide || !levels.length) return;
  const name = slide.dataset.mark;
  const t = marks[name];
  const step = STEP_S * (event.shiftKey ? 10 : 1);
  const to = {
    ArrowLeft: t - step, ArrowDown: t - step, ArrowRight: t + step, ArrowUp: t + step, Home: 0, End: length(),
    PageUp: heard.find((one) => one > t + STEP_S), PageDown: heard.findLast((one) => one < t - STEP_S),
  };
  if (!(event.key in to)) return;
  event.preventDefault();
  if (to[event.key] !== undefined) put(name, to[event.key]);
});

document.addEventListener("change", (event) => {
  if (levels.length && !byHand && box("loose").value && TELLING.includes(event.target.name) && event.target.closest("#speeds-worked")) search();
});

document.addEventListener("input", (event) => {
  const name = event.target.name;
  if (!levels.length || !["loose", "hit"].includes(name)) return;
  const text = event.target.value.trim().replace(",", ".");
  const t = /^[\d.]+\s*ms$/.test(text) ? parseFloat(text) / 1000 : /^[\d.]+\s*s?$/.test(text) ? parseFloat(text) : NaN;
  if (Number.isFinite(t)) put(name, t, { typed: true });
});
