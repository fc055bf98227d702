// Runs the real Pyodide in Node: lists what the calculators import, or freezes the warmed-up interpreter.
//
//   node freeze.mjs OPTIONS.json
//
// The options: pyodide (folder of its scripts and of the trimmed interpreter), library (zip), settings (for loadPyodide,
// the same as in the browser), task ("trace" or "freeze"), output (file); for "trace" modules (names that the
// calculators' sources import anywhere); for "freeze" modules (all that the library holds), tables (names of parts and
// materials) and inputs (the hash of everything that the snapshot depends on).
//
// The snapshot file, little-endian, to be read by worker.js:
//
//   inputs                            64 characters
//   number of runs, end and sum of the kept memory    3 numbers of 32 bits
//   offset, length                    2 numbers of 32 bits for each run
//   the runs' bytes
//
// A run is memory that differs from that of a Pyodide module just made, before Python starts: static data and empty
// memory need not travel. What depends on the clock, on chance or on the engine always travels. The sum shows the
// worker that the memory it keeps is the memory that the runs were compared with.

import nodeCrypto from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const PAGE = 4096;

const options = JSON.parse(readFileSync(process.argv[2], "utf8"));

// Two freezes of the same inputs give the same bytes: chance and the clock stand still while it is made. Nothing in a
// calculator may depend on either, and one snapshot is the same for every visitor anyway.
let chance = 1;
let clock = 0;
const fill = (view) => new Uint8Array(view.buffer, view.byteOffset, view.byteLength).fill(chance) && view;
nodeCrypto.randomFillSync = fill;
crypto.getRandomValues = fill;
Date.now = () => 315532800000 + clock; // from 1980-01-01 on, the first day that a zip file can name
performance.now = () => clock;
// Pyodide would write the name of this script into memory; in the browser there is none.
process.argv.length = 1;

const { loadPyodide } = await import(pathToFileURL(join(options.pyodide, "pyodide.mjs")).href);
const load = (more) =>
  loadPyodide({
    ...options.settings,
    indexURL: options.pyodide,
    stdLibURL: options.library,
    jsglobals: {},
    ...more,
  });

try {
  await (options.task === "trace" ? trace() : freeze());
} catch (error) {
  // Left to itself, Node would print the line of the fault, which in Pyodide's script is a million characters long.
  console.error(error.message ?? error);
  process.exitCode = 1;
}

async function trace() {
  const pyodide = await load({});
  pyodide.globals.set("wanted", pyodide.toPy(options.modules));
  const found = pyodide.runPython(`
import base64, contextlib, dataclasses, importlib, json, marshal, sys
import calculators.answers
import interpreter_start

methods = {}

# See interpreter_start.py: what it will find compiled in the part of a calculator.
def keep(text, names, defined):
    room = ".".join(names["__name__"].split(".")[:2])
    methods.setdefault(room, {})[hash(text)] = code = compile(text, "<string>", "exec")
    exec(code, names, defined)

dataclasses.exec = keep
calculators.answers.warm()
for name in wanted:
    # A name may be an attribute rather than a module, or stand in a branch that never runs here.
    with contextlib.suppress(ImportError):
        importlib.import_module(name)
interpreter_start.reply("not JSON")  # a traceback wants its modules as well
origins = (getattr(getattr(module, "__spec__", None), "origin", None) for module in list(sys.modules.values()))
origins = sorted({origin for origin in origins if isinstance(origin, str) and ".zip/" in origin})
methods = {room: base64.b64encode(marshal.dumps(codes)).decode() for room, codes in methods.items()}
json.dumps({"origins": origins, "slugs": calculators.SLUGS, "methods": methods})
`);
  writeFileSync(options.output, found);
}

async function freeze() {
  // A snapshot larger than the memory Pyodide starts with may not load. So memory may not grow here at all: a freeze
  // that needs more fails with a MemoryError, and filling up free memory (below) stops at the same wall.
  WebAssembly.Memory.prototype.grow = () => {
    throw new RangeError("The frozen interpreter must fit into the memory that Pyodide starts with.");
  };
  const pyodide = await load({});
  pyodide.globals.set("options", pyodide.toPy({ inputs: options.inputs, modules: options.modules, tables: options.tables }));
  // All that the library holds is imported, so that no page with a snapshot has to fetch it.
  pyodide.runPython(`
import importlib
import interpreter_start

for name in options["modules"]:
    importlib.import_module(name)
for name in options["tables"]:
    importlib.import_module("calculators.parts").read_rows(name)
interpreter_start.reply("not JSON")  # a traceback wants its modules as well
interpreter_start.inputs = options["inputs"]
del options, name
`);
  zero_free_memory(pyodide);
  const snapshot = pyodide._module.HEAPU8.slice();
  const fresh = await copy_fresh_memory(snapshot.length);
  chance = 2;
  clock = 1_000_000;
  const other = await copy_fresh_memory(snapshot.length);
  writeFileSync(options.output, pack(snapshot, fresh, other, find_engine_word(pyodide._module)));
}

// What was freed still holds old bytes, which would be compressed, sent and unpacked for nothing (two per cent). So
// take all free memory there is, from large blocks to small, zero it and give it back. Pyodide's Python has its objects
// from the C library too. It ends because memory may not grow here.
function zero_free_memory(pyodide) {
  pyodide.runPython("import gc; gc.collect()");
  // What is in memory now stays: the collector, which would walk all of it in the middle of a keystroke, need not.
  pyodide.runPython("gc.freeze()");
  const module = pyodide._module;
  const { HEAPU8 } = module;
  const taken = [];
  for (let size = 1 << 23; size >= 8; size >>= 1) {
    for (let at; (at = module._emscripten_builtin_malloc(size)); taken.push(at)) {
      HEAPU8.fill(0, at, at + size);
    }
  }
  for (const at of taken.reverse()) module._emscripten_builtin_free(at);
  // The stack beyond its pointer is free as well.
  HEAPU8.fill(0, module._emscripten_stack_get_end(), module._emscripten_stack_get_current());
}

// The memory at the very moment at which worker.js puts the runs in: the module is made, Python has not started.
async function copy_fresh_memory(length) {
  const make = globalThis._createPyodideModule;
  let fresh;
  globalThis._createPyodideModule = async (settings) => {
    fresh = (await make(settings)).HEAPU8.slice();
    throw new Error("This module was made for its fresh memory only.");
  };
  try {
    await load({ _loadSnapshot: new Uint8Array(length) });
  } catch (error) {
    if (!fresh) throw error;
  } finally {
    globalThis._createPyodideModule = make;
  }
  return fresh;
}

// Where Python keeps a pointer to a function that it uses only if the engine has the garbage collection of
// WebAssembly. worker.js leaves its own engine's there.
function find_engine_word(module) {
  return module.__PyRuntime + module.HEAP32[module.__PyEM_EMSCRIPTEN_COUNT_ARGS_OFFSET / 4];
}

function pack(memory, fresh, other, engine) {
  if (memory.length !== fresh.length) throw new Error("The snapshot and a fresh module differ in size.");
  const runs = [];
  let kept = 0;
  for (let at = 0; at < memory.length; at += PAGE) {
    const page = memory.subarray(at, at + PAGE);
    const freshPage = fresh.subarray(at, at + PAGE);
    const sure = Buffer.compare(freshPage, other.subarray(at, at + PAGE)) === 0 && !(engine >= at && engine < at + PAGE);
    if (sure && Buffer.compare(page, freshPage) === 0) {
      if (freshPage.some((byte) => byte !== 0)) kept = at + PAGE;
    } else if (runs.length && runs.at(-1).offset + runs.at(-1).length === at) {
      runs.at(-1).length += PAGE;
    } else {
      runs.push({ offset: at, length: PAGE });
    }
  }
  // The same sum as in worker.js: over the words before `kept` that no run replaces.
  const words = new Int32Array(fresh.buffer, fresh.byteOffset, kept / 4);
  let sum = 0;
  let from = 0;
  for (const { offset, length } of [...runs, { offset: kept, length: 0 }]) {
    for (let i = from / 4; i < Math.min(offset, kept) / 4; i++) sum = (Math.imul(sum, 31) + words[i]) | 0;
    from = offset + length;
  }
  const numbers = [runs.length, kept, sum, ...runs.flatMap(({ offset, length }) => [offset, length])];
  return Buffer.concat([
    Buffer.from(options.inputs),
    Buffer.from(Int32Array.from(numbers).buffer),
    ...runs.map(({ offset, length }) => memory.subarray(offset, offset + length)),
  ]);
}
