// Shortcuts of one or two keys, for those who like them: never while something is typed, and never once turned off here.
(() => {
  "use strict";
  const SWITCH = "stopline keys";
  const WAIT_MS = 1_500;
  const off = () => { try { return localStorage.getItem(SWITCH) === "off"; } catch { return false; } };
  const typing = (node) => node instanceof Element && node.closest("input:not([type=checkbox], [type=radio]), select, textarea, [contenteditable], [role=slider]");
  const follow = (selector) => {
    const link = document.querySelector(selector);
    if (link) link.click();
    return Boolean(link);
  };

  const find = () => {
    const field = document.querySelector("main input[type=search]") ?? document.getElementById("look-up");
    field?.closest("details")?.setAttribute("open", "");
    field?.focus();
    field?.select();
    return Boolean(field);
  };

  let sheet;
  const help = async () => {
    if (!sheet) {
      const answer = await fetch("/keys");
      const page = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("keys");
      if (!answer.ok || !page) { location.assign("/keys"); return; }
      sheet = document.createElement("dialog");
      sheet.className = "help-sheet";
      sheet.setAttribute("aria-labelledby", "keys-heading");
      sheet.append(page);
      document.body.append(sheet);
      wire(sheet);
    }
    sheet.showModal();
  };

  const alone = {
    "/": find,
    "?": () => { if (!document.getElementById("keys")) help().catch(() => location.assign("/keys")); else sheet?.showModal(); return true; },
    n: () => follow("main [data-key=n], main .acts a.act[href$='/new']"),
    u: () => follow("main .where a"),
  };

  // The box that turns them off, on the sheet itself; it is kept on this device.
  const wire = (part) => {
    const box = part.querySelector("#keys-on");
    if (!box) return;
    box.closest("[hidden]")?.removeAttribute("hidden");
    box.checked = !off();
    box.addEventListener("change", () => {
      try { localStorage.setItem(SWITCH, box.checked ? "on" : "off"); } catch { /* nothing is kept here */ }
    });
  };
  wire(document);

  let gone = 0;
  document.addEventListener("keydown", (event) => {
    const { key, target, ctrlKey, metaKey, altKey, isComposing, repeat, timeStamp } = event;
    if (ctrlKey || metaKey || altKey || isComposing || repeat || event.defaultPrevented || off()) return;
    if (typing(target) || document.querySelector("dialog[open]")) return;
    const going = timeStamp - gone < WAIT_MS;
    gone = 0;
    if (going && follow(`.ways a[data-go="${CSS.escape(key)}"]`)) return event.preventDefault();
    if (key === "g") { gone = timeStamp; return; }
    if (Object.hasOwn(alone, key) && alone[key]()) event.preventDefault();
  });
})();
