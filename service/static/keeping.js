// The step in hand is kept on this device, so that it opens without the network. It needs https, or this very machine.
(() => {
  "use strict";
  const page = document.getElementById("table");
  const { account } = Stopline.waiting;
  if (!page || !account || !navigator.serviceWorker) return;
  navigator.serviceWorker.register("/keeping-worker.js").then(async () => {
    const ready = await navigator.serviceWorker.ready;
    ready.active.postMessage({ account, page: location.pathname, files: page.dataset.keep.split(" ") });
  }).catch(() => {});
})();
