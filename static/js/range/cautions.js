// The short cautions of line, butt and bench: shown until this phone's holder says once, per session, that they are read.

import * as store from "./store.js";
import { copy, aloud } from "./drawn.js";

/** Show them in `box` unless they were ticked for this session. */
export async function show(box, place, session) {
  if (!session || box.dataset.session === session) return;
  box.dataset.session = session;
  const key = `caution ${place} ${session}`;
  if (await store.read("kept", key)) {
    box.replaceChildren();
    return;
  }
  const notice = copy(`range-cautions-${place}`);
  notice.querySelector("[data-caution-read]").addEventListener("click", async () => {
    await store.write([{ in: "kept", key, put: Date.now() }]);
    const here = box.contains(document.activeElement); // whoever went on meanwhile is not called back
    box.replaceChildren();
    if (here) document.getElementById("main").focus();
    aloud("Cautions read");
  });
  box.replaceChildren(notice);
}
