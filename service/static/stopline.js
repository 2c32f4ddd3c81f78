// Small courtesies over pages that work without it. The event names of htmx 2 and 4 meet in `on` and nowhere else.
(() => {
  "use strict";
  const names = {
    asked: ["htmx:beforeRequest", "htmx:before:request"],
    answered: ["htmx:afterRequest", "htmx:after:request", "htmx:finally:request"],
    swapped: ["htmx:afterSwap", "htmx:after:swap"],
    failed: ["htmx:responseError", "htmx:sendError", "htmx:timeout", "htmx:error"],
  };
  const on = (name, act) => {
    for (const event of names[name]) document.addEventListener(event, act);
  };
  // A form that was swapped away is no longer the one that hears of its answer, but it is the one that asked.
  const source = ({ detail, target }) => detail?.requestConfig?.elt ?? detail?.elt ?? detail?.ctx?.sourceElement ?? target;
  const within = (node, selector) =>
    !(node instanceof Element) ? null : node.matches(selector) ? node : node.querySelector(selector);

  // What stands on the page itself is only to be heard here.
  const say = (sentence, stands = false) => {
    const said = document.getElementById("said");
    if (!said || !sentence) return;
    said.textContent = "";
    said.classList.add("late");
    said.classList.toggle("heard", stands);
    requestAnimationFrame(() => { said.textContent = sentence; });
  };

  const show = (summary) => {
    summary.focus();
    if (!document.title.startsWith("Error:")) document.title = `Error: ${document.title}`;
  };

  on("swapped", ({ target }) => {
    const summary = within(target, ".error-summary");
    if (summary) return show(summary);
    if (!document.querySelector(".error-summary")) document.title = document.title.replace(/^Error: /, "");
    const told = within(target, "[data-said]");
    if (told) say(told.dataset.said || told.textContent.trim(), Boolean(told.querySelector(".told")));
  });

  // A refusal comes as a whole page: its sentences are said here, where what was typed still stands.
  on("failed", ({ detail }) => {
    const answer = detail?.xhr?.responseText ?? detail?.ctx?.text ?? "";
    const fault = new DOMParser().parseFromString(answer, "text/html").querySelector("#fault h1");
    const sentences = [fault, fault?.nextElementSibling].map((part) => part?.textContent.trim()).filter(Boolean);
    const refusal = sentences.join(". ").replaceAll("..", ".");
    say(refusal || "That did not reach the studio's book. What you typed is still here: please try again.");
  });

  // One press, one request. The server counts a key once in any case; this only saves the wait. What is asked while
  // somebody types holds nothing: leaving the last field asks, and the press that left it must still be felt.
  const cause = ({ detail }) => (detail?.requestConfig?.triggeringEvent ?? detail?.ctx?.sourceEvent)?.type;
  const held = new WeakMap();
  on("asked", (event) => {
    const form = source(event)?.closest?.("form");
    if (!form || held.has(form) || ["change", "input"].includes(cause(event))) return;
    const buttons = [...form.querySelectorAll("button:not([type=button]):not(:disabled)")];
    held.set(form, { buttons, pressed: document.activeElement });
    for (const button of buttons) button.disabled = true;
  });
  on("answered", (event) => {
    const form = source(event)?.closest?.("form");
    const { buttons, pressed } = held.get(form) ?? { buttons: [] };
    held.delete(form);
    for (const button of buttons) button.disabled = false;
    if (document.activeElement !== document.body || !buttons.includes(pressed)) return;
    // A part that was swapped has the same button again under its id.
    (pressed.isConnected ? pressed : document.getElementById(pressed.id))?.focus();
  });

  // A page kept by the browser may be another person's, or old.
  addEventListener("pageshow", ({ persisted }) => { if (persisted) location.reload(); });
  globalThis.Stopline = { on };
})();
