// Four taps on a photo fill the eight boxes beside it. The boxes hold the answer; without script they do alone.
// A finger hides what it points at: while it rests or moves on the photo, a magnifier shows the place, and lifting it sets the corner.

const photo = document.querySelector("[data-corners]");
const frame = photo.querySelector("[data-frame]");
const told = document.querySelector("[data-corners-told]");
const boxes = [...document.querySelectorAll("[data-corner]")].sort((a, b) => a.dataset.corner - b.dataset.corner);
const NAMES = ["top left", "top right", "bottom right", "bottom left"];
const high = photo.viewBox.baseVal.height;
const loupe = document.querySelector("[data-loupe]");
const cross = loupe.querySelector("[data-cross]");
const SHOWN = 12; // of a hundred: how much of the photo's width the magnifier holds
const EDGE = SHOWN / 2;

const number = (box) => (box.value.trim() ? Number(box.value.replace("%", "").replace(",", ".").replace("−", "-")) : NaN);
const corner = (n) => [number(boxes[2 * n]), number(boxes[2 * n + 1])];
const isSet = (n) => corner(n).every(Number.isFinite);

function draw() {
  const points = NAMES.map((_, n) => n).filter(isSet).map((n) => `${corner(n)[0]},${(corner(n)[1] * high) / 100}`);
  frame.setAttribute("points", points.join(" "));
}

/** The first that is missing; once all are there, the one nearest to the tap is moved. */
function meant(x, y) {
  const missing = NAMES.findIndex((_, n) => !isSet(n));
  if (missing >= 0) return missing;
  const apart = NAMES.map((_, n) => Math.hypot(corner(n)[0] - x, ((corner(n)[1] - y) * high) / 100));
  return apart.indexOf(Math.min(...apart));
}

/** Where on the photo a pointer is, in its own measure; what lies outside is its edge. */
function placeOf(event) {
  const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(photo.getScreenCTM().inverse());
  return [Math.min(Math.max(spot.x, 0), 100), Math.min(Math.max(spot.y, 0), high)];
}

function magnify(event) {
  const [x, y] = placeOf(event);
  loupe.setAttribute("viewBox", `${x - EDGE} ${y - EDGE} ${SHOWN} ${SHOWN}`);
  cross.setAttribute("d", `M${x - EDGE} ${y}h${SHOWN}M${x} ${y - EDGE}v${SHOWN}`);
  const box = photo.getBoundingClientRect();
  loupe.classList.toggle("photos__loupe--right", event.clientX - box.left < box.width / 2); // away from the finger
  loupe.removeAttribute("hidden");
}

photo.addEventListener("pointerdown", (event) => {
  if (event.pointerType === "mouse") return; // a mouse hides nothing
  photo.setPointerCapture(event.pointerId);
  magnify(event);
});
photo.addEventListener("pointermove", (event) => { if (!loupe.hasAttribute("hidden")) magnify(event); });
for (const over of ["pointerup", "pointercancel"]) photo.addEventListener(over, (event) => {
  if (loupe.hasAttribute("hidden")) return;
  loupe.setAttribute("hidden", "");
  if (over === "pointerup") setCorner(event);
});
photo.addEventListener("click", (event) => { if (event.pointerType === "mouse" || !event.pointerType) setCorner(event); });

function setCorner(event) {
  const [left, top] = placeOf(event);
  const [x, y] = [left, (top * 100) / high];
  const n = meant(x, y);
  boxes[2 * n].value = x.toFixed(2);
  boxes[2 * n + 1].value = y.toFixed(2);
  draw();
  const next = NAMES.findIndex((_, place) => !isSet(place));
  told.textContent = `${NAMES[n]} is set. ${next < 0 ? "Tap near a corner to move it." : `Tap the ${NAMES[next]} next.`}`;
}
for (const box of boxes) box.addEventListener("input", draw);
told.textContent = isSet(3) ? "Tap near a corner to move it." : "Tap the top left corner on the photo first.";
draw();
