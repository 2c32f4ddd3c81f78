// Signing out: what waits is sent first; what cannot be is kept for its own person, and said. No page stays behind.
(() => {
  "use strict";
  const { waiting, sending } = Stopline;
  const form = document.querySelector("form.sign-out");
  const PATIENCE_MS = 5_000;
  const OF_A_PERSON = "stopline pages ";
  // Pages kept for anybody else than whoever is signed in now go at once.
  const forgetPages = async (but = 0) => {
    if (!globalThis.caches) return;
    for (const name of await caches.keys()) {
      if (name.startsWith(OF_A_PERSON) && name !== `${OF_A_PERSON}${but}`) await caches.delete(name);
    }
  };
  forgetPages(waiting.account).catch(() => {});
  if (!form) return;
  let warned = false;

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      await Promise.race([sending.replay(), new Promise((done) => { setTimeout(done, PATIENCE_MS); })]);
      const left = await waiting.left();
      if (left.length && !warned) return warn(left.length);
      await waiting.forget();
      await forgetPages();
    } catch {
      // A device that keeps nothing has nothing to lose.
    }
    form.submit();
  });

  const warn = (left) => {
    warned = true;
    const words = document.createElement("p");
    words.setAttribute("role", "alert");
    words.className = "not-yet";
    words.textContent = `${left} ${left === 1 ? "count is" : "counts are"} not sent yet. They stay on this device and go when you sign in here again.`;
    form.before(words);
    form.querySelector("button").textContent = "Sign out all the same";
  };
})();
