// The clock of a sitting: it begins with the first count, stands by itself when nothing is counted for a while and
// then asks, keeps the screen awake while it runs, and tells after a while to look up. It never guesses a time.
(() => {
  "use strict";
  const { waiting } = Stopline;
  const MINUTE = 60_000;
  const QUIET_MS = 15 * MINUTE;
  const LONG_GONE_MS = 4 * 60 * MINUTE;
  const TICK_MS = 5_000;
  const minutesOf = (milliseconds) => Math.max(0.1, Math.round(milliseconds / MINUTE * 10) / 10);

  class Clock {
    constructor(restMinutes, changed) {
      Object.assign(this, { rest: restMinutes * MINUTE, changed, sitting: null, lock: null });
      setInterval(() => this.tick(), TICK_MS);
      document.addEventListener("visibilitychange", () => { if (!document.hidden) this.tick(); });
    }

    async open() {
      const kept = await waiting.sitting();
      if (kept && Date.now() - kept.counted < LONG_GONE_MS) this.sitting = kept;
      else if (kept) await waiting.rise();
      this.tick();
    }

    get runs() { return Boolean(this.sitting) && !this.sitting.paused && !this.sitting.quiet; }
    get sinceCount() { return this.sitting ? this.sitting.sum + (this.sitting.paused ? 0 : Date.now() - this.sitting.since) : 0; }
    get wantsRest() { return this.rest > 0 && this.runs && Date.now() - this.sitting.rested >= this.rest; }

    // The minutes of a count made now: none for the first of a sitting, and none when so few cannot be true; asked for,
    // when it was quiet too long. A few belong to the count before them: none for them when that one was given none.
    async take(typed, leastMs, areFew) {
      const now = Date.now();
      const isFirst = !this.sitting || now - this.sitting.counted >= LONG_GONE_MS;
      const gap = this.sinceCount;
      const asks = !isFirst && typed === null && (this.sitting.quiet || (!this.sitting.paused && now - this.sitting.since > QUIET_MS));
      const isUntrue = !isFirst && !asks && typed === null && gap < leastMs;
      const isTooFew = isUntrue && !areFew;
      const begun = isFirst ? { began: now, rested: now, all: 0 } : this.sitting;
      const minutes = typed ?? (isFirst || asks || (isUntrue && !(areFew && this.sitting.isTimed)) ? null : minutesOf(gap));
      await this.keep({ ...begun, counted: now, since: now, sum: 0, paused: false, quiet: false, all: begun.all + (minutes ?? 0), isTimed: minutes !== null });
      return { minutes, isFirst, isTooFew, asks: asks ? minutesOf(gap) : null };
    }

    async keep(sitting) {
      this.sitting = sitting;
      await waiting.sit(sitting);
      this.tick();
    }

    pause() { return this.keep({ ...this.sitting, sum: this.sinceCount, paused: true, quiet: false }); }
    goOn() { return this.keep({ ...this.sitting, since: Date.now(), paused: false, quiet: false, rested: Date.now() }); }
    // What the quiet while was: sewn through, so it counts; or not, so it is left out.
    sewed() { return this.keep({ ...this.sitting, sum: this.sinceCount, since: Date.now(), quiet: false }); }
    didNot() { return this.keep({ ...this.sitting, since: Date.now(), quiet: false }); }
    rested() { return this.keep({ ...this.sitting, rested: Date.now() }); }

    async end() {
      this.sitting = null;
      await waiting.rise();
      this.tick();
    }

    tick() {
      if (this.runs && Date.now() - this.sitting.since > QUIET_MS) {
        this.sitting = { ...this.sitting, quiet: true };
        waiting.sit(this.sitting).catch(() => {});
      }
      this.stayAwake().catch(() => {});
      this.changed();
    }

    async stayAwake() {
      if (this.asking) return;
      if (this.runs && !this.lock && !document.hidden && navigator.wakeLock) {
        this.asking = true; // asked twice while the first is on its way, it would be held twice
        try {
          this.lock = await navigator.wakeLock.request("screen");
        } finally {
          this.asking = false;
        }
        this.lock.addEventListener("release", () => { this.lock = null; });
        if (!this.runs) await this.lock.release();
      } else if (!this.runs && this.lock) {
        await this.lock.release();
      }
    }
  }

  Clock.minutesOf = minutesOf;
  Stopline.Clock = Clock;
})();
