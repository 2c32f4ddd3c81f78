// What is typed into a part of a form while that part is asked for anew stands in the new one too.
(() => {
  "use strict";
  const { on } = Stopline;
  const typedMeanwhile = new Map();
  on("asked", ({ detail }) => {
    const part = detail?.target ?? detail?.ctx?.target;
    if (part instanceof Element && part.querySelector("[name]")) typedMeanwhile.set(part, new Map());
  });
  document.addEventListener("input", ({ target }) => {
    for (const [part, typed] of typedMeanwhile) if (target.id && part.contains(target)) typed.set(target.id, target);
  });
  on("swapped", () => {
    for (const [part, typed] of typedMeanwhile) {
      if (part.isConnected) continue;
      typedMeanwhile.delete(part);
      for (const [id, was] of typed) {
        const field = document.getElementById(id);
        if (!field) continue;
        if ("checked" in was) field.checked = was.checked;
        if (was.type !== "checkbox" && was.type !== "radio") field.value = was.value;
        field.dispatchEvent(new Event(field.matches("select") ? "change" : "input", { bubbles: true }));
      }
    }
  });
})();
