// Takes the place of the service worker where a club no longer wants copies kept on its readers' devices: it removes
// what was saved, takes itself away, and lets open pages load from the network.
"use strict";

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const { scope } = self.registration;
      for (const name of await caches.keys()) {
        if (name === `handbook ${scope}` || name === `handbook lists ${scope}`) await caches.delete(name);
      }
      await self.registration.unregister();
      for (const client of await self.clients.matchAll({ type: "window" })) client.navigate(client.url);
    })(),
  );
});
