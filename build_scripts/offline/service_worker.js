// Keeps one whole release of the handbook and answers from it, with a signal and without.
//
// Written behind the list of the release (self.handbookRelease: {release, files: [{url, revision, sha256, size, type}]})
// and behind Workbox, which knows what is saved under which revision, saves what is missing, forgets what the release
// no longer has, and finds the saved file for a request. Added here: nothing is taken that is not byte for byte what
// the list says, silence has an end, a hole is filled from the network or owned up to, and every page can count for
// itself (see browser/offline.js), because the list is stored beside the files.
//
// From a page: "take over" (the reader accepts this release), "repair" (save what is missing).
// To all pages, through a BroadcastChannel: {arrived} (bytes of the file under way), {failed} (why this release could
// not be saved, a sentence; empty when it begins), {unrepaired} (the same of a repair), {repaired: true}.
"use strict";

const { release, files } = self.handbookRelease;
const { PrecacheController, PrecacheRoute } = workbox.precaching;
const { registerRoute, setCatchHandler, NavigationRoute } = workbox.routing;

const scope = self.registration.scope;
const FILES = `handbook ${scope}`;
const LISTS = `handbook lists ${scope}`;
const CURRENT = `${scope}current`;

const QUIET = 30_000;

const pages = new BroadcastChannel(FILES);
const described = new Map(files.map((file) => [new URL(file.url, scope).href, file]));

// Takes what arrives only if it is what the list says; what is stored bears the right type, whatever the host said.
const check = {
  async requestWillFetch({ request, state }) {
    state.watch = watch_silence();
    return new Request(request, { signal: state.watch.signal });
  },

  async fetchDidFail({ request, error, state }) {
    state.watch.end();
    // A browser says no more than that it failed; only our own limit has words of its own.
    const why = error instanceof TypeError ? "the connection was lost" : error.message;
    refuse(request.url, `could not be fetched: ${why}`);
  },

  async cacheWillUpdate({ request, response, state }) {
    const { sha256, type, size } = described.get(request.url);
    try {
      const past_cache = request.cache === "reload";
      let bytes = await read(response, request.url, state.watch).catch((error) => {
        if (past_cache || state.watch.signal.aborted) throw error;
      });
      if (!past_cache && (!bytes || (await digest(bytes)) !== sha256)) {
        // The browser's own cache may hold a spoilt copy: once more, past it.
        const past = new Request(request, { cache: "reload", signal: state.watch.signal });
        bytes = await read(await fetch(past), request.url, state.watch);
      }
      if ((await digest(bytes)) !== sha256) {
        const how = bytes.length === size ? "altered" : `with ${bytes.length} bytes in place of ${size}`;
        throw new Error(`arrived ${how}; the server may hold another release, or changes files on the way`);
      }
      return new Response(bytes, { headers: { "Content-Type": type } });
    } catch (error) {
      state.watch.abort();
      refuse(request.url, error.message);
      throw error;
    } finally {
      state.watch.end();
    }
  },
};

const controller = new PrecacheController({ cacheName: FILES, plugins: [check], fallbackToNetwork: false });
controller.addToCacheList(files.map(({ url, revision }) => ({ url: new URL(url, scope).href, revision })));
const keys = controller.getURLsToCacheKeys();

self.addEventListener("install", (event) => event.waitUntil(save(event)));

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      await note_list();
      const lists = await note_current();
      // A release that is being saved at this moment keeps what it has; the next activation tidies up.
      if (self.registration.installing) return;
      await controller.activate(event);
      for (const { url } of await lists.keys()) {
        if (url !== CURRENT && url !== name_list()) await lists.delete(url);
      }
    })(),
  );
});

self.addEventListener("message", (event) => {
  const act = { "take over": take_over, repair }[event.data];
  if (act) event.waitUntil(act(as_installation(event)).catch(() => {})); // the pages have been told
});

// Nothing that has a hole takes over; where all is there, no network is needed.
async function take_over(event) {
  await save(event);
  await self.skipWaiting();
}

// One repair at a time: a page that counts in the middle of it would ask for another, and files would come twice.
let repairing;

function repair(event) {
  repairing ??= mend(event).finally(() => (repairing = undefined));
  return repairing;
}

// What is damaged goes, and what is missing comes.
async function mend(event) {
  const cache = await caches.open(FILES);
  for (const [url, key] of keys) {
    const saved = await cache.match(key);
    const bytes = saved && new Uint8Array(await saved.arrayBuffer());
    if (bytes && (await digest(bytes)) !== described.get(url).sha256) await cache.delete(key);
  }
  await save(event, "unrepaired");
  await note_current();
  pages.postMessage({ repaired: true });
}

// What is saved already stays; an installation that was broken off goes on where it was.
async function save(event, told_as = "failed") {
  refused = undefined;
  pages.postMessage({ [told_as]: "" });
  try {
    await note_list();
    await controller.install(event);
  } catch (error) {
    const full = error.name === "QuotaExceededError";
    pages.postMessage({ [told_as]: full ? "there is no room left for it" : refused ?? error.message });
    throw error;
  }
}

// Workbox fills its cache during an installation only; a repair is one that comes later.
function as_installation(event) {
  return { type: "install", waitUntil: (promise) => event.waitUntil(promise) };
}

// The list is stored first, so that a page can count what is saved while nothing else of this release runs.
async function note_list() {
  const list = { release, files: files.map(({ url, size }) => [keys.get(new URL(url, scope).href), size]) };
  await (await caches.open(LISTS)).put(name_list(), new Response(JSON.stringify(list)));
}

// Which release's list is that of the worker that answers.
async function note_current() {
  const lists = await caches.open(LISTS);
  await lists.put(CURRENT, new Response(release));
  return lists;
}

function name_list() {
  return `${scope}release/${release}`;
}

let refused;

function refuse(url, words) {
  refused = `${url.slice(scope.length) || "the first page"} ${words}`;
}

// An end to silence: bytes put it off, so that a slow network is waited for and a dead one is not.
function watch_silence() {
  const aborted = new AbortController();
  const give_up = () => aborted.abort(new Error(`nothing more arrived within ${QUIET / 1000} s`));
  let timer = setTimeout(give_up, QUIET);
  return {
    signal: aborted.signal,
    abort: () => aborted.abort(),
    hear() {
      clearTimeout(timer);
      timer = setTimeout(give_up, QUIET);
    },
    end: () => clearTimeout(timer),
  };
}

async function read(response, url, watch) {
  if (!response.ok) throw new Error(`could not be fetched: the server answered ${response.status}`);
  const { size } = described.get(url);
  const parts = [];
  let arrived = 0;
  let told = 0;
  const reader = response.body.getReader();
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      watch.hear();
      parts.push(value);
      arrived += value.length;
      if (arrived > size) {
        reader.cancel().catch(() => {});
        break;
      }
      if (Date.now() - told > 200) {
        told = Date.now();
        pages.postMessage({ arrived });
      }
    }
  } catch (error) {
    const why = error instanceof TypeError ? "the connection was lost" : error.message;
    throw new Error(`did not arrive whole: ${why}`);
  }
  // What never ends is not waited for either.
  if (arrived > size) throw new Error(`is longer than the ${size} bytes it should have`);
  return new Uint8Array(await new Blob(parts).arrayBuffer());
}

async function digest(bytes) {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...sum].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// A reader's figures stand behind the question mark; pages may be asked for with their file's name or without.
const saved_files = new PrecacheRoute(controller, {
  ignoreURLParametersMatching: [/./],
  urlManipulation: ({ url }) => [new URL(url.pathname.replace(/\/index(\.html)?$/, "/"), url)],
});
registerRoute(saved_files);

registerRoute(
  new NavigationRoute(async ({ request, url }) => {
    const folder = new URL(`${url.pathname}/`, url);
    if (keys.has(folder.href)) return Response.redirect(folder.href + url.search);
    try {
      return await fetch(request);
    } catch {
      return explain("This page is not part of the saved handbook, and there is no connection.");
    }
  }),
);

// A file that should be saved is not: fetched, checked and saved now, if it can be had; never taken unchecked.
setCatchHandler(async ({ request, event }) => {
  const found = saved_files.match({ request });
  try {
    const [url] = [...keys].find(([, key]) => key === found.cacheKey);
    const missing = new Request(url, { cache: "reload" });
    await controller.strategy.handle({ request: missing, event: as_installation(event), params: found });
    // The saved one, not what the host sent: that may be redirected, or of a wrong type.
    return await caches.match(found.cacheKey, { cacheName: FILES });
  } catch {
    if (request.mode !== "navigate") return Response.error();
    return explain("This page is missing from the copy saved on this device, and it cannot be fetched now.");
  }
});

function explain(words) {
  const page = `<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width,initial-scale=1"><meta name="color-scheme" content="light dark">
<title>Not saved</title><body style="font:1.1rem/1.5 sans-serif;max-width:32rem;margin:2rem auto;padding:0 1rem">
<h1>Not saved</h1><p>${words}</p><p>All that is saved can be read from <a href="${scope}">the first page</a>, which also
says what is missing. With a connection, open it and choose “Repair”.</p>`;
  return new Response(page, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
