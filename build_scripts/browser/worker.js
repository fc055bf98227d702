// The worker that runs the calculators: starts Python from one release of the runtime and answers questions.
//
// From the page                               To the page
//   {type: "start", base, files, limits?}       {type: "progress", stage, loaded, total}     stage "load" or "start"
//   {type: "ask", id, question}                 {type: "ready", tier, reason?, marks}        tier "snapshot" or "base"
//                                               {type: "failed", reason}                     a sentence for the reader
//                                               {type: "answer", id, answer} or {type: "answer", id, fault}
//
// `base` is the absolute address of the release's folder, `files` a port to files.js, which fetches, compiles and
// unpacks while this thread sets up. A question may be asked before Python is ready; it waits. `limits` are
// milliseconds: `snapshot` (waking the snapshot once its files are there), `start` (starting from the library).
// `marks` says when, after the worker's birth, what was done.
//
// Two tiers, the same files. The snapshot is a picture of the interpreter's memory with the calculators imported.
// Whatever goes wrong with it, Python starts from the compiled library instead, as Pyodide starts it; the reason goes
// to the console and into "ready". Reading a script blocks this thread, and so does Python: only the page can put a
// limit on a worker that says nothing more.
//
// A calculator may come from a stranger. Before the first line of one runs here, two locks close, and neither depends
// on what Python holds, finds or forges:
//
//   guard         WebAssembly reaches nothing but what is given to it. Of that LEFT stays; whatever else Python calls,
//                 through an object of JavaScript or a bare address in memory, ends it.
//   empty_global  The worker's global keeps the language itself and nothing that reaches network, store or page.
//
// What passes is text: a question in, an answer out, through CPython's own C interface (see open_talk).
"use strict";

// A block, so that nothing of this stands in the global that is emptied.
{
  const LIMITS = { snapshot: 15_000, start: 60_000 };

  // The memory that this Pyodide starts with, in bytes; freeze.mjs sees to it that the snapshot needs no more.
  const INITIAL_MEMORY = 20 * 1024 * 1024;

  // What a calculator may fill, so that one that never stops asking for more gets a MemoryError, and the page lives on.
  const MOST_MEMORY = 256 * 1024 * 1024;

  const LIBRARY = "library.bin";

  const SCRIPTS = ["pyodide.js", "pyodide.asm.js"];

  // All of JavaScript that Python may call once a calculator's code can run: the time, chance, memory, files in memory;
  // a call of its own functions where the engine cannot tell how many arguments they take, and giving up an object.
  const LEFT = new Set([
    ..."clock_time_get emscripten_date_now _localtime_js _gmtime_js _mktime_js random_get".split(" "),
    ..."emscripten_resize_heap __syscall_getcwd __syscall_stat64 __syscall_fstat64 __syscall_getdents64".split(" "),
    ..."__syscall_openat __syscall_fcntl64 fd_fdstat_get fd_seek fd_read fd_write fd_close".split(" "),
    ..."_PyEM_TrampolineCall_JS __hiwire_deduplicate_delete".split(" "),
  ]);

  const send = self.postMessage.bind(self);
  const fail = (error) => send({ type: "failed", reason: sentence(error) });
  const marks = {};
  let python; // a promise of what answers and what takes a calculator's part

  self.onmessage = async ({ data }) => {
    if (data.type === "start" && python === undefined) {
      python = start(data.base, data.files, { ...LIMITS, ...data.limits });
      python.catch(fail);
    } else if (data.type === "ask") {
      const reply = { type: "answer", id: data.id };
      newest += 1;
      try {
        const { bring, ask } = await python;
        await bring(data.question.calculator);
        const told = JSON.parse(ask(JSON.stringify(data.question)));
        if (told.fault) throw new Error(told.fault);
        reply.answer = told.answer;
      } catch (error) {
        console.error(error);
        reply.fault = sentence(error);
      }
      send(reply);
      if (!reply.fault) practise(data.question);
    }
  };

  // Browsers compile what has run a few times, and keep it for the next visit; until then an answer takes two or three
  // times as long. So the first question about a calculator is answered again, for nobody: with another figure changed
  // each time, as if a digit had been typed, because what was computed before is remembered. It ends with the next real
  // question, and when it has taken PRACTICE milliseconds.
  const PRACTICE = 500;
  const practised = new Set();
  const later = self.setTimeout.bind(self);
  let newest = 0; // number of the last question

  async function practise(question) {
    if (practised.has(question.calculator)) return;
    practised.add(question.calculator);
    const { ask } = await python;
    const figures = Object.entries(question.fields ?? {}).filter(([, text]) => /^\d/.test(text));
    const number = newest;
    let left = figures.length && PRACTICE;
    for (let turn = 0; left > 0; turn++) {
      await new Promise((resolve) => later(resolve, 50));
      if (number !== newest) return;
      const begun = performance.now();
      const [name, text] = figures[turn % figures.length];
      const typed = text.replace(/^[\d.,]+/, `$&${(turn % 9) + 1}`);
      ask(JSON.stringify({ ...question, fields: { ...question.fields, [name]: typed } }));
      left -= performance.now() - begun;
    }
  }

  async function start(base, port, limits) {
    if (typeof WebAssembly !== "object" || typeof DecompressionStream !== "function") {
      throw new Error("This browser cannot run Python: it lacks WebAssembly or DecompressionStream.");
    }
    const files = open_files(port);
    // Where there is no server, they stand before this script, in the same text.
    if (!self._createPyodideModule) await run_scripts(SCRIPTS.map((name) => new URL(name, base).href));
    marks.scripts = performance.now();
    const manifest = await files.manifest;
    const { snapshot } = files;
    const wasm = files.wasm.then((value) => (value instanceof Uint8Array ? compile(value) : value));
    wasm.then(() => (marks.wasm = performance.now()), () => {});

    const release = { base, manifest, wasm, make: self._createPyodideModule };
    let python;
    let reason;
    try {
      await files.found;
      // The limit runs from when the files are there: a slow network is no reason to go the longer way.
      const waking = start_python(release, new Uint8Array(), snapshot);
      waking.catch(() => {});
      await Promise.all([wasm, snapshot]);
      marks.files = performance.now();
      send({ type: "progress", stage: "start", loaded: 0, total: 1 });
      python = await within(limits.snapshot, "The snapshot did not wake up", waking);
    } catch (error) {
      await wasm; // without it, no tier can start: its failure is the one to tell
      reason = sentence(error);
      console.warn(`Python starts from its library, not from the memory snapshot: ${reason}`);
      const starting = files.ask(LIBRARY).then((bytes) => start_python(release, bytes));
      python = await within(limits.start, "Python did not start", starting);
    }
    empty_global();
    const { ask, add_part } = open_talk(python);
    marks.ready = performance.now();
    send({ type: "ready", tier: reason === undefined ? "snapshot" : "base", reason, marks });

    // Each calculator's part comes when it is first asked for; one that did not come may be asked for again.
    const parts = new Map();
    const bring = (calculator) => {
      if (calculator === undefined || parts.has(calculator)) return parts.get(calculator);
      const name = `part-${calculator}.bin`;
      const brought = files.ask(name).then((bytes) => {
        const path = `/lib/${name}`;
        python.module.FS.writeFile(path, bytes);
        add_part(path);
      });
      parts.set(calculator, brought);
      brought.catch(() => parts.delete(calculator));
      return brought;
    };
    return { bring, ask };
  }

  // What files.js hands over, each as a promise; the library and the parts only once they are asked for.
  function open_files(port) {
    const expected = new Map();
    const expect = (name) => {
      if (!expected.has(name)) {
        const settle = {};
        settle.promise = new Promise((resolve, reject) => Object.assign(settle, { resolve, reject }));
        settle.promise.catch(() => {}); // each is awaited further down, perhaps after it has failed
        expected.set(name, settle);
      }
      return expected.get(name);
    };
    port.onmessage = ({ data }) => {
      if (data.name === "progress") send({ type: "progress", stage: "load", ...data.value });
      else if (data.failure) expect(data.name).reject(new Error(data.failure));
      else expect(data.name).resolve(data.value);
    };
    const ask = (name) => {
      port.postMessage(name);
      const { promise } = expect(name);
      return promise.finally(() => expected.delete(name));
    };
    const [manifest, wasm, found, snapshot] = ["manifest", "wasm", "found", "snapshot"].map((name) => expect(name).promise);
    return { manifest, wasm, found, snapshot, ask };
  }

  async function compile(bytes) {
    try {
      return await WebAssembly.compile(bytes);
    } catch (error) {
      throw new Error(`pyodide.asm.wasm could not be compiled. ${sentence(error)}`);
    }
  }

  // What a worker imports as a module, browsers keep compiled; what it runs by importScripts, they compile at every
  // visit.
  async function run_scripts(addresses) {
    try {
      await Promise.all(addresses.map((address) => import(address))).catch(() => importScripts(...addresses));
    } catch (error) {
      throw new Error(`Pyodide's scripts could not be run. ${sentence(error)}`);
    }
  }

  // Let Pyodide load with the files at hand: it may fetch nothing by itself, and a failure ends the wait, where Pyodide
  // alone would warn and wait for ever. With a snapshot, its part ends when the module is made: the memory is replaced,
  // and all that Pyodide would still do, by objects of JavaScript, is left out. What comes back is shut.
  function start_python({ base, manifest, wasm, make }, library, snapshot) {
    const options = { ...manifest.settings, indexURL: base, stdLibURL: new URL("library", base).href, jsglobals: {} };
    if (snapshot) options._loadSnapshot = new Uint8Array(INITIAL_MEMORY); // only its size is used
    self.fetch = async (address) => new Response(String(address) === options.stdLibURL ? library : null);
    const python = {};
    return new Promise((resolve, reject) => {
      const instantiate = async (imports) => {
        const module = await wasm;
        python.shut = guard(imports.env);
        const instance = await WebAssembly.instantiate(module, imports);
        python.exports = instance.exports;
        return { module, instance };
      };
      WebAssembly.instantiateStreaming = (_, imports) => {
        const instance = instantiate(imports);
        instance.catch(reject);
        return instance;
      };
      self._createPyodideModule = async (settings) => {
        python.module = await make(settings);
        if (!snapshot) return python.module;
        python.shut();
        wake_snapshot(python, await snapshot, manifest);
        resolve(python);
        return new Promise(() => {}); // and Pyodide's part ends
      };
      const started = () => {
        python.shut();
        resolve(python);
      };
      loadPyodide(options).then(started, reject);
    });
  }

  // Close, once told to, what JavaScript gives to WebAssembly: by import and, since pointers are made of the same
  // functions, by address.
  function guard(library) {
    let shut = false;
    const grow = library.emscripten_resize_heap;
    library.emscripten_resize_heap = Object.assign((size) => size >>> 0 <= MOST_MEMORY && grow(size), grow);
    for (const [name, value] of Object.entries(library)) {
      if (typeof value !== "function" || LEFT.has(name)) continue;
      const guarded = (...given) => {
        if (shut) throw new Error(`It reached for ${name}, which no calculator needs.`);
        return value(...given);
      };
      library[name] = Object.assign(guarded, value); // its signature comes along
    }
    return () => {
      shut = true;
    };
  }

  // Put the snapshot's runs (see freeze.mjs) into fresh memory: most of the memory is as it should be already.
  function wake_snapshot(python, bytes, { inputs }) {
    const stamp = new TextDecoder().decode(bytes.subarray(0, inputs.length));
    if (stamp !== inputs) throw new Error("The snapshot belongs to another release.");
    const [count, kept, sum] = new Int32Array(bytes.buffer, inputs.length, 3);
    const runs = new Uint32Array(bytes.buffer, inputs.length + 12, 2 * count);
    const { module } = python;
    const words = module.HEAP32;
    let check = 0;
    let from = 0;
    for (let run = 0; run <= count; run++) {
      const until = Math.min(run < count ? runs[2 * run] : kept, kept);
      for (let i = from / 4; i < until / 4; i++) check = (Math.imul(check, 31) + words[i]) | 0;
      if (run < count) from = runs[2 * run] + runs[2 * run + 1];
    }
    if (check !== sum) throw new Error("This browser's fresh memory is not what the snapshot was made for.");
    // The same word as in freeze.mjs: a pointer that only this engine knows.
    const engine = (module.__PyRuntime + words[module.__PyEM_EMSCRIPTEN_COUNT_ARGS_OFFSET / 4]) / 4;
    const pointer = words[engine];
    let at = inputs.length + 12 + 8 * count;
    for (let run = 0; run < count; run++) {
      const length = runs[2 * run + 1];
      module.HEAPU8.set(bytes.subarray(at, at + length), runs[2 * run]);
      at += length;
    }
    words[engine] = pointer;
    if (read_text(python, find(python, "inputs")) !== inputs) {
      throw new Error("The snapshot's memory is that of another release.");
    }
  }

  // Texts are all that Python gets and gives. Returns what calls the functions of interpreter_start.py.
  function open_talk(python) {
    const { PyUnicode_FromString, PyObject_CallOneArg, Py_DecRef } = python.exports;
    let stopped;
    const open = (name) => {
      const called = find(python, name);
      return (text) => {
        if (stopped) throw stopped;
        try {
          const given = pass(python, text, PyUnicode_FromString);
          const told = have(python, PyObject_CallOneArg(called, given));
          const said = read_text(python, told);
          Py_DecRef(given);
          Py_DecRef(told);
          return said;
        } catch (error) {
          // It was left in the middle of something, and never runs again.
          stopped = new Error(`Python was stopped. ${sentence(error)}`);
          fail(stopped);
          throw stopped;
        }
      };
    };
    return { ask: open("reply"), add_part: open("add_part") };
  }

  // What interpreter_start.py calls by this name. Objects of Python's are addresses here.
  function find(python, name) {
    const { PyImport_ImportModule, PyObject_GetAttrString } = python.exports;
    const module = pass(python, "interpreter_start", PyImport_ImportModule);
    return pass(python, name, (at) => PyObject_GetAttrString(module, at));
  }

  function pass(python, text, call) {
    const at = python.module.stringToNewUTF8(text);
    const object = call(at);
    python.exports.free(at);
    return have(python, object);
  }

  function read_text(python, object) {
    return python.module.UTF8ToString(have(python, python.exports.PyUnicode_AsUTF8(object)));
  }

  function have(python, address) {
    if (address) return address;
    python.exports.PyErr_Print();
    throw new Error("Python failed; the browser's console says how.");
  }

  // The language itself stays, and what the functions of LEFT need; all else goes, be it known today or not.
  function empty_global() {
    const kept = new Set([
      ..."globalThis self Object Function Array Number parseFloat parseInt Infinity NaN undefined Boolean String".split(" "),
      ..."Symbol Date Promise RegExp Error AggregateError EvalError RangeError ReferenceError SyntaxError".split(" "),
      ..."TypeError URIError JSON Math Intl ArrayBuffer SharedArrayBuffer Atomics Uint8Array Int8Array".split(" "),
      ..."Uint16Array Int16Array Uint32Array Int32Array Float16Array Float32Array Float64Array".split(" "),
      ..."Uint8ClampedArray BigUint64Array BigInt64Array DataView Map BigInt Set Iterator WeakMap WeakSet".split(" "),
      ..."WeakRef FinalizationRegistry Proxy Reflect escape unescape decodeURI decodeURIComponent encodeURI".split(" "),
      ..."encodeURIComponent isFinite isNaN WebAssembly console performance crypto TextDecoder TextEncoder".split(" "),
      ..."setTimeout clearTimeout onmessage".split(" "),
    ]);
    const last = EventTarget.prototype;
    for (let owner = self; owner && owner !== last; owner = Object.getPrototypeOf(owner)) {
      for (const name of Object.getOwnPropertyNames(owner)) {
        // What a script has declared cannot be deleted.
        if (!kept.has(name)) Reflect.deleteProperty(owner, name) || Reflect.set(owner, name, undefined);
      }
    }
    // Text that is run as code could still say `import(address)`.
    const timer = self.setTimeout.bind(self);
    self.setTimeout = (work, ...rest) => (typeof work === "function" ? timer(work, ...rest) : 0);
    for (const some of [async () => {}, function* () {}, async function* () {}]) {
      Object.defineProperty(Object.getPrototypeOf(some), "constructor", { value: undefined });
    }
    const prototype = Function.prototype;
    self.Function = class {
      static [Symbol.hasInstance] = (some) => typeof some === "function";
      constructor() {
        throw new TypeError("No text is run as code in this worker.");
      }
    };
    Object.defineProperty(prototype, "constructor", { value: self.Function });
  }

  function within(limit, what, promise) {
    let timer;
    const silence = new Promise((_, reject) => {
      timer = setTimeout(() => reject(new Error(`${what} within ${limit / 1000} s.`)), limit);
    });
    return Promise.race([promise, silence]).finally(() => clearTimeout(timer));
  }

  // What Python raises comes with its whole traceback; its last line says what it was.
  function sentence(error) {
    return String(error?.message || error).trim().split("\n").at(-1);
  }
}
