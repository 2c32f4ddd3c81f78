// A press takes a link, a code or a message whole; without this, or where the browser refuses, it can be selected by hand.
(() => {
  "use strict";
  const select = (part) => {
    if (part.select) return part.select();
    getSelection().selectAllChildren(part);
  };
  // Over plain HTTP in a house's own network a browser offers no clipboard, but still copies what is selected.
  const copy = async (part) => {
    try {
      await navigator.clipboard.writeText(part.value ?? part.innerText.trim());
      return true;
    } catch {
      return document.execCommand("copy");
    }
  };
  for (const button of document.querySelectorAll("button[data-copies]")) {
    const part = document.getElementById(button.dataset.copies);
    const told = button.nextElementSibling;
    button.parentElement.hidden = false;
    button.addEventListener("click", async () => {
      told.textContent = "";
      select(part);
      const words = (await copy(part)) ? "Copied" : "It is selected: copy it with your browser.";
      button.focus();
      requestAnimationFrame(() => { told.textContent = words; });
    });
  }
})();
