// The search field: what is typed, the list of links under it, the keys. The index and the script that searches it come
// when a field is first used, once for all pages that are exchanged in place; from a folder the index is a script, too.
"use strict";

(() => {
  const FIELD = ".sl-find";
  const PAUSE = 30;
  const script = document.currentScript;
  const locate = (address) => new URL(address, document.baseURI).href;
  const site = locate(script.dataset.site);
  const index = locate(script.dataset.index);
  const engine = { integrity: script.dataset.engineIntegrity ?? "", src: locate(script.dataset.engine) };

  function run(attributes) {
    return new Promise((settle, refuse) => {
      const element = Object.assign(document.createElement("script"), attributes);
      element.onload = () => settle();
      element.onerror = () => refuse(new Error("a file is missing"));
      document.head.append(element);
    });
  }

  async function read_index() {
    if (index.endsWith(".js")) {
      await run({ src: index });
      return self.handbookIndex;
    }
    const response = await fetch(index);
    if (!response.ok) throw new Error(`the host answered ${response.status}`);
    return response.json();
  }

  let opening;
  function open() {
    opening ??= Promise.all([read_index(), run(engine)]).then(([read]) => self.handbookFind.open(read));
    // What failed once is tried again with the next word.
    opening.catch(() => (opening = undefined));
    return opening;
  }

  function write_row({ url, kind, page, heading, excerpt, say }) {
    const link = Object.assign(document.createElement("a"), { href: new URL(url, site).href });
    const add = (name, text) => {
      if (text) link.append(Object.assign(document.createElement("span"), { className: name, textContent: text }));
    };
    add("sl-found-title", say ?? (heading || page));
    add("sl-found-page", [kind, heading && page].filter(Boolean).join(" · "));
    add("sl-found-text", excerpt);
    const row = document.createElement("li");
    row.append(link);
    return row;
  }

  // Each field's last question; an answer to a former one is late, and left out.
  const asked = new WeakMap();

  async function follow(field) {
    const text = field.querySelector("input").value.trim();
    asked.set(field, text);
    await new Promise((settle) => setTimeout(settle, text ? PAUSE : 0));
    let words, rows = [];
    try {
      const { find, problems } = await open();
      if (asked.get(field) !== text) return false;
      rows = text ? find(text) : problems;
      if (!text) words = problems.length ? "What often goes wrong" : "";
      else if (rows.length) words = `${rows.length} ${rows.length === 1 ? "place" : "places"} found`;
      else [words, rows] = [`Nothing here says “${text}”. Perhaps one of these?`, problems];
    } catch (error) {
      if (asked.get(field) !== text) return false;
      words = `The search could not start (${error.message}); type again to try once more.`;
    }
    field.querySelector(".sl-found-words").textContent = words;
    field.querySelector(".sl-found ul").replaceChildren(...rows.map(write_row));
    return rows.length > 0;
  }

  const list_stops = (field) => [field.querySelector("input"), ...field.querySelectorAll("a")];

  async function press(field, event) {
    const stops = list_stops(field);
    const at = stops.indexOf(document.activeElement);
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step) {
      event.preventDefault();
      stops[(at + step + stops.length) % stops.length].focus();
    } else if (event.key === "Escape") {
      event.preventDefault();
      if (at > 0) stops[0].focus();
      else if (stops[0].value) [stops[0].value] = [""], follow(field);
      else stops[0].blur();
    } else if (event.key === "Enter" && at === 0) {
      event.preventDefault();
      if (stops[0].value.trim() && (await follow(field))) list_stops(field)[1].click();
    }
  }

  const listen = (kind, act) => {
    document.addEventListener(kind, (event) => {
      const field = event.target.closest?.(FIELD);
      if (field) act(field, event);
    });
  };

  listen("focusin", (field, { target }) => {
    if (target.localName === "input") follow(field);
  });
  listen("input", follow);
  listen("keydown", press);
  // The field keeps the focus, and so the list stays, while a finger or the mouse is on the list.
  listen("mousedown", (_, event) => {
    if (event.target.closest(".sl-found")) event.preventDefault();
  });
  // The page may be exchanged in place: then the list is to be gone.
  listen("click", (field, event) => {
    if (event.target.closest("a")) for (const stop of list_stops(field)) stop.blur();
  });
})();
