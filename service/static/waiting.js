// Counts kept on this device until the studio has them. Nothing is kept but step, amount, key, time, whose it is, and
// the place it was counted from, which is never sent: what is sent is how much was done, so that it may come in any order.
(() => {
  "use strict";
  const account = Number(document.body.dataset.account) || 0;
  const KEPT_FOR_UNDO = 10;

  let opened;
  const open = () => opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open("stopline", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("counts", { keyPath: "key" });
      asked.result.createObjectStore("steps", { keyPath: "id" });
      asked.result.createObjectStore("sittings", { keyPath: "account" });
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => { asked.result.close(); opened = undefined; };
      asked.result.onclose = () => { opened = undefined; };
      resolve(asked.result);
    };
    asked.onerror = () => { opened = undefined; reject(asked.error); };
  });

  // Resolves when what was written is on the disk, not merely handed over.
  const within = async (stores, mode, act) => {
    const database = await open();
    return new Promise((resolve, reject) => {
      const turn = database.transaction(stores, mode, { durability: "strict" });
      let found;
      turn.oncomplete = () => resolve(found?.result);
      turn.onabort = turn.onerror = () => reject(turn.error);
      found = act(...stores.map((name) => turn.objectStore(name)));
    });
  };

  const told = () => document.dispatchEvent(new CustomEvent("stopline:waiting"));
  const moves = ({ kind, counted }) => (kind === "work" ? counted : kind === "counter" ? -counted : 0);
  const pending = (counts) => counts.filter(({ state }) => state === "waiting" || state === "asks");
  // How far a step stands from where its newest count was meant to bring it: what was counted elsewhere meanwhile.
  const astray = (counts, { id, done }) => {
    const own = counts.filter((each) => each.step === id && each.state !== "refused" && moves(each)), last = own.at(-1);
    if (!Number.isFinite(last?.from)) return 0;
    const stands = pending(own).reduce((sum, each) => sum + moves(each), done);
    return Math.round((stands - last.from - moves(last)) * 10) / 10;
  };
  const inTurn = (counts) => counts.sort((one, other) => one.turn - other.turn || (one.key < other.key ? -1 : 1));

  // Every entry has a state: "asks" how long it took, "waiting" to be sent, "refused", or "sent" and kept to be undone.
  const waiting = {
    account,
    key: () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join(""),

    async add(count) {
      const now = Date.now();
      const entry = { key: waiting.key(), account, at: new Date(now).toISOString(), turn: now, state: "waiting", tries: 0, ...count };
      await within(["counts"], "readwrite", (counts) => { counts.add(entry); });
      navigator.storage?.persist?.().catch(() => {});
      told();
      return entry;
    },

    async all() {
      const every = await within(["counts"], "readonly", (counts) => counts.getAll());
      return inTurn(every.filter((each) => each.account === account));
    },

    async left() {
      return (await waiting.all()).filter(({ state }) => state !== "sent");
    },

    async change(keys, changes) {
      await within(["counts"], "readwrite", (counts) => {
        for (const key of keys) {
          const asked = counts.get(key);
          asked.onsuccess = () => { if (asked.result) counts.put({ ...asked.result, ...changes }); };
        }
      });
      told();
    },

    async remove(keys) {
      await within(["counts"], "readwrite", (counts) => { for (const key of keys) counts.delete(key); });
      told();
    },

    // Takes a count away again, unless it was sent already: whether it could.
    async removeUnsent(key) {
      let gone = false;
      await within(["counts"], "readwrite", (counts) => {
        const asked = counts.get(key);
        asked.onsuccess = () => {
          gone = Boolean(asked.result) && !asked.result.tries && asked.result.state !== "sent";
          if (gone) counts.delete(key);
        };
      });
      if (gone) told();
      return gone;
    },

    // What the studio has: the entry is only kept to be taken back, with what was counted elsewhere meanwhile, and its
    // step as it was answered.
    async sent(answers) {
      const came = new Set(answers.map(({ key }) => key));
      await within(["counts", "steps"], "readwrite", (counts, steps) => {
        const asked = counts.getAll();
        asked.onsuccess = () => {
          const own = inTurn(asked.result.filter((each) => each.account === account));
          const now = own.map((each) => (came.has(each.key) ? { ...each, state: "sent", detail: "" } : each));
          const put = new Map(now.filter(({ key }) => came.has(key)).map((each) => [each.key, { ...each, from: null }]));
          for (const step of new Map(answers.filter((each) => each.step).map((each) => [each.step.id, each.step])).values()) {
            const elsewhere = astray(now, step);
            for (const each of put.values()) if (each.step === step.id && each.kind === "work") put.set(each.key, { ...each, elsewhere });
            keepLater(steps, step);
          }
          for (const each of put.values()) counts.put(each);
        };
      });
      told();
    },

    // Where this step stands is known again to whoever counts on it.
    async settle(id) {
      const own = (await waiting.all()).filter(({ step, from, elsewhere }) => step === id && (elsewhere || Number.isFinite(from)));
      if (own.length) await waiting.change(own.map(({ key }) => key), { from: null, elsewhere: 0 });
    },

    // Of what is sent only the last of each step are kept, to be undone.
    async tidy() {
      const sent = (await waiting.all()).filter(({ state }) => state === "sent").reverse();
      const seen = new Map();
      const surplus = sent.filter(({ step }) => {
        seen.set(step, (seen.get(step) ?? 0) + 1);
        return seen.get(step) > KEPT_FOR_UNDO * 2;
      });
      if (surplus.length) await within(["counts"], "readwrite", (counts) => { for (const { key } of surplus) counts.delete(key); });
    },

    // All that is here and where a step stood, both of one moment: read apart, a count sent between would show twice.
    async allWith(id) {
      let every;
      const step = await within(["counts", "steps"], "readonly", (counts, steps) => {
        every = counts.getAll();
        return steps.get(id);
      });
      return { every: inTurn(every.result.filter((each) => each.account === account)), later: step };
    },

    async know(step) {
      await within(["steps"], "readwrite", (steps) => keepLater(steps, step));
    },

    async sitting() {
      return within(["sittings"], "readonly", (sittings) => sittings.get(account));
    },

    async sit(sitting) {
      await within(["sittings"], "readwrite", (sittings) => { sittings.put({ ...sitting, account }); });
    },

    async rise() {
      await within(["sittings"], "readwrite", (sittings) => { sittings.delete(account); });
    },

    // On signing out: what is sent and where steps stood is forgotten, what waits is kept for its own person.
    async forget() {
      const gone = (await waiting.all()).filter(({ state }) => state === "sent").map(({ key }) => key);
      await within(["counts", "steps", "sittings"], "readwrite", (counts, steps, sittings) => {
        for (const key of gone) counts.delete(key);
        steps.clear();
        sittings.delete(account);
      });
    },
  };

  Object.assign(waiting, { moves, pending });
  // Of two answers about a step the one with the newer entry is the later one.
  const keepLater = (steps, { id, done, quantity, newest }) => {
    const asked = steps.get(id);
    asked.onsuccess = () => { if (!(asked.result?.newest > newest)) steps.put({ id, done, quantity, newest }); };
  };

  Stopline.waiting = waiting;
})();
