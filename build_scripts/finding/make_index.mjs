// Makes the index: with the very text that searches it in pages.
import { readFileSync, writeFileSync } from "node:fs";
import { runInThisContext } from "node:vm";

const { engine, found, output } = JSON.parse(readFileSync(process.argv[2], "utf-8"));
globalThis.self = globalThis;
runInThisContext(engine);
writeFileSync(output, globalThis.handbookFind.make(found));
