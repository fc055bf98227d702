// In previewed pages only: loads them again once they are built again, and shows what keeps them from being built.
(() => {
  "use strict";

  const { build, news } = document.currentScript.dataset;
  const LOOK_EVERY = 500;
  // Whoever types is not interrupted. By then live.js has kept what was typed, and the address says it, too.
  const PAUSE = 1_000;
  const FOCUS = "handbook:focus";

  let typed = -PAUSE;
  addEventListener("input", () => (typed = performance.now()), true);

  const told = document.createElement("pre");
  told.dataset.preview = "";
  told.role = "alert";
  told.style.cssText =
    "position: fixed; inset: auto 0 0; z-index: 99; margin: 0; padding: 1rem; max-height: 50vh; overflow: auto;" +
    "white-space: pre-wrap; font: 1rem/1.4 monospace; color: #fff; background: #7f1d1d";

  async function look() {
    let newest = { build, error: told.textContent };
    try {
      newest = await (await fetch(news, { cache: "no-store" })).json();
    } catch {
      // The preview has ended; it may be started again.
    }
    if (newest.error !== told.textContent) told.textContent = newest.error;
    if (!newest.error) told.remove();
    else if (!told.isConnected) document.documentElement.append(told);
    if (newest.build !== build && performance.now() - typed >= PAUSE) {
      sessionStorage.setItem(FOCUS, document.activeElement?.id ?? "");
      location.reload();
    }
    setTimeout(look, LOOK_EVERY);
  }

  addEventListener("DOMContentLoaded", () => {
    const focus = sessionStorage.getItem(FOCUS);
    sessionStorage.removeItem(FOCUS);
    if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
    look();
  });
})();
