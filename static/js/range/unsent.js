// What the book has not, as a text that a person can read out, copy or save: the last way when store or laptop is gone.

import * as queue from "./queue.js";
import * as pictures from "./pictures.js";
import * as seen from "./seen.js";
import { copy, slot } from "./drawn.js";
import { said } from "./needs.js";
import { clockWords } from "./words.js";

const DONE = { strike: "struck through", unstrike: "put back" };

function line(op) {
  const body = Object.entries(op.body).map(([name, value]) => said(name, value)).filter(Boolean).join("; ");
  const why = op.reason ? ` (${op.reason})` : "";
  const trouble = op.problems.map((one) => ` The book said: ${one.sentence}`).join("");
  return `${clockWords(op.made_at)}  ${op.words}: ${DONE[op.action] || body}${why}.${trouble}`;
}

function part(title, ops) {
  return ops.length ? ["", title, ...ops.map(line)] : [];
}

export function text() {
  const phone = seen.seen()?.told.phone;
  const [waiting, refused, unkept] = [queue.waiting(), queue.refused(), queue.notKept()];
  const some = pictures.waiting();
  const all = [...waiting, ...refused, ...unkept];
  const lines = [
    `Proofyard: what ${phone ? `phone ${phone.letter} (${phone.name})` : "this phone"} holds and the book has not, ${new Date().toString().slice(0, 24)}`,
    ...part("Saved on this phone, not yet in the book:", waiting),
    ...part("Needs you:", refused),
    ...part("Not saved on this phone either:", unkept),
    ...(some.length ? ["", `Pictures, saved on this phone: ${some.length}`] : []),
    ...(all.length ? ["", "The same for a machine, one a line:", ...all.map((op) => JSON.stringify(queue.asSent(op)))] : ["", "Nothing: all is in the book."]),
  ];
  return `${lines.join("\n")}\n`;
}

/** The text as it is now, in `box`, to be selected or saved as a file. */
export function show(box) {
  const made = copy("range-unsent");
  const words = text();
  const area = made.querySelector("textarea");
  area.value = words;
  area.addEventListener("focus", () => area.select());
  const link = slot(made, "file");
  link.href = URL.createObjectURL(new Blob([words], { type: "text/plain;charset=utf-8" }));
  link.download = `proofyard-unsent-${new Date().toISOString().slice(0, 16).replace(/[-:]/g, "")}.txt`;
  for (const old of box.querySelectorAll("[download]")) URL.revokeObjectURL(old.href);
  box.replaceChildren(made);
}
