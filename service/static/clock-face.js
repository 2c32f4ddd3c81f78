// What is seen of the clock: the minutes since the last count, its buttons, its question, and the word to look up.
(() => {
  "use strict";
  const button = (id, words, act, kind = "second") => {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", id, className: kind, textContent: words });
    made.addEventListener("click", act);
    return made;
  };
  const line = (words, kind = "", role = "") => {
    const made = document.createElement("p");
    made.className = kind;
    if (role) made.setAttribute("role", role);
    made.textContent = words;
    return made;
  };
  const minutes = (milliseconds) => `${Math.floor(milliseconds / 60_000)} min`;

  Stopline.parts = { button, line };
  Stopline.showClock = (host, clock, ended) => {
    const { sitting } = clock;
    const field = document.getElementById("f-minutes");
    if (field) field.placeholder = clock.runs ? String(Stopline.Clock.minutesOf(clock.sinceCount)) : "";
    host.hidden = !sitting;
    const stands = !sitting ? "" : sitting.quiet ? "quiet" : sitting.paused ? "paused" : clock.wantsRest ? "rest" : "runs";
    const face = host.querySelector(".clock-face");
    if (stands && stands === host.dataset.stands && face) {
      face.textContent = words(clock, stands);
      return;
    }
    host.dataset.stands = stands;
    if (!sitting) return host.replaceChildren();
    const acts = document.createElement("p");
    acts.className = "quick";
    const end = button("end-sitting", "End this sitting", () => clock.end().then(ended));
    if (stands === "quiet") acts.append(button("sewed", "I was sewing", () => clock.sewed(), ""), button("did-not", "I was not", () => clock.didNot()), end);
    else if (stands === "paused") acts.append(button("go-on", "Go on", () => clock.goOn(), ""), end);
    else if (stands === "rest") acts.append(button("rested", "I looked up", () => clock.rested(), ""), button("pause", "Stop the clock", () => clock.pause()), end);
    else acts.append(button("pause", "Stop the clock", () => clock.pause()), end);
    const asks = stands === "quiet" || stands === "rest";
    const shown = line(words(clock, stands), `clock-face${asks ? " asks" : ""}`, asks ? "status" : "");
    host.replaceChildren(shown, acts);
  };

  const words = (clock, stands) => {
    const since = minutes(clock.sinceCount);
    if (stands === "quiet") return `Nothing was counted for ${since}, so the clock stands. Were you sewing all that while?`;
    if (stands === "paused") return `The clock stands at ${since} since the last count.`;
    if (stands === "rest") return `${minutes(Date.now() - clock.sitting.rested)} at it: look up, stand, open your hands.`;
    return `${since} since the last count. Type the minutes yourself if that is wrong.`;
  };
})();
