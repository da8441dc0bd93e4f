// Where an arrow hit: a tap on the panel's drawing, nudges of a millimetre, arrow keys, typed numbers, or can't tell.
// The two boxes hold the answer; everything else writes into them.
// Where it went in, as the spot suggests: measured there, edge, old hit, else the ordinary
// ground of the construction. A person sees it proposed and picks another where it is wrong.

import { glyphHref, slot, svg } from "./drawn.js";
import { spotsOf } from "./next.js";
import { forBox, inchPound, millimetres, placeWords, typedIn } from "./words.js";

const TILE_PX = 24;
const SPOT = 0.8; // of that size are the names of spots, as in butt.css
const TEXT_PX = 18; // on the screen, however large the panel is drawn
const CLOSER = 2.6;
const STEPS = { left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1] };

/** Bind the figure of a reading to a set-up. `changed` is called with the new place. */
export function bindPlace(form, setup, label, changed) {
  const drawing = setup.drawing;
  const figure = slot(form, "figure");
  const touch = form.querySelector("[data-touch]");
  const sheetSvg = form.querySelector("[data-drawing]");
  const boxes = { x: form.querySelector("[name=x]"), y: form.querySelector("[name=y]") };
  const unknown = form.querySelector("[data-cant-tell]");
  let hits = [];
  let close = false;
  let sizes = { tile: 20, text: 14 }; // in units of the drawing itself

  function measure() {
    const shown = sheetSvg.getBoundingClientRect().width;
    if (!shown) return;
    const unit = drawing.width / (close ? CLOSER : 1) / shown;
    sizes = { tile: TILE_PX * unit, text: TEXT_PX * unit };
    sheetSvg.style.setProperty("--panel-type", `${sizes.text.toFixed(2)}px`);
  }

  const view = (x_m, y_m) => [drawing.middle[0] + x_m * drawing.units_per_m, drawing.middle[1] - y_m * drawing.units_per_m];
  // A plan's spots by the numbers that the line says; of the panel's own those whose name is none of these.
  const planned = drawing ? spotsOf(setup).map(([name, x, y]) => [name, ...view(x, y), drawing.spot_radius]) : [];
  const spots = drawing ? [...drawing.spots.filter(([name]) => !planned.some(([other]) => other === name)), ...planned] : [];
  const place = () => {
    const [x, y] = [boxes.x, boxes.y].map((box) => millimetres(typedIn(box)));
    return { x, y, known: Number.isFinite(x) && Number.isFinite(y), unknown: unknown.getAttribute("aria-pressed") === "true" };
  };

  function draw() {
    const { x, y, unknown: cannot, known } = place();
    slot(form, "where").textContent = cannot ? "Can’t tell where" : known ? placeWords(x, y) : drawing ? "Tap where it hit" : "Enter where it hit";
    unknown.classList.toggle("button--need", cannot);
    if (!drawing) return;
    measure();
    const taken = tilesOf(hits, view, sizes.tile);
    const marks = hitMarks(hits, view, drawing, sizes, taken);
    sheetSvg.replaceChildren(...sheet(drawing, spots, taken, sizes.text * SPOT), ...marks, ...(known ? here(view(x, y), label, drawing, sizes) : []));
    const middle = known ? view(x, y) : drawing.middle;
    const size = [drawing.width, drawing.height].map((one) => one / (close ? CLOSER : 1));
    const box = [...(close ? middle.map((one, n) => one - size[n] / 2) : [0, 0]), ...size];
    sheetSvg.setAttribute("viewBox", box.map((one) => one.toFixed(1)).join(" "));
    form.querySelector("[data-zoom]").textContent = close ? "Whole panel" : "Closer";
  }

  function put(x_m, y_m) {
    boxes.x.value = forBox(boxes.x, x_m);
    boxes.y.value = forBox(boxes.y, y_m);
    tell(false);
  }

  function tell(cannot) {
    unknown.setAttribute("aria-pressed", String(cannot));
    if (cannot) boxes.x.value = boxes.y.value = "";
    draw();
    changed(place());
  }

  function nudge(way, far = 1) {
    const { x, y, known } = place();
    const [across, up] = known ? STEPS[way] : [0, 0];
    put((known ? x : 0) + (across * far) / 1000, (known ? y : 0) + (up * far) / 1000);
  }

  function adjust(open) {
    slot(form, "move").hidden = !open;
    form.querySelector("[data-adjust]").setAttribute("aria-expanded", String(open));
  }

  /** The keypad of a phone may have no minus: left and right, up and down are said by a key. */
  function turn(name) {
    const text = boxes[name].value.trim();
    if (text) boxes[name].value = /^[-−]/.test(text) ? text.slice(1).trim() : `−${text}`;
    boxes[name].dispatchEvent(new Event("input", { bubbles: true }));
  }

  if (!drawing) {
    touch.hidden = true;
    form.querySelector("[data-zoom]").hidden = true;
    adjust(true);
  } else {
    touch.addEventListener("click", (event) => {
      const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(sheetSvg.getScreenCTM().inverse());
      put((spot.x - drawing.middle[0]) / drawing.units_per_m, (drawing.middle[1] - spot.y) / drawing.units_per_m);
    });
    touch.addEventListener("keydown", (event) => {
      const way = event.key.replace("Arrow", "").toLowerCase();
      if (!STEPS[way]) return;
      event.preventDefault();
      nudge(way, event.shiftKey ? 10 : 1);
    });
    form.querySelector("[data-zoom]").addEventListener("click", () => { close = !close; draw(); });
  }
  figure.addEventListener("click", (event) => {
    const way = event.target.closest("[data-nudge]");
    if (way) nudge(way.dataset.nudge);
    if (event.target.closest("[data-adjust]")) adjust(slot(form, "move").hidden);
    const side = event.target.closest("[data-side]");
    if (side) turn(side.dataset.side);
    if (event.target.closest("[data-cant-tell]")) tell(unknown.getAttribute("aria-pressed") !== "true");
  });
  for (const box of Object.values(boxes)) {
    box.addEventListener("input", () => { unknown.setAttribute("aria-pressed", "false"); draw(); changed(place()); });
  }
  new ResizeObserver(() => { if (drawing) draw(); }).observe(touch);
  return {
    place,
    adjust,
    redraw(some) { hits = some; draw(); },
    say(cannot) { unknown.setAttribute("aria-pressed", String(cannot)); draw(); },
    outline: () => sheetSvg.querySelector(".panel__sheet"),
    view,
  };
}

function sheet(drawing, spots, taken, textSize) {
  const drawn = [svg("path", { class: "panel__sheet", d: drawing.outline })];
  if (drawing.folds) drawn.push(svg("path", { class: "panel__fold", d: drawing.folds }));
  for (const [cx, cy] of drawing.rivets) drawn.push(svg("circle", { class: "panel__rivet", cx, cy, r: drawing.rivet_radius }));
  const rings = spots.map(([, x, y, r]) => around(x, y, r, r));
  spots.forEach(([name, cx, cy, r], n) => {
    // In its ring, or where a hit or its words lie on that, beside that.
    const clear = [...taken, ...rings.filter((one) => one !== rings[n])];
    const under = taken.find((one) => over(one, rings[n]));
    const at = labelFor(name, under || rings[n], clear, drawing, textSize, !under);
    taken.push(at.box);
    drawn.push(svg("g", { class: "panel__aim" }, svg("circle", { cx, cy, r }),
      written("panel__spot", at, name)));
  });
  const [words, bar, x, y] = (inchPound() && drawing.bar_in) || [drawing.bar_words, drawing.bar, drawing.bar_x, drawing.bar_y];
  drawn.push(svg("path", { class: "panel__scale", d: bar }), svg("text", { class: "panel__end", x, y }, words));
  return drawn;
}

function hitMarks(hits, view, drawing, { tile: tileSize, text: textSize }, taken) {
  return hits.map((one, n) => {
    const [x, y] = view(one.reading.x_m, one.reading.y_m);
    const levels = levelsOf(one);
    const group = svg("g");
    levels.forEach((level, place) => group.append(tileAt(level, x + (place - levels.length / 2) * tileSize, y - tileSize / 2, tileSize, levels.length > 1)));
    const words = `${n + 1} ${one.said.label}`;
    const label = labelFor(words, taken[n], taken, drawing, textSize);
    if (label.free) {
      taken.push(label.box);
      group.append(written("panel__words", label, words));
    }
    return group;
  });
}

const written = (look, { anchor, x, y }, words) => svg("text", { class: `${look} ${anchor}`, x, y }, words);

function levelsOf({ reading: { said } }) {
  const low = Number(said.outcome_low ?? 0);
  const levels = [low, Number(said.outcome_high ?? low)]; // two that stand next to each other, or the same twice
  return said.hit === "on_panel" ? [...new Set(levels)] : [null];
}

function tilesOf(hits, view, size) {
  // "3 or 4" is two tiles side by side.
  return hits.map((one) => around(...view(one.reading.x_m, one.reading.y_m), (levelsOf(one).length * size) / 2, size / 2));
}

const over = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
const around = (x, y, across, up) => ({ left: x - across, right: x + across, top: y - up, bottom: y + up });

function tileAt(level, x, y, tileSize, open) {
  const name = level === null ? "partial" : `outcome-${level}`;
  const mark = svg("svg", { class: "panel__glyph", x: x + tileSize / 10, y: y + tileSize / 10, width: tileSize * 0.8, height: tileSize * 0.8 }, svg("use", { href: glyphHref(name) }));
  return svg("g", { class: level === null ? "" : `outcome--${level}` },
    svg("rect", { class: open ? "panel__tile panel__tile--open" : "panel__tile", x, y, width: tileSize, height: tileSize }), mark);
}

/** Where words stand by a mark, clear of what is taken; `inside`: in the mark where that can be. Not `free`: no place is clear. */
function labelFor(words, tile, taken, drawing, textSize, inside) {
  const wide = words.length * textSize * 0.65;
  const level = (tile.top + tile.bottom) / 2 + textSize * 0.36;
  const x = (tile.left + tile.right) / 2;
  const mid = { x, anchor: "panel__mid", left: x - wide / 2 };
  const tries = [
    ...(inside ? [{ ...mid, y: level }] : []),
    { x: tile.right + 4, anchor: "", left: tile.right + 4, y: level },
    { x: tile.left - 4, anchor: "panel__end", left: tile.left - 4 - wide, y: level },
    { ...mid, y: tile.bottom + textSize },
    { ...mid, y: tile.top - 4 },
  ].map((one) => {
    const box = { left: one.left, right: one.left + wide, top: one.y - textSize, bottom: one.y + 2 };
    return { ...one, box, free: box.left > 0 && box.right < drawing.width && !taken.some((other) => over(box, other)) };
  });
  return tries.find((one) => one.free) || tries[0];
}

function here([x, y], label, drawing, { text: size }) {
  const end = x + 3.4 * size > drawing.width;
  const text = { class: end ? "panel__now panel__end" : "panel__now", x: x + (end ? -1 : 1) * size * 0.5, y: y - size * 0.5 };
  const [far, near, long] = [size * 1.2, size * 0.3, size * 0.9];
  const d = `M${x - far} ${y}h${long}M${x + near} ${y}h${long}M${x} ${y - far}v${long}M${x} ${y + near}v${long}`;
  return [svg("path", { class: "panel__here", d }), svg("text", text, label)];
}

const REACH_M = 0.005; // of an area whose own reach nobody measured: the accuracy of a tap (common practice, no source)
const HOLE_M = 0.008; // an opened hit takes up about this much round its middle (common practice, no source)
function distance(area, x, y) {
  const [ax, ay] = [area.x, area.y];
  const [bx, by] = [area.to_x ?? ax, area.to_y ?? ay];
  const length = (bx - ax) ** 2 + (by - ay) ** 2;
  const t = length ? Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length)) : 0;
  return Math.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay));
}

function toEdge(outline, spot, units) {
  const whole = outline.getTotalLength();
  let least = Infinity;
  for (let n = 0; n < 240; n += 1) {
    const point = outline.getPointAtLength((whole * n) / 240);
    least = Math.min(least, Math.hypot(point.x - spot[0], point.y - spot[1]));
  }
  return least / units;
}

/** One of the set-up's entries, for a place in metres. `outline` and `view`: the drawn panel, if it is drawn. */
export function proposed(setup, place, hits, outline, view) {
  const found = [];
  const near = (entry, away) => found.push({ entry, away });
  for (const hit of hits) {
    const away = Math.hypot(hit.reading.x_m - place.x, hit.reading.y_m - place.y);
    const opened = Number(hit.reading.said.outcome_high ?? 0) >= 3;
    if (away <= (opened ? HOLE_M : HOLE_M / 2)) near("old_hit", away - HOLE_M); // a hole outranks what was there before it
  }
  for (const area of setup.areas) {
    const away = distance(area, place.x, place.y);
    if (away <= (area.reach ?? REACH_M)) near(area.sort, away); // a spot to aim at is no entry, so not fitting below
  }
  if (outline && setup.drawing) {
    const away = toEdge(outline, view(place.x, place.y), setup.drawing.units_per_m);
    if (away <= (setup.position_accuracy_m ?? REACH_M)) near("panel_edge", away);
  }
  const [nearest] = found.filter((one) => setup.entries.includes(one.entry)).sort((a, b) => a.away - b.away);
  return nearest ? nearest.entry : setup.plain_entry;
}
