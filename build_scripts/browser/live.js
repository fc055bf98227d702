// Carries field values to the worker and puts the returned fragment in place; it renders nothing itself.
// Everything in a fragment has been escaped by the calculators' own Python.
(() => {
  "use strict";

  const script = document.currentScript;
  const runtime = new URL(script.dataset.runtime, document.baseURI).href;
  // Without a server nothing can be fetched: there one script carries the whole release (see carried.js).
  const carrier = script.dataset.carried && new URL(script.dataset.carried, document.baseURI).href;
  // The theme's script, until it runs; never looked up in the page, where an article could name another.
  let theme = { integrity: script.dataset.themeIntegrity ?? "", src: new URL(script.dataset.theme, document.baseURI).href };

  // Generous on purpose: a slow phone on a slow line is the normal case. Each sign of life starts it anew.
  const START_LIMIT = 60_000;
  const ANSWER_LIMIT = 20_000;
  // Browsers refuse address changes that come too often (some at 100 in 30 seconds).
  const ADDRESS_DELAY = 400;
  // What closed folds hide follows when the reader has stopped typing for so long.
  const FOLDS_DELAY = 200;
  // What the theme does at every page load waits until Python runs, but no longer than this.
  const THEME_DELAY = 800;

  const STAGES = { load: "fetching the calculators", start: "starting Python" };

  const shelf = {
    read(key) {
      try {
        return JSON.parse(localStorage.getItem(`handbook:${key}`));
      } catch {
        return null; // storage is refused in some private windows; the page works without it
      }
    },
    write(key, value) {
      try {
        if (value === null) localStorage.removeItem(`handbook:${key}`);
        else localStorage.setItem(`handbook:${key}`, JSON.stringify(value));
      } catch {
        // As above: only the next visit is the poorer.
      }
    },
  };

  // One worker for a whole visit. It is started when the first calculator comes into a page and survives
  // page changes; after a failure it can be started again by the reader.
  const engine = {
    worker: null,
    files: null,
    state: "idle",
    words: "",
    tier: "",
    asked: new Map(),
    number: 0,
    attempts: 0,
    timer: 0,

    start() {
      if (engine.state !== "idle" && engine.state !== "failed") return;
      engine.change("starting", "Live figures in a moment: starting Python.");
      engine.limit(START_LIMIT, "nothing was heard from it for a minute");
      if (carrier) engine.carry();
      else engine.begin();
    },

    carry() {
      const carrying = document.createElement("script");
      // Another address for another attempt: some browsers keep what they have read, damaged or not.
      carrying.src = `${carrier}?${engine.attempts++}`;
      const end = () => {
        carrying.remove();
        // A later attempt may have been quicker, or the wait may be over.
        if (engine.state !== "starting" || engine.worker) return;
        const { release } = self.handbookCarried;
        self.handbookCarried.release = undefined; // it takes much memory, and another attempt reads it anew
        if (release) engine.begin(release);
        else engine.fail("the script that carries Python is missing or damaged; unpack or copy the handbook again");
      };
      carrying.onload = carrying.onerror = end;
      document.head.append(carrying);
    },

    begin(carried) {
      try {
        // Two threads: one fetches, compiles and unpacks, the other sets Python up.
        // The page's head has asked for them already; after a failure they are asked for anew.
        [engine.files, engine.worker] = self.handbookWorkers ?? ["files.js", "worker.js"].map(engine.make);
        self.handbookWorkers = undefined;
        for (const [worker, name] of [[engine.files, "files.js"], [engine.worker, "worker.js"]]) {
          if (!engine.watch(worker, name)) return;
        }
      } catch (error) {
        engine.fail(`this browser refused to start a worker (${error.message})`);
        return;
      }
      engine.worker.onmessage = ({ data }) => engine.hear(data);
      const { port1, port2 } = new MessageChannel();
      engine.files.postMessage({ base: runtime, carried, port: port1 }, [port1]);
      engine.worker.postMessage({ type: "start", base: runtime, files: port2 }, [port2]);
      // What has been asked while there was no worker is asked now.
      engine.change("starting", engine.words);
    },

    make(name) {
      return new Worker(new URL(name, runtime));
    },

    // False if it has failed already.
    watch(worker, name) {
      const fail = ({ message }) => engine.fail(message ? `${name} stopped (${message})` : `${name} could not be loaded`);
      worker.onerror = (event) => {
        event.preventDefault();
        fail(event);
      };
      if (worker.failure) fail(worker.failure);
      return !worker.failure;
    },

    hear(message) {
      if (message.type === "progress") {
        const share = message.total ? ` (${Math.round((100 * message.loaded) / message.total)} %)` : "";
        engine.change("starting", `Live figures in a moment: ${STAGES[message.stage] ?? message.stage}${share}.`);
        engine.limit(START_LIMIT, "nothing was heard from it for a minute");
      } else if (message.type === "ready") {
        clearTimeout(engine.timer);
        if (engine.asked.size) engine.limit(ANSWER_LIMIT, "an answer took longer than 20 seconds");
        engine.tier = message.tier;
        document.documentElement.dataset.handbookTier = message.tier;
        engine.change("ready", "");
      } else if (message.type === "failed") {
        engine.fail(message.reason);
      } else if (message.type === "answer") {
        const settle = engine.asked.get(message.id);
        engine.asked.delete(message.id);
        if (!engine.asked.size) clearTimeout(engine.timer);
        settle?.(message.fault ? { fault: message.fault } : message.answer);
      }
    },

    ask(question, settle) {
      engine.number += 1;
      engine.asked.set(engine.number, settle);
      // Before Python runs, the limit is that of the start; the question waits in the worker.
      if (engine.state === "ready") engine.limit(ANSWER_LIMIT, "an answer took longer than 20 seconds");
      engine.worker.postMessage({ type: "ask", id: engine.number, question });
      return engine.number;
    },

    limit(time, reason) {
      clearTimeout(engine.timer);
      engine.timer = setTimeout(() => engine.fail(reason), time);
    },

    fail(reason) {
      clearTimeout(engine.timer);
      engine.worker?.terminate();
      engine.files?.terminate();
      engine.worker = engine.files = null;
      const waiting = [...engine.asked.values()];
      engine.asked.clear();
      console.error(`calculators: ${reason}`);
      const why = reason.replace(/\.$/, "");
      engine.change("failed", `Live figures could not start: ${why}. The result below is the one built into the page.`);
      for (const settle of waiting) settle(null);
    },

    change(state, words) {
      engine.state = state;
      engine.words = words;
      for (const block of blocks) block.follow();
      if (state === "failed") run_theme();
    },
  };

  const units = {
    system: shelf.read("units") === "imperial" ? "imperial" : "metric",
    set(system) {
      units.system = system;
      for (const block of blocks) block.compute();
    },
  };

  let blocks = [];

  class Block {
    constructor(section) {
      this.section = section;
      this.anchor = section.id;
      this.form = section.querySelector(".sl-form");
      this.status = section.querySelector(".sl-status");
      this.result = section.querySelector(".sl-result");
      this.key = `figures:${location.pathname}#${this.anchor}`;
      this.busy = false;
      this.changed = false;
      this.brief = { element: this.form.querySelector(".sl-brief") };
      this.parts = null; // of the result on the page, by name: the element and the text it was made of
      this.waiting = null; // the question that still lacks what closed folds hide
      this.fields = new Map();
      for (const holder of this.form.querySelectorAll("[data-field]")) {
        const control = holder.querySelector("input, select, textarea");
        control.readOnly = false;
        control.disabled = false;
        this.fields.set(holder.dataset.field, { holder, control, error: holder.querySelector(".sl-error") });
        const keys = holder.querySelector(".sl-keys");
        if (keys) keys.hidden = false;
      }
      this.article = this.texts();
      this.form.querySelector(".sl-tools").hidden = false;
      this.restore();
      this.form.addEventListener("input", () => this.typed());
      this.form.addEventListener("submit", (event) => event.preventDefault());
      this.form.addEventListener("reset", () => setTimeout(() => this.typed()));
      this.form.addEventListener("click", (event) => this.press(event.target.closest("button")));
      // A finger goes down some time before the fold opens.
      this.result.addEventListener("pointerdown", ({ target }) => this.fill(target.closest("summary")?.parentElement));
      this.result.addEventListener("toggle", ({ target }) => target.open && this.fill(target), true);
      // A key that took the focus would close the phone's keypad.
      this.form.addEventListener("pointerdown", (event) => {
        if (event.target.closest(".sl-keys button")) event.preventDefault();
      });
    }

    texts() {
      return Object.fromEntries([...this.fields].map(([name, { control }]) => [name, control.value]));
    }

    own() {
      return Object.fromEntries(Object.entries(this.texts()).filter(([name, text]) => text !== this.article[name]));
    }

    restore() {
      const shared = {};
      for (const [name, text] of new URLSearchParams(location.search)) {
        const field = name.startsWith(`${this.anchor}.`) ? name.slice(this.anchor.length + 1) : "";
        if (this.fields.has(field)) shared[field] = text;
      }
      // A shared link shows what was shared, not a mixture with what this device remembers.
      const texts = Object.keys(shared).length ? shared : shelf.read(this.key) ?? {};
      for (const [name, text] of Object.entries(texts)) {
        const field = this.fields.get(name);
        if (!field) continue;
        field.control.value = text;
        // A choice that no longer exists leaves the list empty: the article's own figure stays.
        if (field.control.value !== text) field.control.value = this.article[name];
        field.holder.closest("details")?.setAttribute("open", "");
      }
    }

    typed() {
      this.compute();
      const own = this.own();
      shelf.write(this.key, Object.keys(own).length ? own : null);
      clearTimeout(this.later);
      this.later = setTimeout(() => this.share(), ADDRESS_DELAY);
    }

    share() {
      if (!this.section.isConnected) return;
      const address = new URL(location.href);
      for (const name of [...address.searchParams.keys()]) {
        if (name.startsWith(`${this.anchor}.`)) address.searchParams.delete(name);
      }
      for (const [name, text] of Object.entries(this.own())) address.searchParams.set(`${this.anchor}.${name}`, text);
      if (address.href !== location.href) history.replaceState(history.state, "", address);
      this.section.querySelector(".sl-link").href = this.link();
    }

    link() {
      // All figures, so that the link still means the same after the article has changed.
      const address = new URL(location.pathname, location.href);
      for (const [name, text] of Object.entries(this.texts())) address.searchParams.set(`${this.anchor}.${name}`, text);
      address.hash = this.anchor;
      return address.href;
    }

    // While one answer is under way only the newest figures wait: nothing queues up behind fast fingers.
    compute() {
      this.changed = true;
      this.follow();
    }

    follow() {
      put(this.form.querySelector('[data-do="units"]'), `Show ${units.system === "metric" ? "imperial" : "metric"} results`);
      if (engine.state !== "ready") this.say(engine.words);
      this.section.classList.toggle("sl-failed", engine.state === "failed");
      // What is on the page was built for the article's figures, whatever the fields have now.
      if (engine.state === "failed" && !this.parts) this.section.classList.toggle("sl-old", Object.keys(this.own()).length > 0);
      if (!engine.worker) return;
      if (this.busy || !this.changed) return;
      this.changed = false;
      const question = this.question("html");
      // The built page holds everything already, so that the first answer has to.
      if (this.parts) question.closed = this.folds().filter((fold) => !fold.open).map((fold) => fold.dataset.key);
      this.ask(question, (answer) => this.show(answer, question));
    }

    question(form) {
      return { calculator: this.section.dataset.calculator, fields: this.texts(), units: units.system, form };
    }

    ask(question, settle) {
      this.busy = true;
      clearTimeout(this.pause);
      const number = engine.ask(question, (answer) => {
        this.busy = false;
        this.asked = number;
        if (answer) {
          settle(answer);
          this.follow();
          if (this.waiting) this.pause = setTimeout(() => this.complete(), FOLDS_DELAY);
        } else this.changed = true; // asked anew once Python has been started again
      });
    }

    // Fill the folds that were left out; the figures are those on the page, even if the newest are wrong.
    complete() {
      if (!this.waiting || this.busy || !engine.worker) return;
      const { closed, ...question } = this.waiting;
      this.ask(question, (answer) => {
        this.waiting = null; // asked for once: a fault would only come again
        if (answer.ok) this.exchange(answer.result, question);
        else this.show(answer, question);
      });
    }

    fill(fold) {
      if (fold && this.waiting?.closed.includes(fold.dataset.key)) this.complete();
    }

    folds() {
      return [...this.result.querySelectorAll("details[data-key]")];
    }

    show(answer, question) {
      const errors = new Map((answer.errors ?? []).map((error) => [error.field, error.text]));
      for (const [name, { holder, control, error }] of this.fields) {
        const words = errors.get(name) ?? "";
        if (put(error, words)) {
          error.hidden = !words;
          if (words) control.setAttribute("aria-invalid", "true");
          else control.removeAttribute("aria-invalid");
        }
        if (words) holder.closest("details")?.setAttribute("open", "");
      }
      this.section.classList.toggle("sl-old", !answer.ok);
      if (answer.fault) {
        this.say("These figures could not be computed (a fault in the calculator). The result below is the last good one.");
        console.error(`calculators: ${answer.fault}`);
      } else if (!answer.ok) {
        this.say("Not computed: mend the marked field. The result below is the last good one.");
      } else {
        this.exchange(answer.result, question);
        this.brief = this.renew(this.brief, answer.brief);
        this.section.dataset.shown = this.asked;
        // A fold may have been opened while its content was being left out.
        for (const fold of this.folds()) if (fold.open) this.fill(fold);
        const own = Object.keys(this.own()).length;
        this.say(own ? `Live. ${own} of the figures ${own > 1 ? "are" : "is"} your own; Reset brings the article's back.` : "Live: change any figure.");
        if (!this.section.dataset.live) {
          this.section.dataset.live = "yes";
          performance.mark("handbook:live");
          // The result is painted first.
          requestAnimationFrame(() => setTimeout(run_theme));
        }
      }
    }

    // Only the parts that differ are exchanged: a phone need not lay out all of a result for one digit.
    exchange(texts, question) {
      const names = Object.keys(texts);
      this.parts ??= new Map([...this.result.children].map((element, place) => [names[place] ?? place, { element }]));
      const parts = new Map(names.map((name) => [name, this.renew(this.parts.get(name), texts[name])]));
      for (const [name, { element }] of this.parts) if (!parts.has(name)) element.remove();
      let next = this.result.firstElementChild;
      for (const { element } of parts.values()) {
        if (element === next) next = next.nextElementSibling;
        else this.result.insertBefore(element, next);
      }
      this.parts = parts;
      this.waiting = question.closed?.length ? question : null;
      this.section.toggleAttribute("data-complete", !this.waiting);
    }

    renew(part, text) {
      if (text === null || part?.text === text) return part;
      const element = new DOMParser().parseFromString(text, "text/html").body.firstElementChild;
      return { element: part ? adapt(part.element, element) : element, text };
    }

    say(words) {
      if (!put(this.status, words)) return;
      if (engine.state === "failed") {
        const again = document.createElement("button");
        again.type = "button";
        again.textContent = "Try again";
        again.onclick = () => engine.start();
        this.status.append(" ", again);
      }
    }

    press(button) {
      if (!button) return;
      const input = button.closest("[data-field]")?.querySelector("input");
      if (button.dataset.unit) {
        const number = /^[\s\d.,/+-]*/.exec(input.value)[0].trim();
        input.value = `${number} ${button.dataset.unit}`.trim();
        this.typed();
      } else if (button.dataset.do === "letters") {
        input.inputMode = "text";
        input.blur();
        input.focus();
      } else if (button.dataset.do === "units") {
        units.set(units.system === "metric" ? "imperial" : "metric");
        shelf.write("units", units.system);
      } else if (button.dataset.do === "link") {
        copy(this.link(), button);
      } else if (button.dataset.do === "text") {
        if (engine.state !== "ready") return flash(button, "Not live yet");
        this.ask(this.question("text"), (answer) => {
          if (answer.ok) copy(answer.result, button);
          else this.show(answer);
        });
      } else if (button.dataset.do === "print") {
        this.print();
      }
    }

    // Print this result alone, on one page where it fits; style.css says what of it goes on paper.
    print() {
      const { classList } = document.documentElement;
      const begin = () => {
        // Folds that are not filled would be printed empty.
        if (this.waiting && engine.worker) {
          this.complete();
          return setTimeout(begin, 50);
        }
        for (const { holder, control } of this.fields.values()) {
          holder.toggleAttribute("data-empty", !control.value.trim());
          holder.toggleAttribute("data-unit-typed", /[^\d\s.,/+-]/.test(control.value));
        }
        classList.add("sl-one");
        this.section.classList.add("sl-printed");
        print();
      };
      const end = () => {
        classList.remove("sl-one");
        this.section.classList.remove("sl-printed");
      };
      addEventListener("afterprint", end, { once: true });
      begin();
    }
  }

  // Make `old` what `fresh` is, in place where it can be: what stays need not be laid out again, and keeps the focus
  // or the finger that is on it. Which folds are open is the reader's business.
  function adapt(old, fresh) {
    if (old.isEqualNode(fresh)) return old;
    if (old.nodeName !== fresh.nodeName || old.dataset?.key !== fresh.dataset?.key) {
      old.replaceWith(fresh);
      return fresh;
    }
    if (old.nodeType === Node.TEXT_NODE) {
      old.data = fresh.data;
      return old;
    }
    // The theme marks a heading that has the focus in its own way.
    if (old.nodeName === "SUMMARY" && old.textContent === fresh.textContent) return old;
    for (const name of old.getAttributeNames()) {
      if (name !== "open" && !fresh.hasAttribute(name)) old.removeAttribute(name);
    }
    for (const { name, value } of fresh.attributes) {
      if (name !== "open" && old.getAttribute(name) !== value) old.setAttribute(name, value);
    }
    const parts = [...fresh.childNodes];
    const former = [...old.childNodes];
    former.forEach((part, place) => (place < parts.length ? adapt(part, parts[place]) : part.remove()));
    old.append(...parts.slice(former.length));
    return old;
  }

  // Even the same words, put anew, would have to be laid out again. True if they are others.
  function put(element, words) {
    if (element.textContent === words) return false;
    element.textContent = words;
    return true;
  }

  // Say on a button what became of pressing it.
  function flash(button, words) {
    const label = button.dataset.label ?? (button.dataset.label = button.textContent);
    button.textContent = words;
    setTimeout(() => (button.textContent = label), 2000);
  }

  async function copy(text, button) {
    let done = true;
    try {
      await navigator.clipboard.writeText(text);
    } catch {
      // No clipboard without a secure connection: an old way that needs a selection still works there.
      const holder = document.createElement("textarea");
      holder.value = text;
      document.body.append(holder);
      holder.select();
      done = document.execCommand("copy");
      holder.remove();
    }
    flash(button, done ? "Copied" : "Could not copy");
  }

  function mount() {
    if (engine.state === "idle" && document.querySelector(".sl-block")) engine.start();
    // Python starts as soon as a calculator is seen; the blocks have to wait until they are whole.
    if (document.readyState === "loading") return;
    blocks = blocks.filter((block) => block.section.isConnected);
    for (const section of document.querySelectorAll(".sl-block:not([data-mounted])")) {
      section.dataset.mounted = "yes";
      const block = new Block(section);
      blocks.push(block);
      block.compute();
    }
  }

  function run_theme() {
    // It looks for what stands at the end of the page, and Python may fail before that is there.
    if (!theme || document.readyState === "loading") return;
    document.body.append(Object.assign(document.createElement("script"), theme));
    theme = null;
  }

  addEventListener("storage", (event) => {
    if (event.key === "handbook:units" && event.newValue) units.set(shelf.read("units") === "imperial" ? "imperial" : "metric");
  });

  // Pages may be exchanged without a new document; watching the tree needs no word from the theme.
  new MutationObserver(mount).observe(document.documentElement, { childList: true, subtree: true });
  const begin = () => {
    mount();
    if (engine.state === "idle") run_theme();
    else setTimeout(run_theme, THEME_DELAY);
  };
  // This script is fetched beside the page, and may come before the page is whole or after.
  if (document.readyState === "loading") {
    document.addEventListener("DOMContentLoaded", begin);
    mount();
  } else begin();
})();
