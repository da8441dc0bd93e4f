// Says aloud what was done, and makes a failure visible: a request that comes to nothing must not look like success.

const region = () => document.getElementById("told");
const unheard = () => document.querySelector("[data-unheard]");

function say(words) {
  const place = region();
  if (!place) return;
  // The same words twice are one change to a screen reader, so the region is emptied first.
  place.textContent = "";
  setTimeout(() => { place.textContent = words; }, 50);
}

function showTrouble(why) {
  const notice = unheard();
  if (!notice) return;
  for (const words of notice.querySelectorAll("[data-unheard-why]")) words.hidden = words.dataset.unheardWhy !== why;
  notice.hidden = false;
}

document.addEventListener("proofyard:said", (event) => say(event.detail.value));
document.addEventListener("htmx:sendError", () => showTrouble("away"));
document.addEventListener("htmx:timeout", () => showTrouble("away"));
document.addEventListener("htmx:responseError", () => showTrouble("refused"));
document.addEventListener("htmx:afterOnLoad", (event) => {
  if (event.detail.successful && unheard()) unheard().hidden = true;
});
