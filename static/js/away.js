// On https a worker keeps the range's page on the phone (range_worker.js). Where a browser refuses it, all is as on plain http.

const workers = navigator.serviceWorker;

if (workers) {
  const { worker, scope } = document.querySelector("[data-worker]").dataset;
  workers.register(worker, { scope, updateViaCache: "none" }).catch(() => {}); // the laptop is away, or nothing may be stored
  // A reload needs no laptop then, so it needs none of the warning that shell.js gives after this.
  window.addEventListener("beforeunload", (event) => { if (workers.controller) event.stopImmediatePropagation(); });
}
