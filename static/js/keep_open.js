// What a reader folded open stays open when a part is fetched again. Told by the words of its summary.

const wordsOf = (fold) => (fold.id || fold.querySelector("summary").textContent.trim());

document.addEventListener("htmx:beforeSwap", (event) => {
  const part = event.detail.target;
  if (!part || !part.id || !event.detail.shouldSwap) return;
  const open = new Set([...part.querySelectorAll("details[open]")].map(wordsOf));
  if (!open.size) return;
  document.addEventListener("htmx:afterSwap", () => {
    const again = document.getElementById(part.id);
    for (const fold of again ? again.querySelectorAll("details") : []) if (open.has(wordsOf(fold))) fold.open = true;
  }, { once: true });
});
