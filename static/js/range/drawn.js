// Pieces of the page made from its templates, whose markup the server wrote once.

/** A copy of a template's one root element. */
export const copy = (id) => document.getElementById(id).content.firstElementChild.cloneNode(true);

export const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

export function say(root, name, words) {
  const place = slot(root, name);
  if (place && place.textContent !== words) place.textContent = words;
}

const HEARD_MS = 1500; // how long words stand before the next: a reader passes over what is gone at once
const waiting = [];
let speaking = false;

/** Words for a screen reader, in the region that every page has. One after the other: that another bow comes next is not
 * lost because the strip changed in the same moment. */
export function aloud(words) {
  waiting.push(words);
  if (!speaking) speak();
}

function speak() {
  const place = document.getElementById("told");
  const words = waiting.shift();
  speaking = words !== undefined;
  if (!speaking) return;
  place.textContent = ""; // the same words twice are a change only if they were gone between
  setTimeout(() => { place.textContent = words; }, 50);
  setTimeout(speak, HEARD_MS);
}

export const glyphHref = (name) => `${document.body.dataset.glyphs}#${name}`;

const SVG = "http://www.w3.org/2000/svg";

export function svg(name, given = {}, ...inside) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(given)) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}

export function glyph(name) {
  const made = svg("svg", { class: name.startsWith("head-") ? "glyph glyph--head" : "glyph", "aria-hidden": "true" });
  made.append(svg("use", { href: glyphHref(name) }));
  return made;
}

export function tile(level) {
  const made = svg("svg", { class: `outcome__tile outcome--${level}`, "aria-hidden": "true" });
  made.append(svg("use", { href: glyphHref(`outcome-${level}`) }));
  return made;
}

const patterns = new WeakMap(); // what the keys of a choice are copied from: its list may be empty for a while, and fill again

/**
 * Fill a choice whose first key is the pattern for all. Options: { value, words, unseen, glyph, need, disabled }.
 * Nothing is touched while the options stay the same, so a finger never finds its key gone.
 */
export function fillChoice(fieldset, options, chosen) {
  const list = fieldset.querySelector(".choice__list");
  const same = JSON.stringify(options);
  if (!patterns.has(fieldset)) {
    const { id, name } = list.querySelector("input");
    patterns.set(fieldset, { pattern: list.querySelector("label").cloneNode(true), at: id });
    fieldset.dataset.name = name;
  }
  if (fieldset.dataset.same !== same) {
    const { pattern, at } = patterns.get(fieldset);
    list.replaceChildren(...options.map((one, n) => key(pattern, one, n ? `${at}-${n + 1}` : at)));
    fieldset.dataset.same = same;
  }
  for (const input of list.querySelectorAll("input")) input.checked = input.value === chosen;
}

function key(pattern, one, id) {
  const label = pattern.cloneNode(true);
  const input = label.querySelector("input");
  Object.assign(input, { id, value: one.value, disabled: Boolean(one.disabled), checked: false });
  label.classList.toggle("choice__item--need", Boolean(one.need));
  label.replaceChildren(input);
  if (one.glyph) label.append(glyph(one.glyph), " ");
  label.append(one.words);
  if (one.unseen) {
    const unseen = document.createElement("span");
    unseen.className = "tools-unseen";
    unseen.textContent = one.unseen;
    label.append(unseen);
  }
  return label;
}

/** A row of a list: mark, words, small print, and what stands at its right; `href` makes the row one target. */
export function row({ mark, words, small = "", href = "", end = [], need = false, voided = false, id = "" }) {
  const made = copy(href ? "range-row-link" : "range-row");
  say(made, "mark", mark);
  say(made, "words", words);
  say(made, "small", small);
  if (!small) slot(made, "small").remove();
  if (href) slot(made, "words").href = href;
  if (id) made.dataset.row = id;
  made.classList.toggle("row--need", need);
  made.classList.toggle("row--voided", voided);
  made.querySelector(".row__end").append(...end);
  return made;
}

/** Put rows into a list only if they differ, so that a finger or a reader is not thrown off its row. */
export function fillRows(list, rows) {
  const html = rows.map((one) => one.outerHTML).join("");
  if (list.dataset.same === html) return;
  list.dataset.same = html;
  const focused = list.contains(document.activeElement) ? document.activeElement.closest("[data-row]")?.dataset.row : null;
  list.replaceChildren(...rows);
  if (focused) list.querySelector(`[data-row="${focused}"] a, [data-row="${focused}"] button`)?.focus();
}

/** Fill a list to pick from, only if it differs: a menu that is open stays. */
export function fillSelect(select, options, now) {
  const same = JSON.stringify(options);
  if (select.dataset.same !== same) {
    select.replaceChildren(...options.map(([value, words]) => new Option(words, value)));
    select.dataset.same = same;
  }
  if (now !== undefined) select.value = now;
}

/** Say beside a control what is wrong with it, and mark it; "" takes that away. */
export function wrong(box, words) {
  const block = box.classList.contains("field") ? "field" : box.classList.contains("outcomes") ? "outcomes" : "choice";
  let place = box.querySelector("[data-wrong]");
  if (!place && words) {
    place = copy("range-wrong");
    place.className = `${block}__error`;
    place.id = `${box.dataset.name || box.querySelector("input, select, textarea").name}-wrong`;
    box.querySelector(`.${block}__box, .${block}__list`).before(place);
  }
  if (place) {
    say(place, "sentence", words);
    place.hidden = !words;
  }
  box.classList.toggle(`${block}--wrong`, Boolean(words));
  for (const input of box.querySelectorAll("input, select, textarea")) {
    const told = new Set((input.getAttribute("aria-describedby") || "").split(" ").filter(Boolean));
    if (words) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
    if (place) told[words ? "add" : "delete"](place.id);
    if (told.size) input.setAttribute("aria-describedby", [...told].join(" "));
    else input.removeAttribute("aria-describedby");
  }
}

export const chosen = (form, name) => form.querySelector(`[name="${name}"]:checked`)?.value;

/** What a key says, without its small print. */
export function keyWords(input) {
  const key = input.closest("label").cloneNode(true);
  key.querySelector("small")?.remove();
  return key.textContent.replace(/\s+/g, " ").trim();
}

/** The word that the page itself writes on a key, so that it has one home. */
export function wordOf(template, name, value) {
  const input = document.getElementById(template).content.querySelector(`[name="${name}"][value="${value}"]`);
  return input ? keyWords(input) : value;
}

export const outcomeNames = () => [0, 1, 2, 3, 4, 5].map((n) => wordOf("range-reading-view", "outcome_low", String(n)));
