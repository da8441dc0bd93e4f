// How this page writes places, times and outcomes, and reads the lengths that were typed on it.
// The page is kept by the phone and the same for all, so the light and the units that somebody chose are read here, not on the laptop.

const MM = { mm: 1, cm: 10, m: 1000, in: 25.4, '"': 25.4 };

/** A typed length in metres, or NaN: only for drawing at once; the book reads the text itself. */
export function millimetres(text) {
  const found = /^\s*([-−+]?)\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|m|in|")?\s*$/.exec(text ?? "");
  if (!found) return NaN;
  const size = (Number(found[2].replace(",", ".")) * MM[found[3] || "mm"]) / 1000;
  return found[1] === "-" || found[1] === "−" ? -size : size;
}

/** A length without its sign: whole millimetres, or tenths of an inch. */
export const lengthWords = (m) => (inchPound() ? `${(Math.abs(m) / 0.0254).toFixed(1)} in` : `${Math.abs(Math.round(1000 * m))} mm`);

/** "52 mm right, 42 mm up" from the middle, in whole millimetres: a tap is no finer. Where inches are read: "2.0 in right, 1.7 in up". */
export function placeWords(x_m, y_m) {
  if (!Number.isFinite(x_m) || !Number.isFinite(y_m)) return "place not known";
  const some = (m) => (inchPound() ? Math.abs(m) >= 0.00127 : Math.round(1000 * m));
  const parts = [];
  if (some(x_m)) parts.push(`${lengthWords(x_m)} ${x_m > 0 ? "right" : "left"}`);
  if (some(y_m)) parts.push(`${lengthWords(y_m)} ${y_m > 0 ? "up" : "down"}`);
  return parts.join(", ") || "in the middle";
}

export const clockWords = (ms) => new Date(ms).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });

/** "17 Oct" for "2026-10-17": as long as a narrow list has room for. */
export const dayWords = (day) => new Date(`${day}T12:00`).toLocaleDateString("en-GB", { day: "numeric", month: "short" });

export function ageWords(ms) {
  const minutes = Math.floor(ms / 60_000);
  if (minutes < 1) return "under a minute";
  if (minutes < 120) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h` : `${Math.floor(hours / 24)} days`;
}

export const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;

/** "3 Opened or 4 point through" for an outcome of two levels. `levels`: the six words, each with its number. */
export function outcomeWords(levels, low, high) {
  if (low === undefined || low === null) return "";
  const first = levels[Number(low)];
  return high === undefined || high === null || high === low ? first : `${first} or ${levels[Number(high)].toLowerCase()}`;
}

const SPEED = /^\s*(\d+(?:[.,]\d+)?)\s*(m\/s|fps|ft\/s|km\/h|mph)?\s*$/i;
const M_S = { "m/s": 1, fps: 0.3048, "ft/s": 0.3048, "km/h": 1 / 3.6, mph: 0.44704 };

/** A typed speed: { number, unit, m_s }, or { trouble } in a sentence. A first look; the book judges. */
export function speedRead(text) {
  if (/\d,\d{3}\s*$/.test(text)) return { trouble: `“${text.trim()}” can be read two ways. Type 52.6 or 52,6.` };
  const found = SPEED.exec(text);
  if (!found) return { trouble: `“${text.trim()}” is not a speed. Type for example 52.6.` };
  const unit = (found[2] || "m/s").toLowerCase();
  return { number: found[1], unit, m_s: Number(found[1].replace(",", ".")) * M_S[unit] };
}

export function light() {
  const found = /(?:^|;\s*)theme=(sun|paper|dark|follow)/.exec(document.cookie);
  const theme = found ? found[1] : "sun";
  if (theme === "follow") document.documentElement.removeAttribute("data-theme");
  else document.documentElement.dataset.theme = theme;
  for (const key of document.querySelectorAll(".footing__light [name=theme]")) key.setAttribute("aria-pressed", String(key.value === theme));
}

export const inchPound = () => /(?:^|;\s*)units=imperial/.test(document.cookie);

/** The keys that choose them say which is chosen. */
export function units() {
  const now = inchPound() ? "imperial" : "metric";
  for (const key of document.querySelectorAll("[name=units]")) key.setAttribute("aria-pressed", String(key.value === now));
}

const IN_INCHES = { mm: ["in", "in inches"], m: ["ft", "in feet"] };
const BARE = /^\s*[-−+]?\s*\d+(?:[.,]\d+)?\s*$/;

/** The boxes of a form in this phone's units: a bare number in them means what stands beside it. */
export function fitUnits(form) {
  if (!inchPound()) return;
  for (const unit of form.querySelectorAll(".field__unit")) {
    const other = IN_INCHES[unit.textContent.trim()];
    const box = unit.closest(".field").querySelector("input");
    if (!other || !box) continue;
    Object.assign(box.dataset, { bare: unit.textContent.trim(), unit: other[0] });
    unit.textContent = other[0];
    const unseen = unit.closest(".field").querySelector("label .tools-unseen");
    if (unseen) unseen.textContent = unseen.textContent.replace(/in [a-z]+/, other[1]);
  }
}

/** Put what the book was told into a box: in the box's own unit it stands bare, in any other as it was typed. */
export function putTyped(box, value = "") {
  const { bare, unit } = box.dataset;
  const own = unit && value.endsWith(` ${unit}`) && BARE.test(value.slice(0, -unit.length));
  box.value = own ? value.slice(0, -unit.length).trim() : unit && BARE.test(value) ? `${value} ${bare}` : value;
  Object.assign(box.dataset, { told: value, shown: box.value });
}

/** What a box says, as the book is told it. What was left as it stood is told as it was. */
export function typedIn(box) {
  const text = box.value.trim();
  if (text && text === box.dataset.shown) return box.dataset.told;
  return box.dataset.unit && BARE.test(text) ? `${text} ${box.dataset.unit}` : text;
}

/** Metres as a bare number for a box: whole millimetres, or hundredths of an inch. */
export const forBox = (box, metres) => (box.dataset.unit === "in" ? String(Math.round(metres / 0.000254) / 100) : String(Math.round(metres * 1000)));
