// Carries field values to the worker and puts what comes back in place; it renders nothing itself, and trusts nothing of
// it (see build). Nothing is looked up by a name that an article can take: an element's id is a name of the window too.
(() => {
  "use strict";

  const script = document.currentScript;
  const runtime = new URL(script.dataset.runtime, document.baseURI).href;
  // Without a server nothing can be fetched: there one script carries the whole release (see carried.js).
  const carrier = script.dataset.carried && new URL(script.dataset.carried, document.baseURI).href;
  // The theme's script, until it runs; never looked up in the page, where an article could name another.
  let theme = { integrity: script.dataset.themeIntegrity ?? "", src: new URL(script.dataset.theme, document.baseURI).href };

  const own_rows = { integrity: script.dataset.rowsIntegrity ?? "", src: new URL(script.dataset.rows, document.baseURI).href };

  // Generous on purpose: a slow phone on a slow line is the normal case. Each sign of life starts it anew.
  const START_LIMIT = 60_000;
  const ANSWER_LIMIT = 20_000;
  // Browsers refuse address changes that come too often (some at 100 in 30 seconds).
  const ADDRESS_DELAY = 400;
  // What closed folds hide follows when the reader has stopped typing for so long.
  const FOLDS_DELAY = 200;
  // What belongs to other figures is marked at once (data-old, aria-busy, words), but while an answer is under way drawn
  // grey (sl-old) only so much later: most answers are there by then, no word is read in a tenth of a second, and a page
  // that flickers at every digit would teach readers to overlook it. The mark is an attribute without a style, because
  // a class costs the keystroke a frame, which takes as long as the answer.
  const GREY_DELAY = 100;
  // What the theme does at every page load waits until Python runs, but no longer than this.
  const THEME_DELAY = 800;

  // Some hosts refuse longer ones: such figures are kept on the device alone.
  const LONGEST_ADDRESS = 7_500;

  // A number without a unit, as calculators/forms/fields.py has it.
  const BARE = /^(?=.*\d)[\d.,/+ -]+(e[+-]?\d+)?$/i;

  // In signs: no field takes more, and no answer comes near.
  const LONGEST = 20_000;
  const LARGEST = 1_000_000;

  // What an answer may hold: what presentation/as_html.py and results/drawing.py write. Large names are HTML's.
  const ELEMENTS = new Set(
    ("BR BUTTON CODE DD DETAILS DIV DL DT FIGCAPTION FIGURE LI OL P SPAN STRONG SUMMARY TABLE TBODY TD TH THEAD TR UL " +
      "circle g path polyline rect svg text").split(" "),
  );
  const CLASSES =
    "answer|apply|brief|caution|cautions|chosen|clear|drawing|explained|finding|findings|fold|four|good|holds|long|" +
    "main|mark|name|note|number|one|outputs|picture|readings|rows|soft|stop|table|three|two|unseen|verdict|working";
  const ATTRIBUTES = new Map(
    [
      ["aria-label data-apply data-code data-key data-output data-picture", ".*"],
      ["class", `(sl-(${CLASSES})( (?!$)|$))+`],
      ["cx cy d fill-opacity font-size font-weight height points r rx stroke-dasharray", "[-\\d., MC]+"],
      ["stroke-width textLength viewBox width x y", "[-\\d., ]+"],
      ["fill stroke", "none|currentColor"],
      ["text-anchor", "start|middle|end"],
      ["lengthAdjust", "spacingAndGlyphs"],
      ["aria-hidden", "true"],
      ["focusable", "false"],
      ["role", "img|region|status"],
      ["scope", "col"],
      ["colspan", "\\d{1,2}"],
      ["tabindex", "0"],
      ["type", "button"],
      ["hidden open", ""],
    ].flatMap(([names, values]) => names.split(" ").map((name) => [name, new RegExp(`^(?:${values})$`, "s")])),
  );

  // By what no article can write.
  const BLOCK = "section[data-calculator]";

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
        const carried = find_own("handbookCarried");
        const release = carried?.release;
        if (release) carried.release = undefined; // it takes much memory, and another attempt reads it anew
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
        [engine.files, engine.worker] = find_own("handbookWorkers") ?? ["files.js", "worker.js"].map(engine.make);
        self.handbookWorkers = undefined;
        for (const [worker, name] of [[engine.files, "files.js"], [engine.worker, "worker.js"]]) {
          if (!engine.watch(worker, name)) return;
        }
      } catch (error) {
        engine.fail(`this browser refused to start a worker (${error.message})`);
        return;
      }
      engine.worker.onmessage = ({ data, target }) => target === engine.worker && engine.hear(data);
      const { port1, port2 } = new MessageChannel();
      // The parts of the calculators that are in sight are fetched beside the rest.
      const calculators = [...document.querySelectorAll(BLOCK)].map(({ dataset }) => dataset.calculator);
      engine.files.postMessage({ base: runtime, carried, calculators, port: port1 }, [port1]);
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
      const { type } = message ?? {};
      const starting = engine.state === "starting";
      if (type === "progress" && starting) {
        const share = Math.round((100 * message.loaded) / message.total);
        const stage = message.stage === "start" ? "starting Python" : "fetching the calculators";
        engine.change("starting", `Live figures in a moment: ${stage}${share <= 100 ? ` (${share} %)` : ""}.`);
        engine.limit(START_LIMIT, "nothing was heard from it for a minute");
      } else if (type === "progress" && engine.state === "ready") {
        // A calculator's part is under way.
        if (engine.asked.size) engine.limit_answer();
      } else if (type === "ready" && starting) {
        clearTimeout(engine.timer);
        if (engine.asked.size) engine.limit_answer();
        document.documentElement.dataset.handbookTier = message.tier;
        engine.change("ready", engine.words);
      } else if (type === "failed") {
        engine.fail(`${message.reason}`.slice(0, 300));
      } else if (type === "answer" && engine.asked.has(message.id) && !starting) {
        const settle = engine.asked.get(message.id);
        engine.asked.delete(message.id);
        clearTimeout(engine.timer);
        if (engine.asked.size) engine.limit_answer();
        settle(message);
      }
    },

    ask(question, settle) {
      engine.number += 1;
      // Before Python runs, the limit is that of the start; the question waits in the worker.
      if (engine.state === "ready" && !engine.asked.size) engine.limit_answer();
      engine.asked.set(engine.number, settle);
      engine.worker.postMessage({ type: "ask", id: engine.number, question });
    },

    limit_answer() {
      engine.limit(ANSWER_LIMIT, "an answer took longer than 20 seconds");
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
      const what = engine.state === "ready" ? "No live figures any more" : "Live figures could not start";
      engine.change("failed", `${what}: ${reason.replace(/\.$/, "")}.`);
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
      for (const block of blocks) block.follow();
    },
  };

  // What only tables need comes with the first of them. Without it there is still their text.
  let opening;
  function open_rows(holder, opened) {
    opening ??= new Promise((settle) => {
      const element = Object.assign(document.createElement("script"), own_rows);
      element.onload = () => settle(find_own("handbookRows"));
      element.onerror = () => (opening = undefined);
      document.head.append(element);
    });
    opening.then((open) => {
      open(holder);
      opened();
    });
  }

  let blocks = [];

  // Everything that is said and marked follows from the figures in the fields now, those that the result on the page
  // belongs to (`shown`), and the newest answer (`answered`: its question, and words where it brought no result).
  class Block {
    constructor(section) {
      this.section = section;
      this.anchor = section.id;
      this.status = section.querySelector(".sl-status");
      this.result = section.querySelector(".sl-result");
      this.key = `figures:${location.pathname}#${this.anchor}`;
      this.busy = false;
      this.brief = { element: section.querySelector(".sl-brief") };
      this.parts = null; // of the result on the page, by name: the element and the text it was made of
      this.waiting = null; // the question that still lacks what closed folds hide
      this.fields = new Map();
      this.former = new Map(); // names of fields of former editions: the table for their figures, and their default
      this.article = {};
      for (const holder of section.querySelectorAll("[data-field]")) {
        const control = holder.querySelector("[name]");
        control.readOnly = false;
        control.disabled = false;
        const label = holder.querySelector("label, .sl-label").textContent;
        const unit = control.nextElementSibling?.textContent;
        // Not what the field holds: browsers put back what was typed before.
        const built =
          control.defaultValue ?? [...control.options].find((option) => option.defaultSelected)?.value ?? control.value;
        this.fields.set(holder.dataset.field, { holder, control, label, unit, built, error: holder.querySelector(".sl-error") });
        this.article[holder.dataset.field] = add_unit(built, unit);
        const keys = holder.querySelector(".sl-keys");
        if (keys) keys.hidden = false;
        for (const [name, usual] of Object.entries(JSON.parse(holder.dataset.former ?? "{}"))) {
          this.former.set(name, { heir: holder.dataset.field, usual });
        }
        if (holder.dataset.table !== undefined) open_rows(holder, () => this.mark(this.errors));
      }
      this.shown = { fields: this.article, units: "metric" };
      section.querySelector(".sl-tools").hidden = false;
      this.restore();
      // Not on the form, whose own properties give way to fields of their names.
      section.addEventListener("input", () => this.typed());
      section.addEventListener("submit", (event) => event.preventDefault());
      section.addEventListener("reset", (event) => {
        event.preventDefault(); // it would come later than this
        for (const { control, built } of this.fields.values()) {
          control.value = built;
          control.dispatchEvent(new Event("sl-set"));
        }
        this.typed();
      });
      section.addEventListener("click", (event) => this.press(event.target.closest("button")));
      // A finger goes down some time before the fold opens.
      this.result.addEventListener("pointerdown", ({ target }) => this.fill(target.closest("summary")?.parentElement));
      this.result.addEventListener("toggle", ({ target }) => target.open && this.fill(target), true);
      // A key that took the focus would close the phone's keypad.
      section.addEventListener("pointerdown", (event) => {
        if (event.target.closest(".sl-keys button")) event.preventDefault();
      });
    }

    // A bare number is in the unit that the field shows, and says so wherever it is sent, kept or shared.
    texts() {
      return Object.fromEntries([...this.fields].map(([name, { control, unit }]) => [name, add_unit(control.value, unit)]));
    }

    own() {
      return Object.fromEntries(Object.entries(this.texts()).filter(([name, text]) => text !== this.article[name]));
    }

    restore() {
      const shared = {};
      for (const [name, text] of new URLSearchParams(location.search)) {
        const field = name.startsWith(`${this.anchor}.`) ? name.slice(this.anchor.length + 1) : "";
        if (this.fields.has(field) || this.former.has(field)) shared[field] = text;
      }
      // A shared link shows what was shared, not a mixture with what this device remembers.
      const texts = Object.keys(shared).length ? shared : shelf.read(this.key) ?? {};
      for (const [name, text] of Object.entries(this.inherit(texts))) {
        const field = this.fields.get(name);
        if (!field || typeof text !== "string" || text.length > LONGEST) continue;
        // In a link to a fence's own figures, a bare number is in the unit that the calculator declares.
        const said = add_unit(text, field.holder.dataset.unit);
        field.control.value = said;
        // A choice that no longer exists leaves the list empty: the article's own figure stays.
        if (field.control.value !== said) field.control.value = field.built;
        field.holder.closest("details")?.setAttribute("open", "");
      }
    }

    // What fields of a former edition held stands, line by line, in the table that has it now; the answer says how it is
    // written today. Their defaults say nothing.
    inherit(texts) {
      const inherited = {};
      for (const [name, text] of Object.entries(texts)) {
        const { heir = name, usual } = this.former.get(name) ?? {};
        if (text === usual) continue;
        inherited[heir] = heir === name ? text : `${inherited[heir] ?? ""}${name} = ${text}\n`;
      }
      return inherited;
    }

    typed() {
      this.follow();
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
      const bare = address.href;
      for (const [name, text] of Object.entries(this.own())) address.searchParams.set(`${this.anchor}.${name}`, text);
      const { href } = address.href.length > LONGEST_ADDRESS ? { href: bare } : address;
      if (href !== location.href) history.replaceState(history.state, "", href);
      const link = this.section.querySelector(".sl-link");
      link.href = this.link();
      link.hidden = link.href.length > LONGEST_ADDRESS;
    }

    link() {
      // All figures, so that the link still means the same after the article has changed.
      const address = new URL(location.pathname, location.href);
      for (const [name, text] of Object.entries(this.texts())) address.searchParams.set(`${this.anchor}.${name}`, text);
      address.hash = this.anchor;
      return address.href;
    }

    // While one answer is under way only the newest figures wait: nothing queues up behind fast fingers.
    follow() {
      const now = this.question("html");
      const answered = same(now, this.answered?.question);
      this.old = !same(now, this.shown);
      this.section.toggleAttribute("data-old", this.old);
      const draw = () => this.section.classList.toggle("sl-old", this.old);
      // Only an answer that may come in a moment is waited for.
      if (this.old && !answered && engine.state === "ready") this.greying ??= setTimeout(draw, GREY_DELAY);
      else {
        this.greying = clearTimeout(this.greying);
        draw();
      }
      this.section.classList.toggle("sl-failed", engine.state === "failed");
      this.result.ariaBusy = this.old && !answered && engine.state !== "failed";
      put(this.section.querySelector('[data-do="units"]'), `Show ${units.system === "metric" ? "imperial" : "metric"} results`);
      this.say(this.describe(now, answered));
      if (!engine.worker && !answered) this.mark(); // what was wrong is not known to be so still
      if (!engine.worker || this.busy) return;
      if (!answered) {
        // The built page holds everything already, so that the first answer has to.
        if (this.parts) now.closed = this.folds().filter((fold) => !fold.open).map((fold) => fold.dataset.key);
        this.ask(now, (reply) => this.show(reply, now));
      } else if (this.waiting) {
        clearTimeout(this.pause);
        this.pause = setTimeout(() => this.complete(), FOLDS_DELAY);
      }
    }

    describe(now, answered) {
      if (engine.state === "failed") return `${engine.words} ${this.tell_result(now)}`;
      if (engine.state !== "ready" || !this.answered) return engine.words;
      if (answered && this.answered.words) return `${this.answered.words} ${this.tell_result(now)}`;
      // The same words from the first digit until the reader pauses: nothing flickers, and nothing is read out in between.
      if (!answered || this.waiting) return "Computing: what is grey belongs to other figures.";
      const own = Object.keys(this.own()).length;
      return own ? `Live. ${own} of the figures ${own > 1 ? "are" : "is"} your own; Reset brings the article's back.` : "Live: change any figure.";
    }

    tell_result(now) {
      const what = `The result below is the ${this.parts ? "last good one" : "one built into the page"}`;
      if (!this.old) return `${what} and belongs to what the fields say.`;
      const others = [...this.fields].filter(([name]) => this.shown.fields[name] !== now.fields[name]);
      const names = others.map(([name, { label }]) => `${this.shown.fields[name].slice(0, 40) || "nothing"} (${label})`);
      if (this.shown.units !== now.units) names.push(`${this.shown.units} units`);
      if (names.length > 3) names.splice(2, names.length, "others");
      return `${what}: it belongs to ${names.join(" and ")}, not to what the fields say now.`;
    }

    question(form) {
      return { calculator: this.section.dataset.calculator, fields: this.texts(), units: units.system, form };
    }

    ask(question, settle) {
      this.busy = true;
      clearTimeout(this.pause);
      engine.ask(question, (reply) => {
        this.busy = false;
        if (reply) settle(reply);
        this.follow();
      });
    }

    // Fill the folds that were left out; the figures are those on the page, even if the newest are wrong.
    complete() {
      if (!this.waiting || this.busy || !engine.worker) return;
      const { closed, ...question } = this.waiting;
      this.ask(question, (reply) => {
        this.waiting = null; // asked for once: a fault would only come again
        const { words } = this.take(reply, question);
        if (words) this.answered.words ||= words;
      });
    }

    fill(fold) {
      if (fold && this.waiting?.closed.includes(fold.dataset.key)) this.complete();
    }

    folds() {
      return [...this.result.querySelectorAll("details[data-key]")];
    }

    show(reply, question) {
      const now = this.question("html");
      const asked = same(question, now);
      // The fields say again what has been answered.
      if (!asked && same(now, this.answered?.question)) return;
      const { errors, words } = this.take(reply, question);
      this.answered = { question, words };
      if (asked || !errors) this.mark(errors);
      if (words) return;
      this.section.dataset.shown = engine.number;
      // A fold may have been opened while its content was being left out.
      for (const fold of this.folds()) if (fold.open) this.fill(fold);
      if (!this.section.dataset.live) {
        this.section.dataset.live = "yes";
        performance.mark("handbook:live");
        // The result is painted first.
        requestAnimationFrame(() => setTimeout(run_theme));
      }
    }

    // Put an answer into the page if it is one, all or nothing; returns words where there is no result.
    take({ answer, fault }, question) {
      try {
        if (fault !== undefined) throw new Error("a fault in the calculator", { cause: fault });
        if (answer.ok === true) {
          this.exchange(answer, question);
          return {};
        }
        const errors = new Map(answer.errors.map(({ field, text, cells }) => [field, { text: `${text}`.slice(0, LONGEST), cells }]));
        if (![...errors.keys()].some((name) => this.fields.has(name))) throw new Error("it names no field to mend");
        return { errors, words: "Not computed: mend the marked field." };
      } catch (error) {
        console.error(`calculators: ${error.message}`, error.cause ?? "");
        return { words: `These figures could not be computed (${error.message}).` };
      }
    }

    mark(errors = new Map()) {
      this.errors = errors;
      for (const [name, { holder, control, error }] of this.fields) {
        const { text: words = "", cells } = errors.get(name) ?? {};
        if (holder.dataset.table !== undefined) control.dispatchEvent(new CustomEvent("sl-mark", { detail: cells }));
        if (put(error, words)) {
          error.hidden = !words;
          if (words) control.setAttribute("aria-invalid", "true");
          else control.removeAttribute("aria-invalid");
        }
        if (words) holder.closest("details")?.setAttribute("open", "");
      }
    }

    // Only the parts that differ are exchanged: a phone need not lay out all of a result for one digit.
    exchange({ result, brief }, question) {
      const texts = Object.entries(result);
      const size = texts.reduce((sum, [name, text]) => sum + name.length + (text?.length ?? 0), brief.length);
      if (!texts.length || !(size <= LARGEST)) throw new Error("the answer is empty or too large");
      const former =
        this.parts ?? new Map([...this.result.children].map((element, index) => [texts[index]?.[0] ?? index, { element }]));
      // All of it is built before any of it is put in.
      const built = texts.map(([name, text]) => [name, build_part(former.get(name), text)]);
      const head = build_part(this.brief, brief);
      this.brief = renew(this.brief, head);
      const parts = new Map(built.map(([name, part]) => [name, renew(former.get(name), part)]));
      for (const [name, { element }] of former) if (!parts.has(name)) element.remove();
      let next = this.result.firstElementChild;
      for (const { element } of parts.values()) {
        if (element === next) next = next.nextElementSibling;
        else this.result.insertBefore(element, next);
      }
      this.parts = parts;
      this.shown = question;
      this.waiting = question.closed?.length ? question : null;
      this.section.toggleAttribute("data-complete", !this.waiting);
    }

    say(words) {
      if (this.said === words) return;
      this.said = words;
      this.status.textContent = words;
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
      } else if (button.dataset.apply) {
        for (const [name, text] of Object.entries(JSON.parse(button.dataset.apply))) {
          const { holder, control } = this.fields.get(name) ?? refuse(`a figure for “${name}”`);
          control.value = text;
          control.dispatchEvent(new Event("sl-set"));
          holder.closest("details")?.setAttribute("open", "");
        }
        this.typed();
      } else if (button.dataset.do === "letters") {
        input.inputMode = "text";
        input.blur();
        input.focus();
      } else if (button.dataset.do === "units") {
        units.set(units.system === "metric" ? "imperial" : "metric");
        shelf.write("units", units.system);
      } else if (button.dataset.do === "link") {
        const link = this.link();
        if (link.length > LONGEST_ADDRESS) flash(button, "Too long for a link");
        else copy(link, button);
      } else if (button.dataset.do === "text") {
        if (engine.state !== "ready") return flash(button, "Not live yet");
        this.ask(this.question("text"), ({ answer }) => {
          if (answer?.ok === true && typeof answer.result === "string") copy(answer.result, button);
          else flash(button, "Not computed");
        });
      } else if (button.dataset.do === "print") {
        this.print(button);
      }
    }

    // Print this result alone, on one page where it fits; style.css says what of it goes on paper.
    print(button) {
      const { classList } = document.documentElement;
      const begin = () => {
        // Folds that are not filled would be printed empty; and a card holds the result of its figures or is none.
        if (engine.state === "ready" && (this.waiting || (this.old && this.busy))) {
          this.complete();
          return setTimeout(begin, 50);
        }
        if (this.old) return flash(button, "Not computed");
        for (const { holder, control } of this.fields.values()) {
          holder.toggleAttribute("data-empty", !control.value.trim());
          holder.toggleAttribute("data-unit-typed", /[^\d\s.,/+-]/.test(control.value));
        }
        classList.add("sl-one");
        this.section.classList.add("sl-printed");
        addEventListener("afterprint", end, { once: true });
        print();
      };
      const end = () => {
        classList.remove("sl-one");
        this.section.classList.remove("sl-printed");
      };
      begin();
    }
  }

  // Turn a part's text into an element; anything in it that is not listed, and the whole answer is refused. Nothing in a
  // document that is only read loads or runs, and the elements themselves go into the page, not a text that might be read
  // otherwise.
  function build(text) {
    const { head, body } = new DOMParser().parseFromString(text, "text/html");
    if (head.firstChild) refuse(head.firstChild.nodeName);
    const walker = document.createTreeWalker(body);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      if (node.nodeType === Node.TEXT_NODE) continue;
      if (!ELEMENTS.has(node.nodeName)) refuse(node.nodeName);
      for (const { name, value } of node.attributes) if (!ATTRIBUTES.get(name)?.test(value)) refuse(`${name}="${value}"`);
    }
    const { childNodes, firstElementChild } = body;
    return (childNodes.length === 1 && firstElementChild) || refuse("a part that is not one element");
  }

  function refuse(what) {
    throw new Error("the answer holds what no calculator may show", { cause: what });
  }

  // The part that takes the place of `former`: itself, where nothing has changed.
  function build_part(former, text) {
    if (former && (text === null || former.text === text)) return former;
    return typeof text === "string" ? { element: build(text), text } : refuse("a part that is no text");
  }

  function renew(former, part) {
    return former && former !== part ? { element: adapt(former.element, part.element), text: part.text } : part;
  }

  function add_unit(text, unit) {
    return unit && BARE.test(text.trim()) ? `${text.trim()} ${unit}` : text;
  }

  // Whether two questions ask for the same figures in the same units.
  function same(one, other) {
    return Boolean(other) && JSON.stringify([one.fields, one.units]) === JSON.stringify([other.fields, other.units]);
  }

  // A name of the window that a script has given: an element's id is none of its own.
  function find_own(name) {
    return Object.getOwnPropertyDescriptor(self, name)?.value;
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
    former.forEach((part, index) => (index < parts.length ? adapt(part, parts[index]) : part.remove()));
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
    if (engine.state === "idle" && document.querySelector(BLOCK)) engine.start();
    // Python starts as soon as a calculator is seen; the blocks have to wait until they are whole.
    if (document.readyState === "loading") return;
    blocks = blocks.filter((block) => block.section.isConnected);
    for (const section of document.querySelectorAll(`${BLOCK}:not([data-mounted])`)) {
      section.dataset.mounted = "yes";
      const block = new Block(section);
      blocks.push(block);
      block.follow();
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

  // A page may come back as it was left, and fields with what a browser remembers.
  addEventListener("pageshow", () => blocks.forEach((block) => block.follow()));

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
