// Four taps on a photograph fill the eight boxes beside it. The boxes hold the answer; without script they do alone.

const picture = document.querySelector("[data-corners]");
const frame = picture.querySelector("[data-frame]");
const told = document.querySelector("[data-corners-told]");
const boxes = [...document.querySelectorAll("[data-corner]")].sort((a, b) => a.dataset.corner - b.dataset.corner);
const NAMES = ["top left", "top right", "bottom right", "bottom left"];
const high = picture.viewBox.baseVal.height;

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

picture.addEventListener("click", (event) => {
  const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
  const [x, y] = [spot.x, (spot.y * 100) / high];
  const n = meant(x, y);
  boxes[2 * n].value = x.toFixed(2);
  boxes[2 * n + 1].value = y.toFixed(2);
  draw();
  const next = NAMES.findIndex((_, place) => !isSet(place));
  told.textContent = `${NAMES[n]} is set. ${next < 0 ? "Tap near a corner to move it." : `Tap the ${NAMES[next]} next.`}`;
});
for (const box of boxes) box.addEventListener("input", draw);
told.textContent = isSet(3) ? "Tap near a corner to move it." : "Tap the top left corner on the picture first.";
draw();
