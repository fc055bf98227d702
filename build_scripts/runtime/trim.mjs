// Takes out of the interpreter what nothing in a page can reach: every export that is not listed, then all that only
// those exports led to.
//
//   node trim.mjs OPTIONS.json
//
// The options: binaryen (module of the npm package), interpreter (the WebAssembly), exports (the names that stay),
// output (file).

import { readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const options = JSON.parse(readFileSync(process.argv[2], "utf8"));

const { default: binaryen } = await import(pathToFileURL(options.binaryen).href);
const bytes = readFileSync(options.interpreter);
const module = binaryen.readBinary(bytes);
const used = new Set(options.exports);
for (const { name } of WebAssembly.Module.exports(new WebAssembly.Module(bytes))) {
  if (!used.has(name)) module.removeExport(name);
}
module.runPasses(["remove-unused-module-elements"]);
writeFileSync(options.output, module.emitBinary());
