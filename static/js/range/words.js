// How this page writes places, times and rungs, and reads the lengths that were typed on it.

const MM = { mm: 1, cm: 10, m: 1000, in: 25.4, '"': 25.4 };

/** A typed length in metres, or NaN: only for drawing at once; the book reads the text itself. */
export function millimetres(text) {
  const found = /^\s*([-−+]?)\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|m|in|")?\s*$/.exec(text ?? "");
  if (!found) return NaN;
  const size = (Number(found[2].replace(",", ".")) * MM[found[3] || "mm"]) / 1000;
  return found[1] === "-" || found[1] === "−" ? -size : size;
}

/** "52 mm right, 42 mm up" from the middle, in whole millimetres: a finger is no finer. */
export function placeWords(x_m, y_m) {
  if (!Number.isFinite(x_m) || !Number.isFinite(y_m)) return "place not known";
  const [across, up] = [Math.round(1000 * x_m), Math.round(1000 * y_m)];
  const parts = [];
  if (across) parts.push(`${Math.abs(across)} mm ${across > 0 ? "right" : "left"}`);
  if (up) parts.push(`${Math.abs(up)} mm ${up > 0 ? "up" : "down"}`);
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

/** "Opened or point behind" for a rung between two. `rungs`: the six words. */
export function rungWords(rungs, low, high) {
  if (low === undefined || low === null) return "";
  const first = rungs[Number(low)];
  return high === undefined || high === null || high === low ? first : `${first} or ${rungs[Number(high)].toLowerCase()}`;
}

const TROUBLE = [
  [/^\s*$/, ""],
  [/\d,\d{3}\s*$/, (text) => `“${text}” can be read two ways. Type 52.6 or 52,6.`],
];
const SPEED = /^\s*(\d+(?:[.,]\d+)?)\s*(m\/s|fps|ft\/s|km\/h|mph)?\s*$/i;
const MOST = { "m/s": 150, fps: 492, "ft/s": 492, "km/h": 540, mph: 335 };

/** What is wrong with a typed speed, in a sentence, or "": a first look; the book judges. */
export function speedTrouble(text) {
  for (const [pattern, say] of TROUBLE) if (pattern.test(text)) return say && say(text.trim());
  const found = SPEED.exec(text);
  if (!found) return `“${text.trim()}” is not a speed. Type for example 52.6, or 180 fps.`;
  const value = Number(found[1].replace(",", "."));
  const unit = (found[2] || "m/s").toLowerCase();
  if (value <= 0 || value > MOST[unit]) return `${text.trim()}${found[2] ? "" : " m/s"} is not an arrow’s speed. Type for example 52.6, or 180 fps.`;
  return "";
}
