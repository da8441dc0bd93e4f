// Ids that this phone makes alone: UUID version 7 (RFC 9562, section 5.7), from getRandomValues, since randomUUID is
// missing on a plain http address. The counter keeps ids of one millisecond in order; uniqueness rests on chance.

let lastMs = 0;
let counter = 0;

const hex = (number, digits) => number.toString(16).padStart(digits, "0");

export function newId(now = Date.now()) {
  const random = crypto.getRandomValues(new Uint8Array(9));
  if (now > lastMs) {
    lastMs = now;
    counter = random[8];
  } else {
    counter += 1; // the clock stood still or went back: stay on the last millisecond and count on
    if (counter > 0xfff) {
      lastMs += 1;
      counter = 0;
    }
  }
  random[0] = (random[0] & 0x3f) | 0x80;
  const tail = [...random.slice(0, 8)].map((byte) => hex(byte, 2)).join("");
  const time = hex(lastMs, 12);
  return `${time.slice(0, 8)}-${time.slice(8)}-7${hex(counter, 3)}-${tail.slice(0, 4)}-${tail.slice(4)}`;
}
