// Where an arrow struck: a tap on the panel's drawing, nudges of a millimetre, arrow keys, typed numbers, or can't tell.
// The two boxes hold the answer; everything else writes into them.

import { svg, glyphHref, slot } from "./drawn.js";
import { millimetres, placeWords } from "./words.js";

const TILE = 20;
const TEXT = 13.5;
const CLOSER = 2.6;
const STEPS = { left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1] };
const KEYS = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };

/** Bind the figure of a reading to a set-up. `changed` is called with the new place. */
export function bindPlace(form, setup, label, changed) {
  const drawing = setup.drawing;
  const figure = slot(form, "figure");
  const touch = form.querySelector("[data-touch]");
  const picture = form.querySelector("[data-picture]");
  const boxes = { x: form.querySelector("[name=x]"), y: form.querySelector("[name=y]") };
  const unknown = form.querySelector("[data-cant-tell]");
  let hits = [];
  let close = false;

  const view = (x_m, y_m) => [drawing.middle[0] + x_m * drawing.units_per_m, drawing.middle[1] - y_m * drawing.units_per_m];
  const place = () => ({ x: millimetres(boxes.x.value), y: millimetres(boxes.y.value), unknown: unknown.getAttribute("aria-pressed") === "true" });

  function draw() {
    const { x, y, unknown: cannot } = place();
    const known = Number.isFinite(x) && Number.isFinite(y);
    slot(form, "where").textContent = cannot ? "Can’t tell where" : known ? placeWords(x, y) : drawing ? "Tap where it struck" : "Type where it struck";
    unknown.classList.toggle("button--need", cannot);
    if (!drawing) return;
    picture.replaceChildren(...sheet(drawing), ...hitMarks(hits, view, drawing), ...(known ? here(view(x, y), label, drawing) : []));
    const middle = known ? view(x, y) : drawing.middle;
    const wide = drawing.width / CLOSER;
    const high = drawing.height / CLOSER;
    const box = close ? [middle[0] - wide / 2, middle[1] - high / 2, wide, high] : [0, 0, drawing.width, drawing.height];
    picture.setAttribute("viewBox", box.map((one) => one.toFixed(1)).join(" "));
    form.querySelector("[data-zoom]").textContent = close ? "Whole panel" : "Closer";
  }

  function put(x_m, y_m) {
    boxes.x.value = String(Math.round(x_m * 1000));
    boxes.y.value = String(Math.round(y_m * 1000));
    tell(false);
  }

  function tell(cannot) {
    unknown.setAttribute("aria-pressed", String(cannot));
    if (cannot) boxes.x.value = boxes.y.value = "";
    draw();
    changed(place());
  }

  function nudge(way, far = 1) {
    const { x, y } = place();
    const known = Number.isFinite(x) && Number.isFinite(y);
    const [across, up] = known ? STEPS[way] : [0, 0];
    put((known ? x : 0) + (across * far) / 1000, (known ? y : 0) + (up * far) / 1000);
  }

  if (!drawing) {
    touch.hidden = true;
    form.querySelector("[data-zoom]").hidden = true;
    slot(form, "move").open = true;
  } else {
    touch.addEventListener("click", (event) => {
      const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
      put((spot.x - drawing.middle[0]) / drawing.units_per_m, (drawing.middle[1] - spot.y) / drawing.units_per_m);
    });
    touch.addEventListener("keydown", (event) => {
      const way = KEYS[event.key];
      if (!way) return;
      event.preventDefault();
      nudge(way, event.shiftKey ? 10 : 1);
    });
    form.querySelector("[data-zoom]").addEventListener("click", () => { close = !close; draw(); });
  }
  figure.addEventListener("click", (event) => {
    const way = event.target.closest("[data-nudge]");
    if (way) nudge(way.dataset.nudge);
    if (event.target.closest("[data-cant-tell]")) tell(unknown.getAttribute("aria-pressed") !== "true");
  });
  for (const box of Object.values(boxes)) {
    box.addEventListener("input", () => { unknown.setAttribute("aria-pressed", "false"); draw(); changed(place()); });
  }
  return {
    place,
    redraw(some) { hits = some; draw(); },
    say(cannot) { unknown.setAttribute("aria-pressed", String(cannot)); draw(); },
    outline: () => picture.querySelector(".panel__sheet"),
    view,
  };
}

function sheet(drawing) {
  const drawn = [svg("path", { class: "panel__sheet", d: drawing.outline })];
  if (drawing.folds) drawn.push(svg("path", { class: "panel__fold", d: drawing.folds }));
  for (const [cx, cy] of drawing.rivets) drawn.push(svg("circle", { class: "panel__rivet", cx, cy, r: drawing.rivet_radius }));
  for (const [name, x, y, r] of drawing.spots) {
    drawn.push(svg("g", { class: "panel__aim" }, svg("circle", { cx: x, cy: y, r }),
      svg("text", { class: "panel__mid panel__spot", x, y: y + 4.5 }, name)));
  }
  drawn.push(svg("path", { class: "panel__scale", d: drawing.bar }),
    svg("text", { class: "panel__end", x: drawing.bar_x, y: drawing.bar_y }, drawing.bar_words));
  return drawn;
}

/** Earlier hits: tiles on the true spot, a word beside each where there is room for it. */
function hitMarks(hits, view, drawing) {
  const spots = hits.map((one) => view(one.reading.x_m, one.reading.y_m));
  const taken = spots.map(([x, y]) => ({ left: x - TILE / 2, right: x + TILE / 2, top: y - TILE / 2, bottom: y + TILE / 2 }));
  return hits.map((one, n) => {
    const [x, y] = spots[n];
    const said = one.reading.said;
    const low = Number(said.outcome_low ?? 0);
    const rungs = said.hit === "fair_target" ? range(low, Number(said.outcome_high ?? low)) : [null];
    const group = svg("g");
    rungs.forEach((rung, place) => group.append(tileAt(rung, x + (place - rungs.length / 2) * TILE, y - TILE / 2, rungs.length > 1)));
    const words = `${n + 1} ${one.said.label}`;
    const label = labelFor(words, taken[n], taken, drawing);
    if (label) {
      taken.push(label.box);
      group.append(svg("text", { class: `panel__words ${label.anchor}`, x: label.x.toFixed(1), y: label.y.toFixed(1) }, words));
    }
    return group;
  });
}

const range = (low, high) => Array.from({ length: high - low + 1 }, (_, n) => low + n);

function tileAt(rung, x, y, open) {
  const name = rung === null ? "partial" : `rung-${rung}`;
  const mark = svg("svg", { class: "panel__glyph", x: x + 2, y: y + 2, width: TILE - 4, height: TILE - 4 }, svg("use", { href: glyphHref(name) }));
  return svg("g", { class: rung === null ? "" : `rung--${rung}` },
    svg("rect", { class: open ? "panel__tile panel__tile--open" : "panel__tile", x, y, width: TILE, height: TILE }), mark);
}

function labelFor(words, tile, taken, drawing) {
  const wide = words.length * TEXT * 0.56;
  const middle = (tile.top + tile.bottom) / 2;
  const tries = [
    { x: tile.right + 4, anchor: "", left: tile.right + 4, y: middle + 5 },
    { x: tile.left - 4, anchor: "panel__end", left: tile.left - 4 - wide, y: middle + 5 },
    { x: (tile.left + tile.right) / 2, anchor: "panel__mid", left: (tile.left + tile.right - wide) / 2, y: tile.bottom + TEXT },
    { x: (tile.left + tile.right) / 2, anchor: "panel__mid", left: (tile.left + tile.right - wide) / 2, y: tile.top - 4 },
  ].map((one) => ({ ...one, box: { left: one.left, right: one.left + wide, top: one.y - TEXT, bottom: one.y + 2 } }));
  const over = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
  return tries.find(({ box }) => box.left > 0 && box.right < drawing.width && !taken.some((other) => over(box, other)));
}

function here([x, y], label, drawing) {
  const end = x + 60 > drawing.width;
  const text = { class: end ? "panel__now panel__end" : "panel__now", x: x + (end ? -9 : 9), y: y - 9 };
  return [svg("path", { class: "panel__here", d: `M${x - 22} ${y}h17M${x + 5} ${y}h17M${x} ${y - 22}v17M${x} ${y + 5}v17` }), svg("text", text, label)];
}
