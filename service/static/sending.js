// What waits is sent: when a page opens, when the network or the page comes back, and every fifteen seconds.
(() => {
  "use strict";
  const { waiting } = Stopline;
  const AT_ONCE = 25;
  const EVERY_MS = 15_000;
  const SOON_MS = 1_000;
  const SHOW_AFTER_MS = 100;
  const PATIENCE_MS = 20_000;
  const FIELDS = ["key", "step", "kind", "counted", "takes_back", "minutes", "needles", "pins", "at"];
  const CANNOT_TELL = { unreachable: "unreachable", signIn: "sign in", other: "another person" };

  const written = (count) => Object.fromEntries(FIELDS.filter((name) => count[name] != null).map((name) => [name, count[name]]));

  const post = async (counts) => {
    const asked = {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ account: waiting.account, counts: counts.map(written) }),
      signal: AbortSignal.timeout?.(PATIENCE_MS),
    };
    const answer = await fetch("/api/tallies", asked).catch(() => null);
    if (!answer || answer.status >= 500 || answer.status === 429) return { trouble: CANNOT_TELL.unreachable };
    if (answer.status === 401) return { trouble: CANNOT_TELL.signIn };
    if (answer.status === 403) return { trouble: CANNOT_TELL.other };
    const body = await answer.json().catch(() => null);
    if (answer.ok && body) return { answers: body.answers };
    // One that cannot be read keeps back all that came with it, so each goes alone.
    if (counts.length === 1) return { answers: [{ key: counts[0].key, status: answer.status, detail: body?.errors?.map((each) => each.detail).join(" ") ?? body?.detail ?? "It could not be read." }] };
    const answers = [];
    for (const count of counts) {
      const alone = await post([count]);
      if (alone.trouble) return { answers, trouble: alone.trouble };
      answers.push(...alone.answers);
    }
    return { answers };
  };

  // A count may be refused only because another has not come in yet; so what is refused is asked again after the others.
  const sendAll = async () => {
    let left = (await waiting.all()).filter(({ state }) => state === "waiting");
    while (left.length) {
      const refused = [];
      let kept = 0;
      for (let from = 0; from < left.length; from += AT_ONCE) {
        const turn = new Set(left.slice(from, from + AT_ONCE).map(({ key }) => key));
        await waiting.change(turn, { tries: 1 });
        // One that was undone meanwhile is not sent any more.
        const counts = (await waiting.all()).filter(({ key, state }) => turn.has(key) && state === "waiting");
        if (!counts.length) continue;
        const { answers = [], trouble } = await post(counts);
        const good = answers.filter(({ status }) => status === 200);
        if (good.length) await waiting.sent(good);
        kept += good.length;
        refused.push(...answers.filter(({ status }) => status !== 200));
        if (trouble) return trouble;
      }
      if (!kept) {
        for (const { key, detail } of refused) await waiting.change([key], { state: "refused", detail });
        for (const { step } of left) await waiting.settle(step);
        return "";
      }
      const again = new Set(refused.map(({ key }) => key));
      left = left.filter(({ key }) => again.has(key));
    }
    return "";
  };

  let running, more = false, trouble = "";
  const turn = () => (navigator.locks ? navigator.locks.request(`stopline ${waiting.account}`, sendAll) : sendAll());
  const run = async () => {
    try {
      do {
        more = false;
        trouble = navigator.onLine === false ? CANNOT_TELL.unreachable : await turn().catch(() => CANNOT_TELL.unreachable);
        if (more && !trouble) continue;
        await waiting.tidy().catch(() => {});
        await show();
        soonAgain(); // last, for the network may have come back meanwhile
      } while (more && !trouble);
    } finally {
      running = undefined; // in the same breath in which it was seen that nothing more came
    }
  };
  // A network that has just come back often fails once more, so the first tries follow one another sooner.
  let soon = SOON_MS;
  const soonAgain = () => {
    if (trouble !== CANNOT_TELL.unreachable) soon = SOON_MS;
    else if (navigator.onLine !== false && soon < EVERY_MS) {
      setTimeout(() => { replay().catch(() => {}); }, soon);
      soon *= 2;
    }
  };
  // What is added while others are being sent, or tidied away after it, goes right after them.
  const replay = () => {
    more = true;
    return running ??= run();
  };

  const plural = (number) => `${number} ${number === 1 ? "count" : "counts"}`;
  const say = (waits, refused) => {
    const line = document.getElementById("waiting");
    const why = { [CANNOT_TELL.signIn]: ": sign in again", [CANNOT_TELL.other]: " for somebody who is not signed in now" }[trouble] ?? "";
    const sentences = [waits && `${plural(waits)} waiting to be sent${why}.`, refused && `${plural(refused)} not taken.`];
    const words = sentences.filter(Boolean).join(" ");
    line.hidden = !words;
    line.dataset.why = trouble;
    if (line.firstElementChild.textContent !== words) line.firstElementChild.textContent = words;
  };
  const show = async () => {
    const left = await waiting.left();
    say(left.filter(({ state }) => state !== "refused").length, left.filter(({ state }) => state === "refused").length);
    return left;
  };

  Stopline.sending = { replay };
  if (!waiting.account || !document.getElementById("waiting")) return;
  const go = () => { replay().catch(() => {}); };
  addEventListener("online", () => { soon = SOON_MS; go(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) go(); });
  let later;
  document.addEventListener("stopline:waiting", () => { later ??= setTimeout(() => { later = undefined; show().catch(() => {}); }, SHOW_AFTER_MS); });
  setInterval(async () => {
    const left = await waiting.left().catch(() => []);
    if (left.some(({ state }) => state === "waiting")) go();
  }, EVERY_MS);
  go();
})();
