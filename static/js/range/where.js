// Which of line, butt and bench is in sight. The address stays /range, with the place behind the #: only that one page is
// asked of the laptop and kept by the browser, so a tab that was thrown away at the butt opens there again without it.

const HOME = "/range";
let now = HOME;

/** { path, hash } of an address bar's words: "/range#butt&shot=…", or "/range/butt#shot=…" as links are written. */
export function there() {
  const found = /^#(butt|bench)(?:&(.*))?$/.exec(location.hash);
  if (found) return { path: `${HOME}/${found[1]}`, hash: found[2] ? `#${found[2]}` : "" };
  return { path: location.pathname, hash: location.hash };
}

/** How a link's address stands in the address bar. */
export function kept(address) {
  const [path, hash] = address.split("#");
  const behind = [path.slice(HOME.length + 1), hash].filter(Boolean).join("&");
  return behind ? `${HOME}#${behind}` : HOME;
}

/** The place in sight, as links are written. */
export const place = () => now;

/** Remember where we are; the browser keeps the one page too when somebody came by another address of it. */
export function arrived(path, hash) {
  now = path;
  if (location.pathname === HOME) return;
  history.replaceState(null, "", kept(path + hash));
  fetch(HOME).catch(() => {});
}

/** The same place with nothing opened in it. */
export const closed = () => history.replaceState(null, "", kept(now));
