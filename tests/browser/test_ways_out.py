"""A calculator that wants out: every way to JavaScript, network, store and page, in real browsers' workers.

What a hostile calculator would do is sent as a probe (see PROBE in conftest.py). A server at another origin
notes whoever comes.
"""

import json
import re
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler
from pathlib import Path
from typing import Any

import pytest

from build_scripts.engines.engine import Engine
from build_scripts.portable.carrying import WORKER_PARTS
from build_scripts.runtime.release import Release
from tests.conftest import Server, open_server

REFUSED = {"snapshot": frozenset[str](), "base": frozenset({"snapshot.bin"})}

START = """
const files = new Worker(base + "files.js");
const worker = new Worker(base + "worker.js");
const {port1, port2} = new MessageChannel();
const heard = {answers: [], others: []};
const channel = new BroadcastChannel("left");
channel.onmessage = ({data}) => heard.others.push(data);
await new Promise((settle) => {
  let next = 0;
  let ended = false;
  const resolve = () => settle(ended = true);
  const ask = () => {
    if (ended) return;
    if (next === questions.length) resolve();
    else worker.postMessage({type: "ask", id: next, question: {probe: questions[next++]}});
  };
  worker.onmessage = ({data}) => {
    if (data.type === "progress") return;
    if (data.type === "ready") heard.tier = data.tier;
    else if (data.type === "failed") resolve(heard.failed = data.reason);
    else if (data.type === "answer" && data.id === next - 1) {
      heard.answers.push(data.fault ?? data.answer);
      // What was begun for later has its turn.
      setTimeout(ask, 100);
    } else heard.others.push(data);
  };
  worker.onerror = ({message}) => resolve(heard.failed = message);
  files.postMessage({base, port: port1}, [port1]);
  worker.postMessage({type: "start", base, files: port2}, [port2]);
  ask();
});
// What has been let out by now arrives somewhere.
await new Promise((resolve) => setTimeout(resolve, 300));
worker.terminate();
files.terminate();
channel.close();
heard.stores = [await caches.keys(), (await indexedDB.databases()).map(({name}) => name)];
return heard;
"""

OUT = """
const ways = {
  fetch: () => fetch(ADDRESS + "fetch"),
  request() {
    const made = new XMLHttpRequest();
    made.open("GET", ADDRESS + "request");
    made.send();
  },
  socket: () => new WebSocket(ADDRESS.replace("http", "ws") + "socket"),
  events: () => new EventSource(ADDRESS + "events"),
  transport: () => new WebTransport(ADDRESS.replace("http:", "https:")).closed.catch(() => {}),
  scripts: () => importScripts(ADDRESS + "scripts"),
  python() {
    self._createPyodideModule = undefined;
    loadPyodide({ indexURL: ADDRESS + "python/", lockFileURL: ADDRESS + "python/lock.json" }).catch(() => {});
  },
  text: () => (0, eval)("import(ADDRESS + 'text')"),
  function: () => new Function("import(ADDRESS + 'function')")(),
  async: () => (async () => {}).constructor("await import(ADDRESS + 'async')")(),
  timer: () => setTimeout("import(ADDRESS + 'timer')") || missing,
  database: () => indexedDB.open("left"),
  caches: () => caches.open("left"),
  channel: () => new BroadcastChannel("left").postMessage("let out"),
  nested: () => new Worker(URL.createObjectURL(new Blob([`import("${ADDRESS}nested")`]))),
  message: () => postMessage({ type: "answer", id: 7, answer: "forged" }),
  address: () => import(ADDRESS + "address"),
};
self.ADDRESS = %r;
python.module.API.globals.set("out", (name) => void ways[name]());
"""
"""What a worker does that hands its Python, started from the library, every way out there is."""

NAMES = re.findall(r"^  (\w+)(?:: |\(\) \{$)", OUT, re.MULTILINE)

EACH = f"""
try:
    from __main__ import out
except ImportError: # behind a snapshot, even this cannot be handed over
    from pyodide.webloop import scheduleCallback as out
found = []
for name in {NAMES[:-1]}:
    try:
        out(name)
    except Exception:
        continue
    found.append(name)
"""
"""All but the last: `import` is a word of the language, so that only the guard can keep it from Python."""

LAST = f"import __main__; __main__.out({NAMES[-1]!r}); found = 'let out'"

ALIVE = "found = 'alive'"

HELD = {
    "function": "from pyodide.webloop import scheduleCallback as held",
    "table": "from pyodide._package_loader import loadedPackages as held",
    "globals": """
import pyodide.webloop
held = pyodide.webloop.WebLoop.call_later.__globals__["scheduleCallback"]
""",
    "modules": """
import sys
import pyodide.webloop
from pyodide.ffi import JsProxy
values = [value for module in list(sys.modules.values()) for value in list(vars(module).values())]
held = next(value for value in values if isinstance(value, JsProxy))
""",
    "collector": """
import gc
import pyodide.webloop
from pyodide.ffi import JsProxy
values = [value for owner in [*gc.get_objects(), vars(pyodide.webloop)] for value in gc.get_referents(owner)]
held = next(value for value in values if isinstance(value, JsProxy))
""",
}
"""Where Python holds objects of JavaScript."""

USES = {
    "attribute": "found = str(held.constructor)",
    "setting": "held.some = 1; found = 'set'",
    "call": "found = str(held(print, 0))",
    "making": "found = str(held.new())",
    "listing": "found = dir(held)",
}

WAYS = {
    **{f"{name}, attribute": f"{held}\n{USES['attribute']}" for name, held in HELD.items()},
    **{f"function, {name}": f"{HELD['function']}\n{use}" for name, use in USES.items()},
    "js": "import js; found = str(js.self)",
    "pyodide_js": "import pyodide_js; found = str(pyodide_js.loadPackage)",
    "finder": "from _pyodide._importhook import jsfinder; found = str(jsfinder.jsproxies['pyodide_js'])",
    "text as code": "from pyodide.code import run_js; found = str(run_js('self'))",
    "conversion": "from pyodide.ffi import to_js; found = str(to_js([1]))",
    "proxy": "from pyodide.ffi import create_proxy; found = str(create_proxy(print))",
    "event loop": "from pyodide.webloop import WebLoop; found = str(WebLoop().call_later(0, print))",
    "symbol": "import _ctypes; found = _ctypes.dlsym(_ctypes.dlopen(None, 0), 'emscripten_run_script')",
    "address": "import _ctypes; found = [_ctypes.call_function(place, ()) for place in range(1, 20_000)]",
    "socket": "import socket; found = str(socket.create_connection(('127.0.0.1', PORT)))",
    "command": "import os; found = os.system('true')",
    "signal": "import signal; found = str(signal.setitimer(signal.ITIMER_REAL, 1))",
}
"""From Python to JavaScript, with an object of JavaScript and without."""

ONE_OF_EACH = ("function, attribute", "js", "address", "socket")
"""The guard is the same in every engine and tier."""

STOPPED = "Python was stopped. "

# The two locks, as worker.js has them.
SHUTTING = "      shut = true;\n"
EMPTYING = "    empty_global();\n"

STARTED = "const started = () => {\n"

type Ask = Callable[..., dict[str, Any]]


class Elsewhere:
    """Another origin, and who came there."""

    def __init__(self) -> None:
        self.came: list[str] = []
        came = self.came

        class Noting(BaseHTTPRequestHandler):
            def handle_one_request(self) -> None:
                # A connection alone, of whatever kind, is one too many.
                came.append("connection")
                super().handle_one_request()

            def do_GET(self) -> None:
                came.append(self.path)
                self.send_response(200)
                self.send_header("Content-Type", "text/javascript")
                self.send_header("Content-Length", "0")
                self.send_header("Access-Control-Allow-Origin", "*")
                self.end_headers()

            def log_message(self, format: str, *args: object) -> None:
                return

        self.server = Server(("127.0.0.1", 0), Noting)
        self.port = self.server.server_port
        self.address = f"http://127.0.0.1:{self.port}/"


@contextmanager
def open_elsewhere() -> Iterator[Elsewhere]:
    elsewhere = Elsewhere()
    thread = threading.Thread(target=elsewhere.server.serve_forever, args=(0.05,))
    thread.start()
    try:
        yield elsewhere
    finally:
        elsewhere.server.shutdown()
        elsewhere.server.server_close()
        thread.join()


@pytest.fixture(scope="module")
def elsewhere() -> Iterator[Elsewhere]:
    with open_elsewhere() as elsewhere:
        yield elsewhere


@pytest.fixture
def ask(engine: Engine, elsewhere: Elsewhere) -> Ask:
    """Ask a worker of the release in this folder probes, one after the other; returns all that was heard."""

    def start(release: Path, tier: str, *probes: str) -> dict[str, Any]:
        given = f"ADDRESS = {elsewhere.address!r}\nPORT = {elsewhere.port}\n"
        questions = json.dumps([given + probe for probe in probes])
        with open_server(release, refused=REFUSED[tier]) as address:
            engine.open(f"{address}licences.txt")
            script = f"const base = {json.dumps(address)};\nconst questions = {questions};\n{START}"
            heard: dict[str, Any] = engine.evaluate(script)
        return heard

    return start


@pytest.fixture
def open_ways(copy_release: Callable[[], Path], elsewhere: Elsewhere) -> Path:
    """A release whose worker hands Python what it must never have."""
    release = copy_release()
    worker = release / "worker.js"
    text = worker.read_text("utf-8")
    assert text.count(STARTED) == 1
    worker.write_text(text.replace(STARTED, STARTED + OUT % elsewhere.address), "utf-8")
    return release


def check_nothing_came(heard: dict[str, Any], elsewhere: Elsewhere) -> None:
    assert elsewhere.came == []
    assert heard["others"] == []
    assert heard["stores"] == [[], []]


def test_who_comes_is_noted(engine: Engine, elsewhere: Elsewhere, probing_release: Release) -> None:
    with open_server(probing_release.folder) as address:
        engine.open(f"{address}licences.txt")
        engine.evaluate(f"await fetch({json.dumps(elsewhere.address + 'control')});")
    assert elsewhere.came == ["connection", "/control"]
    elsewhere.came.clear()


@pytest.mark.parametrize("tier", REFUSED)
def test_no_way_leads_to_javascript(
    engine: Engine, ask: Ask, elsewhere: Elsewhere, probing_release: Release, tier: str
) -> None:
    for name in WAYS if (engine.name, tier) == ("chromium", "snapshot") else ONE_OF_EACH:
        heard = ask(probing_release.folder, tier, WAYS[name], ALIVE)
        assert heard["tier"] == tier
        if "failed" in heard:
            assert heard["failed"].startswith(STOPPED), name
        else:  # Python itself refused
            refusal, alive = heard["answers"]
            assert refusal.partition(":")[0].endswith("Error"), name
            assert alive == "alive"
        check_nothing_came(heard, elsewhere)


@pytest.mark.parametrize("locks", [(), (EMPTYING,)], ids=["both locks", "guard alone"])
@pytest.mark.parametrize("tier", REFUSED)
def test_calculator_that_tries_each_gets_nowhere(
    ask: Ask, elsewhere: Elsewhere, open_ways: Path, tier: str, locks: tuple[str, ...]
) -> None:
    take_out(open_ways, *locks)
    for tried in (EACH, LAST) if tier == "base" else (EACH,):
        heard = ask(open_ways, tier, tried)
        check_nothing_came(heard, elsewhere)
        assert heard["tier"] == tier
        assert heard["failed"].startswith(STOPPED)


@pytest.mark.parametrize("joined", [False, True])
def test_emptied_global_holds_alone(ask: Ask, elsewhere: Elsewhere, open_ways: Path, joined: bool) -> None:
    take_out(open_ways, SHUTTING)
    if joined:  # as the portable edition has them, in one text that no module is
        parts = [open_ways / name for name in WORKER_PARTS["worker.js"]]
        parts[-1].write_text("\n".join(part.read_text("utf-8") for part in parts), "utf-8")
    heard = ask(open_ways, "base", EACH, ALIVE)
    check_nothing_came(heard, elsewhere)
    assert heard["answers"] == [[], "alive"]


def test_without_the_locks_everything_is_let_out(
    engine: Engine, ask: Ask, elsewhere: Elsewhere, open_ways: Path
) -> None:
    take_out(open_ways, EMPTYING, SHUTTING)
    heard = ask(open_ways, "base", EACH, LAST)
    found, last = heard["answers"]
    assert set(NAMES[:-1]) - set(found) <= {"transport"}, "not every engine has it"
    assert last == "let out"
    assert {"let out", "forged"} <= {
        other if isinstance(other, str) else other["answer"] for other in heard["others"]
    }
    came = {path.strip("/").partition("/")[0] for path in elsewhere.came}
    assert came >= {"request", "socket", "events", "scripts", "python", "text", "nested", "address"}
    elsewhere.came.clear()


def take_out(release: Path, *locks: str) -> None:
    """Take locks out of a release's worker."""
    worker = release / "worker.js"
    text = worker.read_text("utf-8")
    for lock in locks:
        assert text.count(lock) == 1
        text = text.replace(lock, "")
    worker.write_text(text, "utf-8")
