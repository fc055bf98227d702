// What leads to other pages, loaded once for all that are exchanged in place. The search field: what is typed, the list
// of links under it, the keys; index and the script that searches it come when a field is first used. And the contents,
// when the page is quiet. From a folder, where nothing can be fetched, both are scripts.
"use strict";

(() => {
  const FIELD = ".sl-find";
  const script = document.currentScript;
  const locate = (address) => new URL(address, document.baseURI).href;
  const site = locate(script.dataset.site);
  const index = locate(script.dataset.index);
  const contents = locate(script.dataset.contents);
  const engine = { integrity: script.dataset.engineIntegrity ?? "", src: locate(script.dataset.engine) };

  function run(attributes) {
    return new Promise((settle, refuse) => {
      const element = Object.assign(document.createElement("script"), attributes);
      element.onload = () => settle();
      element.onerror = () => refuse(new Error("a file is missing"));
      document.head.append(element);
    });
  }

  async function read(address, name) {
    if (address.endsWith(".js")) {
      await run({ src: address });
      return self[name];
    }
    const response = await fetch(address);
    if (!response.ok) throw new Error(`the host answered ${response.status}`);
    return response.json();
  }

  let opening;
  function open() {
    opening ??= Promise.all([read(index, "handbookIndex"), run(engine)]).then(([read]) => self.handbookFind.open(read));
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
    // The letter is seen before what it finds.
    await new Promise((settle) => setTimeout(settle));
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

  // A section is filled when it is opened: a page holds no more than is looked at.
  function write_page([title, url]) {
    const link = Object.assign(document.createElement("a"), { href: new URL(url, site).href, textContent: title });
    link.className = "sl-contents-page";
    if (link.href === location.href.replace(/[?#].*/, "")) link.ariaCurrent = "page";
    return link;
  }

  const leads_here = ([, , below]) => Boolean(below?.some((item) => write_page(item).ariaCurrent || leads_here(item)));

  function write_item(item) {
    const [title, , below] = item;
    const row = document.createElement("li");
    if (!below) {
      row.append(write_page(item));
      return row;
    }
    const fold = document.createElement("details");
    fold.append(Object.assign(document.createElement("summary"), { textContent: title }));
    fold.addEventListener("toggle", () => fold.append(write_list(below)), { once: true });
    fold.open = leads_here(item);
    row.append(fold);
    return row;
  }

  function write_list(items) {
    const list = document.createElement("ul");
    list.append(...items.map(write_item));
    return list;
  }

  const EMPTY = ".sl-contents:empty:not([hidden])";
  let reading;
  async function fill_contents() {
    const place = document.querySelector(EMPTY);
    if (!place) return;
    reading ??= read(contents, "handbookContents");
    try {
      const items = await reading;
      if (!place.firstChild) place.append(write_list(items));
    } catch {
      // Home, section and neighbours are in the page; the next page tries again.
      reading = undefined;
      place.hidden = true;
    }
  }

  // Not with the page, whose calculators start then; but a page that never rests is not waited for.
  const QUIET = 1500;
  let waiting;
  function fill_later() {
    waiting ??= setTimeout(() => {
      waiting = undefined;
      fill_contents();
    }, reading ? 0 : QUIET);
  }
  // Whoever reaches for the contents does not wait.
  document.addEventListener("change", ({ target }) => target.id === "__drawer" && fill_contents());
  new MutationObserver(() => document.querySelector(EMPTY) && fill_later()).observe(document, {
    childList: true,
    subtree: true,
  });
  fill_later();
})();
