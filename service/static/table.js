// The page at the table: every tap is kept on this device first, shown at once, and sent when the studio can be reached.
(() => {
  "use strict";
  const page = document.getElementById("table");
  const { waiting, sending, place } = Stopline, { figure } = place;
  if (!page || !waiting.account || !globalThis.indexedDB) return;
  const { button, line } = Stopline.parts;
  const at = (id) => document.getElementById(id);
  const hand = JSON.parse(page.dataset.hand);
  const told = JSON.parse(page.dataset.undo);
  const known = new Set(page.dataset.known.split(" "));
  const step = Number(page.dataset.step), unitMs = Number(page.dataset.unitMs);
  const form = at("reach");
  // Lengths are kept in cm and counted in the studio's unit, finely enough that each is kept as it was.
  const each = Number(page.dataset.kept);
  const shown = (number) => (each === 1 ? number : Math.round(number / each * 100) / 100);
  const kept = (number) => place.tidy(number * each);
  let now = { done: shown(Number(page.dataset.done)), quantity: shown(Number(page.dataset.quantity)) };
  let counts = [];

  const tidy = (number) => (each === 1 ? place.tidy(number) : Math.round(number * 100) / 100);
  const amount = (number) => `${figure(tidy(number))} ${number === 1 ? hand.one : hand.several}`;
  const pass = () => {
    const found = place.passInHand(hand.passes, now.done);
    return { ...hand.passes[found.at], at: found.at, done: each === 1 ? found.done : now.done };
  };

  const onPage = { id: step, done: Number(page.dataset.done), quantity: Number(page.dataset.quantity), newest: Number(page.dataset.newest) };
  // The later of what the page says and what was answered since, with all that waits on top.
  const read = async () => {
    const { every, later } = await waiting.allWith(step);
    showNeedleTime(every);
    counts = every.filter((count) => count.step === step);
    const fresh = later && later.newest > onPage.newest ? later : onPage;
    const onTop = waiting.pending(counts).reduce((sum, count) => sum + waiting.moves(count), 0);
    now = { quantity: shown(fresh.quantity), done: shown(Math.max(0, Math.min(place.tidy(fresh.done + onTop), fresh.quantity))) };
  };

  const showNeedleTime = (every) => {
    const told = { seconds: Number(page.dataset.today), toldAt: Number(page.dataset.toldAt) };
    const words = place.asTime(place.atItToday(every, told, known));
    at("needle-time").hidden = !words;
    at("needle-time").querySelector("span").textContent = words;
  };

  const say = (words) => { at("told").textContent = words; };

  // Right after a tap another number lies under the finger, so the second of a double tap counts nothing.
  const SETTLE_MS = 350;
  const steady = () => {
    let until = 0;
    const moved = (at = performance.now()) => { until = Math.max(until, at + SETTLE_MS); };
    const once = (act) => ({ timeStamp, detail }) => {
      if (detail && timeStamp < until) return; // a key has no finger that lies there still
      moved(timeStamp);
      act();
    };
    return { moved, once };
  };
  const taps = {};
  const tapsOn = (id) => taps[id] ??= steady();

  const NOT_KEPT = "This device would not keep that count. Load the page again, then type it and press Count it.";
  // One after the other, so that each begins where the one before it ended.
  let turn = Promise.resolve();
  const count = (number, refuse = say) => {
    const typed = minutes();
    if (typed !== undefined) turn = turn.then(() => keepCount(number, typed, refuse)).catch(() => say(NOT_KEPT));
  };
  const SHORT_MS = 5 * 60_000;
  const keepCount = async (number, typed, refuse) => {
    const { whole, done } = pass();
    if (!(number > done)) return refuse(`${figure(number)} is done already: ${figure(done)} are. Take a wrong count back below.`);
    if (number > whole) return refuse(`This ends at ${figure(whole)}.`);
    if (page.dataset.unit !== "cm" && !Number.isInteger(number)) return refuse(`Count whole ${hand.several}.`);
    wrongAt("reached", "");
    if (typed !== null) at("f-minutes").value = "";
    if (refuse !== say) at("f-reached").value = "";
    const counted = place.tidy(kept(number) - kept(done));
    // A few in a moment belong to the count before them, its time too; what takes minutes at best was not sewn in one.
    const leastMs = counted * Number(page.dataset.fastestMs);
    const { minutes, isFirst, isTooFew, asks } = await clock.take(typed, leastMs, counted * unitMs < SHORT_MS);
    await waiting.settle(step);
    await waiting.add({ step, kind: "work", counted, minutes, from: kept(now.done), said: number, ...(asks === null ? {} : { state: "asks", asks }) });
    await refresh();
    say(isTooFew
      ? `Counted: ${amount(shown(counted))}, to ${figure(number)}. That is too many for the minutes of the clock, so their time is left open.`
      : `Counted: ${amount(shown(counted))}, to ${figure(number)}.`);
    at("sharps").hidden = !isFirst || needles() === "out";
    sending.replay();
  };

  const undo = async ({ key, counted }) => {
    await waiting.settle(step);
    if (!(await waiting.removeUnsent(key))) await waiting.add({ step, kind: "counter", counted, takes_back: key });
    await refresh();
    say(`Taken back: ${amount(shown(counted))}.`);
    sending.replay();
  };

  const showFigures = () => {
    const { whole, done, words } = pass(), left = tidy(whole - done);
    const line = at("left");
    const strong = document.createElement("strong");
    const all = tidy(now.quantity - now.done);
    strong.textContent = all ? `${amount(left)} left` : "Done";
    const rest = document.createElement("span");
    rest.className = "quiet";
    const doneNow = figure(now.done), quantity = figure(now.quantity), time = place.inWords(all * each * unitMs);
    rest.textContent = all ? ` ${doneNow} of ${quantity} done, ${time} left` : ` ${doneNow} of ${quantity} done`;
    line.replaceChildren(strong, all && words ? ` of this pass (${words}).` : ".", rest);
  };

  const ways = () => {
    const { whole, done } = pass();
    const ten = (Math.floor(done / 10) + 1) * 10, needleful = hand.needleful && Math.floor(done) + hand.needleful;
    return [
      ten < whole && ["to-ten", `To ${ten}`, ten],
      needleful && needleful < whole && ["to-needleful", `A needleful: to ${needleful}`, needleful],
      done < whole && ["to-end", "To the end", whole],
    ].filter(Boolean);
  };

  // A button under a finger that presses is not taken away to be put there again.
  const isAnother = (host, shown) => {
    const words = JSON.stringify(shown), before = host.dataset.shown;
    host.dataset.shown = words;
    return words !== before;
  };
  const showWays = () => {
    const here = form.querySelector(".quick"), found = ways();
    if (!isAnother(here, found)) return;
    const focused = document.activeElement?.id;
    here.replaceChildren(...found.map(([id, words, number]) => button(id, words, tapsOn(id).once(() => count(number)))));
    form.hidden = !found.length;
    at(focused)?.focus();
  };

  const showUndo = () => {
    const host = at("undo"), list = place.undoable(counts, told, known);
    if (!isAnother(host, list.map(({ key, counted }) => [key, counted]))) return;
    const keep = host.querySelector("details")?.open, focused = host.contains(document.activeElement);
    host.replaceChildren();
    at("corrects")?.toggleAttribute("hidden", !list.length);
    if (!list.length || !("mayCount" in at("hand").dataset)) return focused && at("f-reached")?.focus();
    const [last, ...older] = list;
    host.append(button("undo-last", `Take back: ${amount(shown(last.counted))}`, tapsOn("undo-last").once(() => undo(last))));
    if (focused) at("undo-last").focus();
    if (!older.length) return;
    const more = document.createElement("details");
    more.open = Boolean(keep);
    const summary = document.createElement("summary");
    summary.textContent = "Counts before that";
    more.append(summary, ...older.map((one) => button("", `Take back: ${amount(shown(one.counted))}`, () => undo(one))));
    host.append(more);
  };

  // A count made after a quiet while waits for the answer to how long it took.
  const showAsks = () => {
    const host = at("asks"), asked = counts.find(({ state }) => state === "asks");
    host.hidden = !asked;
    if (!asked || host.dataset.key === asked.key) return asked || delete host.dataset.key;
    host.dataset.key = asked.key;
    const answer = (value) => waiting.change([asked.key], { minutes: value, state: "waiting" }).then(() => sending.replay());
    const acts = document.createElement("p");
    acts.className = "quick";
    const typed = document.createElement("input");
    Object.assign(typed, { id: "sewn", inputMode: "decimal", size: 5 });
    typed.setAttribute("aria-label", "Minutes sewn");
    acts.append(
      button("all-of-it", `All ${asked.asks} minutes`, () => answer(asked.asks), ""),
      button("not-known", "Leave the time open", () => answer(null)),
      typed,
      button("so-many", "So many minutes", () => {
        const value = within(typed, mostMinutes);
        if (value !== undefined) answer(value);
        else if (!host.querySelector(".error")) host.append(line(`Minutes run from 0 to ${mostMinutes}.`, "error"));
      }),
    );
    host.replaceChildren(line(`${amount(shown(asked.counted))} counted after ${asked.asks} minutes. How much of that was sewing?`), acts);
  };

  // A place that was typed or touched means that place: where others counted meanwhile, it is asked for.
  const showElsewhere = () => {
    const host = at("elsewhere"), last = astray().at(-1);
    host.hidden = !last;
    if (!last || host.dataset.about === `${last.key} ${last.elsewhere}`) return last || delete host.dataset.about;
    host.dataset.about = `${last.key} ${last.elsewhere}`;
    const { elsewhere, said } = last, several = amount(shown(Math.abs(elsewhere)));
    const words = elsewhere > 0
      ? `Counted elsewhere meanwhile: ${several}. Your count to ${said} came on top. Where are you?`
      : `Taken back elsewhere meanwhile: ${several}. Your count to ${said} falls short of it. Where are you?`;
    const acts = document.createElement("p");
    acts.className = "quick";
    acts.append(
      button("at-what-was-said", `At ${said}`, () => standAt(elsewhere), ""),
      button("as-it-stands", `At ${shownPlace()}, as it stands now`, () => waiting.settle(step).then(refresh)),
    );
    host.replaceChildren(line(words), acts);
  };
  const astray = () => counts.filter(({ elsewhere, state }) => elsewhere && state === "sent");
  const shownPlace = () => pass().done || pass().whole;

  // Whoever is where she said has done so much less than was sent, or so much more.
  const standAt = async (elsewhere) => {
    const mine = astray().reverse();
    await waiting.settle(step);
    if (elsewhere < 0) await waiting.add({ step, kind: "work", counted: Math.min(-elsewhere, place.tidy(kept(now.quantity - now.done))) });
    let over = Math.max(0, elsewhere);
    for (const { key, counted, minutes } of mine) {
      if (over <= 0) break;
      await waiting.add({ step, kind: "counter", counted, takes_back: key });
      if (counted > over) await waiting.add({ step, kind: "work", counted: place.tidy(counted - over), minutes });
      over = place.tidy(over - counted);
    }
    await refresh();
    say(`This stands at ${shownPlace()}.`);
    sending.replay();
  };

  const needles = () => counts.filter(({ kind, state }) => (kind === "out" || kind === "in") && state !== "refused").at(-1)?.kind ?? page.dataset.needles;
  const refresh = async () => {
    await read();
    const { at: passAt, done } = pass();
    const shown = `${passAt} ${done} ${now.quantity}`;
    if (form && shown !== band.shown) {
      if (band.shown) tapsOn("hand").moved();
      band.show(hand.passes[passAt], done);
    }
    band.shown = shown;
    showFigures();
    showUndo();
    showAsks();
    showElsewhere();
    if (form) showWays();
  };

  const numberIn = (field, most = 1) => {
    const typed = field?.value.trim().replace(",", ".") ?? "";
    return /^\d+(\.\d+)?$/.test(typed) && (typed.split(".")[1] ?? "").length <= most ? Number(typed) : null;
  };
  // What cannot be is said at its field before anything is kept, and what was typed stays.
  const wrongAt = (name, words) => {
    const field = at(`f-${name}`), host = field.closest(".field");
    at(`e-${name}`)?.remove();
    host.classList.toggle("wrong", Boolean(words));
    for (const told of ["aria-invalid", "aria-describedby"]) field.removeAttribute(told);
    if (!words) return;
    const error = line(words, "error");
    error.id = `e-${name}`;
    host.querySelector("label").after(error);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", error.id);
    field.focus();
  };
  const within = (field, most) => {
    const found = numberIn(field);
    return found !== null && found <= most ? found : undefined;
  };
  const mostMinutes = Number(page.dataset.mostMinutes), mostNeedles = Number(page.dataset.mostNeedles);
  const minutes = () => {
    const field = at("f-minutes"), found = field.value.trim() ? within(field, mostMinutes) : null;
    wrongAt("minutes", found === undefined ? `Minutes run from 0 to ${mostMinutes}.` : "");
    return found;
  };
  const wholeAt = (name, words) => {
    const found = within(at(`f-${name}`), mostNeedles), isWhole = Number.isInteger(found);
    wrongAt(name, isWhole ? "" : words);
    return isWhole ? found : undefined;
  };

  const clock = new Stopline.Clock(Number(page.dataset.rest), () => Stopline.showClock(at("clock"), clock, () => {
    say("This sitting is ended. Count needles and pins in.");
    at("f-needles")?.focus();
  }));

  const submitCount = (event) => {
    const number = numberIn(at("f-reached"), each === 1 ? 1 : 2);
    event.preventDefault();
    const refuse = (words) => wrongAt("reached", words);
    if (number === null) return refuse(`Enter the ${hand.one} you reached as a number.`);
    count(number, refuse);
  };
  const submitNeedles = async (event) => {
    event.preventDefault();
    const way = event.submitter?.value ?? "out";
    const pins = wholeAt("pins", `Enter how many pins, from 0 to ${mostNeedles}.`);
    const sharp = wholeAt("needles", `Enter how many needles, from 0 to ${mostNeedles}.`);
    if (sharp === undefined || pins === undefined) return;
    const { key } = await waiting.add({ step, kind: way, needles: sharp, pins });
    at("needles-said").textContent = `Counted ${way}: ${sharp} needles, ${pins} pins.`;
    say(at("needles-said").textContent);
    at("sharps").hidden = true;
    await sending.replay();
    if ((await waiting.left()).some((left) => left.key === key)) return;
    // The page comes anew with what is out now; whoever counted stays where she was, and is told it there.
    sessionStorage.setItem(COUNTED, key);
    location.reload();
  };
  const COUNTED = "stopline needles counted";
  const backToNeedles = () => {
    if (!sessionStorage.getItem(COUNTED)) return;
    sessionStorage.removeItem(COUNTED);
    const told = at("needles-said");
    if (told && document.activeElement === document.body) told.focus();
  };

  // A device that keeps nothing leaves the page to its plain forms.
  let band = {};
  const begin = async () => {
    const every = await waiting.all();
    const came = every.filter(({ key, state }) => state !== "sent" && known.has(key));
    if (came.length) await waiting.sent(came.map(({ key }) => ({ key, step: onPage })));
    if (form) band = new Stopline.Band(at("hand"), hand, (number) => count(number), tapsOn("hand").once);
    form?.addEventListener("submit", submitCount);
    at("needles")?.addEventListener("submit", submitNeedles);
    document.addEventListener("stopline:waiting", () => { refresh().catch(() => {}); });
    await refresh();
    await clock.open();
    backToNeedles();
  };
  begin().catch(() => {});
})();
