// Counts that the studio did not take, and those still waiting: kept, shown, and moved or removed by whoever made them.
(() => {
  "use strict";
  const { waiting, sending } = Stopline;
  const { button, line } = Stopline.parts;
  const MOST_SHOWN = 30;
  const KINDS = { work: "counted", counter: "taken back", out: "counted out", in: "counted in" };

  const amount = ({ kind, counted, needles, pins }) => (kind === "work" || kind === "counter" ? counted : `${needles} needles, ${pins} pins`);
  const at = (count) => new Date(count.at).toLocaleString(document.documentElement.lang, { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

  const entry = (count, here) => {
    const row = document.createElement("li");
    const where = count.step === here ? "on this step" : `on step ${count.step}`;
    row.append(line(`${amount(count)} ${KINDS[count.kind]} ${where}, ${at(count)}: ${count.state === "refused" ? count.detail : "waiting."}`));
    const acts = document.createElement("p");
    acts.className = "quick";
    const again = (changes) => waiting.change([count.key], { state: "waiting", detail: "", ...changes }).then(() => sending.replay());
    if (count.state === "refused") {
      acts.append(button(`again-${count.key}`, "Send again", () => again({})));
      if (here && count.step !== here && count.kind === "work") acts.append(button(`move-${count.key}`, "Count it on this step", () => again({ key: count.key, step: here, from: null })));
    }
    if (count.state === "refused") acts.append(button(`remove-${count.key}`, "Remove", () => waiting.remove([count.key])));
    else if (!count.tries) acts.append(button(`remove-${count.key}`, "Remove", () => waiting.removeUnsent(count.key)));
    row.append(acts);
    return row;
  };

  const show = async (host, here) => {
    const left = (await waiting.left()).filter(({ state }) => state === "refused" || !here)
      .sort((one, other) => (one.state === "refused" ? 0 : 1) - (other.state === "refused" ? 0 : 1));
    if (!left.length) return host.replaceChildren();
    const heading = document.createElement("h2");
    heading.textContent = here ? "Not taken" : "What is here";
    const list = document.createElement("ul");
    list.className = "entries";
    list.append(...left.slice(0, MOST_SHOWN).map((count) => entry(count, here)));
    const more = left.length - MOST_SHOWN;
    host.replaceChildren(heading, list, ...(more > 0 ? [line(`And ${more} more.`)] : []));
  };

  const host = document.getElementById("refused");
  if (!host || !waiting.account) return;
  const here = Number(document.getElementById("table")?.dataset.step) || 0;
  const look = () => { show(host, here).catch(() => {}); };
  document.addEventListener("stopline:waiting", look);
  look();
})();
