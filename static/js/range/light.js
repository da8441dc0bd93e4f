// The page is kept by the phone and the same for all, so the light that somebody chose is read here, not on the laptop.

export function light() {
  const found = /(?:^|;\s*)theme=(sun|paper|dark|follow)/.exec(document.cookie);
  const theme = found ? found[1] : "sun";
  if (theme === "follow") document.documentElement.removeAttribute("data-theme");
  else document.documentElement.dataset.theme = theme;
  for (const key of document.querySelectorAll(".footing__light [name=theme]")) key.setAttribute("aria-pressed", String(key.value === theme));
}
