// Has the handbook saved on this device, and says on every page what is really saved: counted from the browser's
// cache against the list of the release (see offline/service_worker.js), never from memory of what was done.
"use strict";

(() => {
  // `published` says how this edition is meant: "installed" (saved by a service worker), "off" or "portable".
  const { site, published } = document.currentScript.dataset;
  const scope = new URL(site, document.baseURI).href;
  const FILES = `handbook ${scope}`;
  const LISTS = `handbook lists ${scope}`;
  const WORKER = new URL("service_worker.js", scope);

  // The reader came for the page and its figures: both the first look and the saving wait until they stand.
  const LOOK_AFTER = 600;
  const BEGIN_AFTER = 2000;
  const LOOK_EVERY = 500;
  const REMIND_EVERY = 2000;
  const CHECKED_WITHIN = 60_000;
  const TRY_AGAIN = [20_000, 60_000, 300_000, 900_000]; // a host that stays broken is not asked for ever

  let registration;
  let failure = ""; // why no release, or no newer one, could be saved
  let unrepaired = ""; // why what is missing from the saved one could not be fetched
  let followed; // the worker whose states are listened to
  let failures = 0;
  let again; // the timer of the next attempt
  let arrived = 0; // bytes of the file under way
  let expected; // {files, bytes} of the published release, before anything is saved
  let later = false; // the reader has put the new release off
  let checking = ""; // what the button says meanwhile
  let repair_ended; // told whether all is there; the browser may also end the worker, and then nobody says so
  let declined = false; // the browser was asked to keep it and did not agree
  let kept; // whether the browser promised not to remove it
  let notice; // says that a newer release is ready

  const PLACE = "aside.sl-keep"; // an article can write no such element

  const amount = (bytes) => `${(bytes / 1e6).toFixed(1)} MB`;
  const files = (number) => (number === 1 ? "1 file" : `${number} files`);

  // What is saved: {current, next}, each {release, files, bytes, saved, savedBytes}, as far as there is a list.
  async function count() {
    if (!(await caches.has(LISTS))) return {};
    const [lists, cache] = await Promise.all([caches.open(LISTS), caches.open(FILES)]);
    const keys = new Set((await cache.keys()).map(({ url }) => url));
    const current = await (await lists.match(`${scope}current`))?.text();
    const found = {};
    for (const request of await lists.keys()) {
      if (!request.url.startsWith(`${scope}release/`)) continue;
      const list = await (await lists.match(request))?.json();
      if (!list) continue; // a worker tidies up at this moment
      const there = list.files.filter(([key]) => keys.has(key));
      const sum = (part) => part.reduce((bytes, [, size]) => bytes + size, 0);
      found[list.release === current ? "current" : "next"] = {
        release: list.release,
        files: list.files.length,
        bytes: sum(list.files),
        saved: there.length,
        savedBytes: sum(there),
      };
    }
    return found;
  }

  // Why nothing can be saved here at all, as the reader would say it.
  function find_obstacle() {
    if (location.protocol === "file:") return "";
    if (!isSecureContext) return "browsers save pages only from a secure address, one that begins with https";
    if (!("serviceWorker" in navigator) || typeof self.caches?.open !== "function") {
      return "this browser saves no pages; in a private window that is usual";
    }
    return "";
  }

  async function begin(again_asked = false) {
    try {
      registration = await navigator.serviceWorker.register(WORKER, { scope, updateViaCache: "none" });
      // Where there is a worker, the browser looks for a newer one when a page is loaded; another attempt has to ask.
      if (again_asked && registration.active) {
        failure = ""; // before the look: a release that is found may fail before this goes on
        await registration.update();
      }
    } catch (error) {
      const old = await navigator.serviceWorker.getRegistration(scope).catch(() => undefined);
      if (old?.active) registration = old;
      failure =
        error.name === "SecurityError" || error.name === "NotSupportedError"
          ? "the browser does not allow it here; in a private window, or with site data blocked, that is usual"
          : navigator.onLine
            ? "the server does not hand out the script that saves it"
            : "there is no connection";
      return draw();
    }
    registration.onupdatefound = follow;
    follow();
  }

  // A worker that installs is saving; what becomes of it is told by its states.
  function follow() {
    const worker = registration.installing;
    if (worker && worker === followed) return draw();
    followed = worker;
    if (worker) {
      let installed = false;
      worker.addEventListener("statechange", () => {
        installed ||= worker.state === "installed";
        // One that a later one has replaced is redundant as well, and nothing is wrong with that.
        if (worker.state === "redundant" && !installed) try_again();
        if (worker.state === "activated") {
          failures = 0;
          ask_to_keep();
        }
        draw();
      });
    } else heal();
    draw();
  }

  // A failed installation keeps what it has; the next one goes on there.
  function try_again() {
    failure ||= "it was interrupted";
    clearTimeout(again);
    again = setTimeout(() => navigator.onLine && begin(true), TRY_AGAIN[Math.min(failures++, TRY_AGAIN.length - 1)]);
  }

  // Something removed files behind the worker's back: they are fetched again without being asked.
  async function heal() {
    const { current } = await count();
    if (registration?.active && navigator.onLine && (!current || current.saved < current.files)) repair();
  }

  function repair() {
    unrepaired = "";
    if (registration?.active) registration.active.postMessage("repair");
    else begin(true);
    draw();
  }

  async function ask_to_keep(asked = false) {
    // One engine asks the reader: not before the reader has touched the button. The others decide by themselves.
    const would_ask = typeof window.mozInnerScreenX === "number"; // an element's id is a name of the window, too
    kept = await navigator.storage?.persisted?.();
    if (!kept && (asked || !would_ask)) {
      kept = await navigator.storage?.persist?.();
      declined = !kept;
    }
    draw();
  }

  // --- What is shown: lines of {words, faint?, bar?: [value, max], press?: [label, action]} ---

  const shown = new WeakMap(); // what a page's place shows, so that a count that stays is not drawn again
  let drawing = false;
  let once_more = false;

  // One count at a time: on a slow device the next reason to draw comes before the last is done with.
  async function draw() {
    once_more = true;
    if (drawing) return;
    drawing = true;
    try {
      while (once_more) {
        once_more = false;
        await draw_once();
      }
    } finally {
      drawing = false;
    }
  }

  async function draw_once() {
    const place = document.querySelector(PLACE);
    if (!place) return;
    const lines = await find_lines();
    const text = JSON.stringify(lines);
    if (shown.get(place) === text) return;
    shown.set(place, text);
    place.replaceChildren(...lines.map(draw_line));
    place.hidden = false;
  }

  const element = (tag, properties) => Object.assign(document.createElement(tag), properties);
  const button = ([textContent, onclick]) => element("button", { type: "button", textContent, onclick });

  function draw_line({ words, faint, bar, press }) {
    const line = element("p", { textContent: words, className: faint ? "sl-faint" : "" });
    if (bar) {
      const [value, max] = bar;
      line.append(element("progress", { value, max, ariaLabel: words }));
    }
    if (press) line.append(" ", button(press));
    return line;
  }

  async function find_lines() {
    if (published === "portable") return [{ words: "This is the portable edition: all of it is in this folder." }];
    if (published === "off") return [{ words: "Not saved for offline: the publisher of this handbook has switched it off." }];
    const obstacle = find_obstacle();
    if (obstacle) return [{ words: `Not saved for offline: ${obstacle}.` }];
    let found;
    try {
      found = await count();
    } catch (error) {
      return [{ words: `Not saved for offline: the browser's store cannot be read (${error.message}).` }];
    }
    const ready = found.current && found.next && found.next.saved === found.next.files;
    announce(ready && registration?.waiting);
    // Files that no worker hands out are of no use without a connection.
    if (!registration?.active || !found.current) return tell_unsaved(found.current ?? found.next);
    return tell_saved(found);
  }

  function tell_unsaved(next) {
    if (registration?.installing) return [tell_saving("Saving for offline", next)];
    const some = next ? ` ${next.saved} of ${files(next.files)} (${amount(next.bytes)} in all) are here already.` : "";
    const why = failure ? `: ${failure}.` : ` yet${size()}.`;
    return [{ words: `Not saved for offline${why}${some}`, press: [next ? "Go on saving" : "Save it", () => begin(true)] }];
  }

  function tell_saved({ current, next }) {
    const whole = current.saved === current.files;
    const words = `Saved for offline: ${current.saved} of ${files(current.files)} (${amount(current.savedBytes)}).`;
    const lost = !whole && (unrepaired || failure || (navigator.onLine ? "" : "there is no connection"));
    const lines = [{ words, press: lost || failure ? undefined : [checking || "Check and repair", check] }];
    if (registration?.installing) lines.push(tell_saving("Saving a newer release", next));
    else if (lost) lines.push({ words: `Files are missing: ${lost}.`, press: ["Repair", repair] });
    else if (!whole) lines.push(tell_saving("Repairing", current));
    else if (failure) lines.push({ words: `No newer release could be fetched: ${failure}.`, press: ["Try again", () => begin(true)] });
    lines.push(
      kept
        ? { words: "The browser has agreed to keep it.", faint: true }
        : {
            words: declined
              ? "The browser was asked to keep it and did not agree: it may remove it when space runs short."
              : "The browser may remove it when space runs short.",
            faint: true,
            press: ["Ask it to keep it", () => ask_to_keep(true)],
          },
    );
    return lines;
  }

  function tell_saving(what, list) {
    if (!list) return { words: `${what}: beginning${size()}.` };
    const bytes = Math.min(list.bytes, list.savedBytes + arrived);
    const words = `${what}: ${list.saved} of ${files(list.files)}, ${amount(bytes)} of ${amount(list.bytes)}.`;
    return { words, bar: [bytes, list.bytes] };
  }

  const size = () => (expected ? ` (${files(expected.files)}, ${amount(expected.bytes)})` : "");

  async function check() {
    if (checking) return;
    checking = "Checking …";
    const answer = new Promise((resolve) => {
      repair_ended = resolve;
      setTimeout(resolve, CHECKED_WITHIN);
    });
    repair();
    await begin(true);
    checking = (await answer) && !failure ? "Checked" : "";
    draw();
    setTimeout(() => {
      checking = "";
      draw();
    }, 3000);
  }

  // A new release is complete and waits: it takes over when the reader says so, or when all pages are closed.
  function announce(worker) {
    if (!worker || later) return notice?.remove();
    if (notice?.isConnected && notice.worker === worker) return;
    notice?.remove();
    const fresh = element("div", { className: "sl-newer", role: "status", worker });
    const put_off = () => {
      later = true;
      fresh.remove();
    };
    fresh.append(
      element("p", { textContent: "A newer release of this handbook is saved and ready." }),
      // A later one may have come, and the bar not yet be drawn anew.
      button(["Change to it now", () => change(registration.waiting ?? worker, fresh)]),
      button(["Later", put_off]),
    );
    document.body.append(fresh);
    notice = fresh;
    worker.addEventListener("statechange", draw);
  }

  function change(worker, bar) {
    bar.replaceChildren(element("p", { textContent: "Changing to the newer release …" }));
    failure = "";
    if (!navigator.serviceWorker.controller) {
      // The browser was told to load this page past the worker: it hears of no new one that answers.
      worker.addEventListener("statechange", () => worker.state === "activated" && location.reload());
    }
    worker.postMessage("take over");
    const reminding = setInterval(() => {
      if (!failure && worker.state === "installed") return remind();
      clearInterval(reminding);
      bar.remove();
      draw();
    }, REMIND_EVERY);
  }

  // One engine ends the old worker to let the new one take over, and forgets about it when a page asks for a file in
  // that very moment. It looks again whenever a page of the handbook is opened: one that nobody sees.
  function remind() {
    const { href } = document.querySelector("link[rel=icon]");
    const page = element("iframe", { src: href, hidden: true, onload: () => page.remove() });
    document.body.append(page);
  }

  if (published !== "portable" && !find_obstacle()) {
    // All pages change at once, so that none runs on with another release's files. What was typed is on the device.
    let controlled = Boolean(navigator.serviceWorker.controller);
    navigator.serviceWorker.addEventListener("controllerchange", () => {
      if (controlled) location.reload();
      controlled = true;
    });
    new BroadcastChannel(FILES).onmessage = ({ data }) => {
      failure = data.failed ?? failure;
      unrepaired = data.unrepaired ?? unrepaired;
      if (data.unrepaired || data.repaired) repair_ended?.(Boolean(data.repaired));
      arrived = data.arrived ?? 0;
      draw();
    };
    addEventListener("online", () => (failure || unrepaired ? begin(true) : heal()).then(draw));
    addEventListener("offline", draw);
    const start = async () => {
      if (published === "off") {
        // The worker in its place removes itself; it only has to be fetched.
        const old = await navigator.serviceWorker.getRegistration(scope);
        await old?.update().catch(() => {});
        return draw();
      }
      if (!navigator.serviceWorker.controller) {
        expected = await fetch(new URL("release.json", scope)).then((answer) => answer.json(), () => undefined);
        // Who saves data decides; the line offers it and says how much it is.
        if (navigator.connection?.saveData && !registration) return draw();
      }
      return begin();
    };
    after_loading(start, BEGIN_AFTER);
    // While something is being saved, the count is read again and again: it is the cache that says how far it is.
    setInterval(() => {
      if (registration?.installing || document.querySelector(`${PLACE} progress`)) draw();
    }, LOOK_EVERY);
  }

  // Pages may be exchanged without a new document, and each brings an empty place.
  const exchanged = new MutationObserver(() => {
    const place = document.querySelector(PLACE);
    if (place && !shown.has(place)) draw();
  });

  async function look() {
    exchanged.observe(document.documentElement, { childList: true, subtree: true });
    try {
      registration = await navigator.serviceWorker?.getRegistration(scope);
      kept = await navigator.storage?.persisted?.();
      // The browser looks for a newer release by itself, perhaps before this page asks for it.
      if (registration) registration.onupdatefound = follow;
      if (registration?.installing) follow();
    } catch {
      // What hinders it is found again, and told, when saving begins.
    }
    draw();
  }

  function after_loading(act, time) {
    const wait = () => setTimeout(act, time);
    if (document.readyState === "complete") wait();
    else addEventListener("load", wait);
  }

  after_loading(look, LOOK_AFTER);
})();
