// New shots must not take away what somebody is typing. A part that the doorbell refreshes is left as it is while a
// control in it has the focus or holds something unsaved; a notice says how much is new, and shows it on request
// with what was typed put back.

const CONTROLS = "input:not([type=hidden]), select, textarea";
const held = new Map(); // id of the part -> { changes, notice }
const letThrough = new Set(); // ids of parts whose next refresh is wanted

function isChanged(control) {
  if (control.type === "checkbox" || control.type === "radio") return control.checked !== control.defaultChecked;
  if (control.tagName === "SELECT") return [...control.options].some((one) => one.selected !== one.defaultSelected);
  return control.value !== control.defaultValue;
}

function isBusy(part) {
  const controls = [...part.querySelectorAll(CONTROLS)];
  return controls.some((control) => control === document.activeElement || isChanged(control));
}

function typedIn(part) {
  return [...part.querySelectorAll(CONTROLS)].filter((one) => one.id && one.type !== "file" && isChanged(one))
    .map((one) => ({ id: one.id, value: one.value, checked: one.checked }));
}

function putBack(typed) {
  for (const was of typed) {
    const control = document.getElementById(was.id);
    if (!control) continue;
    if (control.type === "checkbox" || control.type === "radio") control.checked = was.checked;
    else control.value = was.value;
  }
}

function refresh(part) {
  letThrough.add(part.id);
  part.dispatchEvent(new CustomEvent("proofyard:changed", { bubbles: true, detail: { changes: 0, only: part.id } }));
}

function hold(part, changes) {
  const before = held.get(part.id) || { changes: 0, notice: null };
  before.changes += changes;
  if (!before.notice || !before.notice.isConnected) {
    const model = document.querySelector("template[data-held-notice]");
    before.notice = model.content.firstElementChild.cloneNode(true);
    before.notice.querySelector("a").href = "#" + part.id;
    before.notice.querySelector("a").dataset.showHeld = part.id;
    part.before(before.notice);
  }
  before.notice.querySelector("a").textContent = before.changes + " new: show";
  held.set(part.id, before);
}

function drop(id) {
  const what = held.get(id);
  if (what && what.notice) what.notice.remove();
  held.delete(id);
}

const ringing = (event) => {
  const asked = event.detail.requestConfig && event.detail.requestConfig.triggeringEvent;
  return asked && asked.type === "proofyard:changed" ? asked : null;
};

document.addEventListener("htmx:beforeSwap", (event) => {
  const bell = ringing(event);
  const part = event.detail.target;
  if (!bell || !part || !part.id || !event.detail.shouldSwap) return;
  if (bell.detail.only && bell.detail.only !== part.id) {
    event.detail.shouldSwap = false; // one part was asked for; the others stay as they are
    return;
  }
  if (!letThrough.delete(part.id) && isBusy(part)) {
    event.detail.shouldSwap = false;
    hold(part, bell.detail.changes ?? 1);
    return;
  }
  drop(part.id);
  const typed = typedIn(part);
  const focused = part.contains(document.activeElement) ? document.activeElement.id : "";
  if (typed.length || focused) {
    document.addEventListener("htmx:afterSwap", () => {
      putBack(typed);
      const again = focused && document.getElementById(focused);
      if (again) again.focus();
    }, { once: true });
  }
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("[data-show-held]");
  if (!link) return;
  event.preventDefault();
  const part = document.getElementById(link.dataset.showHeld);
  if (part) refresh(part);
});

// Left with nothing changed: what was held back can be shown at once.
document.addEventListener("focusout", () => {
  setTimeout(() => {
    for (const id of [...held.keys()]) {
      const part = document.getElementById(id);
      if (!part) drop(id);
      else if (!isBusy(part)) refresh(part);
    }
  }, 0);
});
