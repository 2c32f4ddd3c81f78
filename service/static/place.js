// Where a step stands: what the studio has of it, and what waits here on top.
(() => {
  "use strict";
  const DUST = 1e-9;
  const tidy = (number) => Math.round(number * 10) / 10;
  const HOUR_MS = 3_600_000;

  // Which pass is being worked and how much of it is done, as the studio itself reckons it.
  const passInHand = (passes, done) => {
    let left = done;
    for (const [at, { whole }] of passes.entries()) {
      if (left < whole - DUST || at === passes.length - 1) return { at, done: tidy(left) };
      left -= whole;
    }
    return { at: 0, done: 0 };
  };

  const inWords = (milliseconds) => {
    const minutes = milliseconds / 60_000;
    if (minutes < 1) return "under a minute";
    if (milliseconds < HOUR_MS * 0.95) return `about ${minutes < 10 ? Math.round(minutes) : Math.round(minutes / 5) * 5} min`;
    const halves = Math.round(minutes / 30);
    return `about ${Math.floor(halves / 2)}${halves % 2 ? "½" : ""} h`;
  };

  // One's own counts that may still be taken back, the newest first: those on this device, then those the studio told of.
  const undoable = (counts, told, known, most = 10) => {
    const gone = new Set(counts.filter(({ kind, state }) => kind === "counter" && state !== "refused").map((each) => each.takes_back));
    const stands = new Set(told.map(({ key }) => key));
    const here = counts.filter(({ kind, state }) => kind === "work" && state !== "refused").reverse();
    const mine = here.filter(({ key, state }) => !gone.has(key) && !(state === "sent" && known.has(key) && !stands.has(key)));
    const listed = new Set(here.map(({ key }) => key));
    return [...mine, ...told.filter(({ key }) => !listed.has(key) && !gone.has(key))].slice(0, most);
  };

  // Minutes at it today: what the studio told of, and what was counted here since or has not come in yet.
  const atItToday = (counts, { seconds, toldAt }, known, now = Date.now()) => {
    const day = new Date(now).toDateString();
    const told = new Date(toldAt).toDateString() === day ? seconds / 60 : 0;
    const gone = new Set(counts.filter(({ kind, state }) => kind === "counter" && state !== "refused").map((each) => each.takes_back));
    const here = counts.filter(({ key, kind, state, turn }) => kind === "work" && state !== "refused" && !gone.has(key) && !known.has(key)
      && new Date(turn).toDateString() === day && (state !== "sent" || turn > toldAt));
    return told + here.reduce((sum, { minutes }) => sum + (minutes ?? 0), 0);
  };
  const asTime = (minutes) => {
    const whole = Math.ceil(minutes - DUST), hours = Math.floor(whole / 60), rest = whole % 60;
    return [hours && `${hours} h`, rest && `${rest} min`].filter(Boolean).join(" ");
  };

  // A number as the studio writes it.
  const figure = (number) => String(number).replace(".", document.getElementById("table")?.dataset.decimal ?? ".");

  Stopline.place = { atItToday, asTime, figure, passInHand, inWords, tidy, undoable };
})();
