// Whatever takes over a second says so: a line moves along the top, and it is told once to those who listen.
(() => {
  "use strict";
  const PATIENCE_MS = 1_000;
  const FILE_MS = 12_000; // a file arrives without a new page
  const FILES = /\.(zip|csv|pdf|toml|ics)(\?|$)/;
  let waits, ends;

  const done = () => {
    clearTimeout(waits);
    clearTimeout(ends);
    document.getElementById("working")?.remove();
  };
  const begin = (isFile) => {
    const words = isFile ? "The file is being put together …" : "Still working on it …";
    done();
    waits = setTimeout(() => {
      const line = document.createElement("p");
      line.id = "working";
      line.setAttribute("role", "status");
      document.body.prepend(line);
      requestAnimationFrame(() => { line.textContent = words; });
    }, PATIENCE_MS);
    if (isFile) ends = setTimeout(done, FILE_MS);
  };

  document.addEventListener("submit", (event) => {
    const { defaultPrevented, target } = event;
    if (!defaultPrevented && target.method !== "dialog") begin(FILES.test(target.elements.then?.value));
  });
  document.addEventListener("click", (event) => {
    const { target, defaultPrevented, button, ctrlKey, metaKey, shiftKey } = event;
    const link = target instanceof Element ? target.closest("a[href]") : null;
    if (!link || defaultPrevented || button || ctrlKey || metaKey || shiftKey || link.target) return;
    const { origin, pathname, hash, search } = new URL(link.href);
    if (origin !== location.origin || (hash && pathname === location.pathname && search === location.search)) return;
    begin(link.hasAttribute("download") || FILES.test(pathname));
  });
  for (const name of ["htmx:beforeRequest", "htmx:before:request"]) document.addEventListener(name, () => begin(false));
  for (const name of ["htmx:afterRequest", "htmx:finally:request"]) document.addEventListener(name, done);
  addEventListener("pagehide", done);
})();
