// Fetches the files of one release, on a thread of its own: compiling and unpacking go on here while the worker that
// runs Python sets itself up. The one place that knows where the files come from.
//
// From the page: {base, carried?, quiet?, calculators?, port}. `base` is the absolute address of the release's folder,
// `carried` the files by name, in base64, where there is no server to fetch them from (the WebAssembly packed with gzip
// as well), `quiet` the milliseconds after which silence ends the wait, `calculators` the slugs of those whose parts will
// be asked for, `port` leads to worker.js. Through the port go {name, value} or {name, failure} for "manifest", "wasm"
// (a compiled module; carried, its bytes), "found" (there is a snapshot), "snapshot" (bytes), and {name: "progress",
// value: {loaded, total}}; the library and the parts of calculators (bytes) under the names of their files, once the
// other side says such a name, the parts also unasked. What failed may be asked for again.
"use strict";

const QUIET = 30_000;

const MANIFEST = "manifest.json";
const WASM = "pyodide.asm.wasm";
const SNAPSHOT = "snapshot.bin"; // gzip of what freeze.mjs describes; .gz would tempt servers into declaring an encoding
const PART = (slug) => `part-${slug}.bin`; // gzip of a zip, like the library

self.onmessage = ({ data: { base, carried, quiet = QUIET, calculators = [], port } }) => {
  const find = carried ? (name) => decode(carried, name) : (name, options) => fetch(new URL(name, base), options);
  const files = open_release(find, quiet, port);
  const hand_over = (name, promise) =>
    promise.then(
      (value) => port.postMessage({ name, value }, value instanceof Uint8Array ? [value.buffer] : []),
      (error) => port.postMessage({ name, failure: sentence(error) }),
    );
  // Workers made of a text have no origin in common, and a compiled module does not travel from one to the other.
  const fetched = () => {
    files.expect(WASM);
    return files.open(WASM).then(carried ? unpack : compile);
  };
  hand_over("wasm", carried ? fetched() : files.compile_saved().catch(fetched));
  const snapshot = files.open(SNAPSHOT);
  hand_over("found", snapshot.then(() => true)); // the other side sets up for the snapshot only where there is one
  hand_over("snapshot", snapshot.then(unpack));
  const manifest = files.read_manifest();
  hand_over("manifest", manifest);
  // Behind a snapshot the library is never needed, and of the calculators only those that are asked for.
  const begun = new Set();
  const bring = (name) => {
    if (begun.has(name)) return;
    begun.add(name);
    const brought = manifest.then(({ files: listed }) => {
      if (!Object.hasOwn(listed, name)) throw new Error(`${name} is not in this release.`);
      files.expect(name);
      return files.open(name).then((response) => unpack_checked(response, name, listed[name].sha256));
    });
    brought.catch(() => begun.delete(name));
    hand_over(name, brought);
  };
  calculators.forEach((slug) => bring(PART(slug)));
  port.onmessage = ({ data }) => bring(data);
};

function open_release(find, quiet, port) {
  // An end to silence. Turns of a timer are counted, not time: while this thread works, nothing can be heard.
  const TURNS = 10;
  const silence = new AbortController();
  let silent = 0;
  let pending = 0;
  let watch;
  const look = () => {
    if (++silent > TURNS) silence.abort(new Error(`Nothing more arrived within ${quiet / 1000} s.`));
  };
  const begin = () => {
    silent = 0;
    if (pending++ === 0) watch = setInterval(look, quiet / TURNS);
  };
  const end = () => {
    if (--pending === 0) clearInterval(watch);
  };

  const expected = new Set([SNAPSHOT]);
  let sizes; // by name, once the manifest is there
  let loaded = 0;
  let told = 0;
  const expect = (name) => expected.add(name);
  const count = (bytes) => {
    silent = 0;
    loaded += bytes;
    if (sizes && performance.now() - told > 100) {
      told = performance.now();
      const total = [...expected].reduce((sum, name) => sum + sizes[name].size, 0);
      port.postMessage({ name: "progress", value: { loaded: Math.min(loaded, total), total } });
    }
  };

  // The response with its bytes counted. Its type is set here, since some hosts do not know that of .wasm.
  const open = async (name) => {
    begin();
    let response;
    try {
      response = await find(name, { signal: silence.signal });
      if (!response.ok) throw new Error(`The server answered ${response.status}.`);
    } catch (error) {
      end();
      expected.delete(name);
      throw new Error(`${name} could not be fetched. ${sentence(error)}`);
    }
    const reader = response.body.getReader();
    const pull = async (controller) => {
      try {
        const { done, value } = await reader.read();
        if (done) {
          end();
          controller.close();
        } else {
          count(name === MANIFEST ? 0 : value.length);
          controller.enqueue(value);
        }
      } catch (error) {
        end();
        controller.error(new Error(`${name} did not arrive whole. ${sentence(error)}`));
      }
    };
    const type = name === WASM ? "application/wasm" : "application/octet-stream";
    return new Response(new ReadableStream({ pull }), { headers: { "Content-Type": type } });
  };

  // Browsers keep what they have compiled, and use it again, only where the response is theirs and the thread that had
  // it compiled is still there some seconds later. So a file that is on the device is compiled as it comes, and its
  // bytes are not counted; whatever is wrong with it, it is then fetched as if it were not there.
  const compile_saved = async () => {
    begin();
    try {
      const saved = find(WASM, { signal: silence.signal, cache: "only-if-cached", mode: "same-origin" });
      return await WebAssembly.compileStreaming(saved);
    } finally {
      end();
    }
  };

  const read_manifest = async () => {
    try {
      const manifest = await (await open(MANIFEST)).json();
      sizes = manifest.files;
      if (!sizes[SNAPSHOT]) expected.delete(SNAPSHOT); // a draft has none
      return manifest;
    } catch (error) {
      throw new Error(`The list of files cannot be used. ${sentence(error)}`);
    }
  };

  return { open, expect, compile_saved, read_manifest };
}

function decode(carried, name) {
  const text = carried[name];
  if (text === undefined) return new Response(null, { status: 404 });
  return new Response(Uint8Array.fromBase64 ? Uint8Array.fromBase64(text) : decode_slowly(text));
}

// For browsers of before 2025.
function decode_slowly(text) {
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let index = 0; index < letters.length; index++) bytes[index] = letters.charCodeAt(index);
  return bytes;
}

async function compile(response) {
  try {
    return await WebAssembly.compileStreaming(response);
  } catch (error) {
    throw new Error(`${WASM} could not be compiled. ${sentence(error)}`);
  }
}

// The end of the stream checks length and CRC: what comes out is what was packed.
async function unpack(response) {
  try {
    const stream = response.body.pipeThrough(new DecompressionStream("gzip"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  } catch (error) {
    throw new Error(`A file of the runtime is damaged or did not arrive whole. ${sentence(error)}`);
  }
}

// What no stamp inside ties to its release is compared with the manifest. Browsers lend their hashes to pages that came
// over a secure connection; elsewhere length and CRC are all there is.
async function unpack_checked(response, name, sha256) {
  const bytes = await response.arrayBuffer();
  if (crypto.subtle) {
    const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
    if ([...hash].map((byte) => byte.toString(16).padStart(2, "0")).join("") !== sha256) {
      throw new Error(`${name} is not the one of this release, or is damaged.`);
    }
  }
  return unpack(new Response(bytes));
}

function sentence(error) {
  return String(error?.message || error).trim();
}
