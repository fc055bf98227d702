// Drives Firefox over WebDriver BiDi for engine.py: lines of JSON in, lines of JSON out.
//
//   node firefox_program.mjs NODE_MODULES EXECUTABLE PROFILE LIMIT
//
// Playwright is not used for it: it drives a Firefox of its own making, not the one that readers have.

import { createRequire } from "node:module";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { setTimeout } from "node:timers/promises";

const ERROR_PAGE_LIMIT = 5000;
const PAUSE = 20;
const LOOK = "({ born: performance.timeOrigin, address: document.documentURI, state: document.readyState })";

const [modules, executablePath, userDataDir, limit] = process.argv.slice(2);
const puppeteer = createRequire(join(modules, "here.js"))("puppeteer-core");
const timeout = Number(limit) * 1000;

const say = (answer) => process.stdout.write(JSON.stringify(answer) + "\n");

const browser = await puppeteer.launch({
  browser: "firefox",
  executablePath,
  userDataDir,
  headless: true,
  protocolTimeout: timeout,
  // What it would ask the makers' hosts by itself.
  extraPrefsFirefox: {
    "network.captive-portal-service.enabled": false,
    "network.connectivity-service.enabled": false,
    "dom.push.connection.enabled": false,
  },
});
let page;
await use((await browser.pages())[0]);

async function use(tab) {
  page = tab;
  page.setDefaultTimeout(timeout);
  await page.bringToFront();
}

// Where a page's process ended, the browser puts one of its own, sooner or later: no script reaches that, and what is
// to be opened in its place may never come. A tab of its own does.
async function open(address) {
  if (await is_browsers_own()) await exchange();
  await load(() => page.goto(address));
  if (!(await is_browsers_own())) return;
  await exchange();
  await load(() => page.goto(address));
}

const is_browsers_own = () =>
  page.evaluate(LOOK).then(
    () => false,
    (error) => error.message.includes("parent process"),
  );

async function exchange() {
  const former = page;
  await use(await browser.newPage());
  await former.close();
}

// A browser that shows its own error page has loaded it: that page never is complete, and what tells of the failure
// may come before it, after it or not at all. A load that does not end in time has not loaded.
async function load(navigation) {
  const before = await look();
  let end = Infinity;
  let failure = null;
  const ended = navigation().then(
    () => true,
    (error) => {
      failure = error;
      end = Date.now() + ERROR_PAGE_LIMIT;
    },
  );
  const pause = () => (failure ? setTimeout(PAUSE) : Promise.race([ended, setTimeout(PAUSE)]));
  while (!(await pause()) && Date.now() < end) {
    if (failure && (failure.name === "TimeoutError" || !browser.connected)) break;
    const now = await look();
    if (now.born !== before.born && now.address.startsWith("about:neterror") && now.state !== "loading") return;
  }
  if (failure?.name === "TimeoutError") {
    // It would end at some later time and break into what is asked next.
    await page.goto("about:blank");
    throw failure;
  }
  if (!browser.connected) throw failure ?? new Error("the browser is gone");
}

// What is open; a page that is just coming or going has no answer.
const look = () => page.evaluate(LOOK).catch(() => ({ address: "" }));

const tasks = {
  open: ({ address }) => open(address),
  reload: () => load(() => page.reload()),
  evaluate: ({ script }) => page.evaluate(`(async () => {\n${script}\n})()`),
  async type({ selector, text }) {
    await page.focus(selector);
    const command = process.platform === "darwin" ? "Meta" : "Control";
    await page.keyboard.down(command);
    await page.keyboard.press("a");
    await page.keyboard.up(command);
    await (text ? page.keyboard.type(text) : page.keyboard.press("Delete"));
  },
};

say({ number: 0 });
for await (const line of createInterface({ input: process.stdin })) {
  const { number, task, ...details } = JSON.parse(line);
  try {
    say({ number, value: await tasks[task](details) });
  } catch (error) {
    const [failure] = error.message.split("\n");
    say({ number, failure, gone: error.name === "TimeoutError" || !browser.connected });
  }
}
await browser.close();
process.exit(0);
