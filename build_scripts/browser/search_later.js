// Stands in for the theme's search worker until the page has had time to start what the reader came for.
//
// The theme builds its index of all pages at every page load, at the very moment when Python starts. This keeps
// what the page sends and hands it on to the real worker, named behind the question mark, a little later.
"use strict";

const DELAY = 1500;

const waiting = [];
const keep = (event) => {
  waiting.push(event.data);
  event.stopImmediatePropagation();
};
self.addEventListener("message", keep);

const worker = decodeURIComponent(self.location.search.slice(1));
// The name comes from the page: only the theme's own place is taken.
if (!/^javascripts\/workers\/[\w.]+$/.test(worker)) throw new Error(`${worker} is no worker of the theme`);

setTimeout(() => {
  self.removeEventListener("message", keep);
  importScripts(new URL(worker, self.location));
  for (const data of waiting) self.dispatchEvent(new MessageEvent("message", { data }));
}, DELAY);
