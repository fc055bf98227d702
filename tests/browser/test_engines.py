"""The three engines themselves, driven for real: what the tests and the measurements rely on."""

import ast
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import psutil
import pytest

from build_scripts.engines.engine import NAMES, Engine, EngineError, ScriptError, find_command, start_engine
from tests.conftest import open_server

PAGE = """<!doctype html>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self'; worker-src 'self'">
<title>Contact heat</title>
<input id="current" value="2 A">
<script src="page.js"></script>
"""

SCRIPT = """
window.keys = [];
addEventListener("keydown", ({ isTrusted, key }) => keys.push([isTrusted, key]));
document.documentElement.dataset.ran = "yes";
window.policy = "absent";
try {
  eval("1");
} catch {
  policy = "in force";
}
"""

SERVICE_WORKER = """
addEventListener("install", event => {
  skipWaiting();
  event.waitUntil(caches.open("release").then(cache => cache.addAll(["./", "page.js", "second.html"])));
});
addEventListener("activate", event => event.waitUntil(clients.claim()));
addEventListener("fetch", event => {
  event.respondWith(caches.match(event.request).then(found => found ?? fetch(event.request)));
});
"""

REGISTER = """
localStorage.setItem("current", "3 A");
await navigator.serviceWorker.register("worker.js");
await navigator.serviceWorker.ready;
"""

LOOK = "return [document.title, document.documentElement.dataset.ran];"
OPENED = ["Contact heat", "yes"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in {
        "index.html": PAGE,
        "second.html": PAGE.replace("Contact heat", "Wire gauge"),
        "page.js": SCRIPT,
        "worker.js": SERVICE_WORKER,
    }.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


@contextmanager
def start_server(folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Serve `folder` by a process of its own, which a test kills: with it all its connections end."""
    command = [
        sys.executable,
        "-u",
        "-m",
        "http.server",
        "0",
        "--bind",
        "127.0.0.1",
        "--directory",
        str(folder),
    ]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, encoding="utf-8"
    ) as server:
        try:
            assert server.stdout is not None
            yield server.stdout.readline().partition("(")[2].partition(")")[0], server
        finally:
            server.kill()


def test_typing_is_a_readers(engine: Engine, folder: Path) -> None:
    with open_server(folder) as address:
        engine.open(address)
        for text, pressed in (("4.7 k", list("4.7 k")), ("12", ["1", "2"]), ("", ["Delete"])):
            engine.evaluate("keys.length = 0;")
            engine.type_text("#current", text)
            value, keys = engine.evaluate("return [document.querySelector('#current').value, keys];")
            assert value == text
            assert all(trusted for trusted, _ in keys)
            assert [key for _, key in keys][-len(pressed) :] == pressed
        # Signs that this keyboard does not have.
        engine.type_text("#current", "4,7 kΩ′")
        assert engine.evaluate("return document.querySelector('#current').value;") == "4,7 kΩ′"


def test_scripts_run_beside_the_pages_policy(engine: Engine, folder: Path) -> None:
    with open_server(folder) as address:
        engine.open(address)
        assert engine.evaluate("return policy;") == "in force"
        assert engine.evaluate("return await Promise.resolve({a: [1, 2.5, 'µ', null, true]});") == {
            "a": [1, 2.5, "µ", None, True]
        }
        assert engine.evaluate("window.there = 1;") is None
        assert engine.evaluate("return there;") == 1
        engine.reload()
        assert engine.evaluate("return typeof there;") == "undefined"


def test_a_slip_is_told_and_the_engine_goes_on(engine: Engine, folder: Path) -> None:
    with open_server(folder) as address:
        engine.open(address)
        with pytest.raises(ScriptError, match="no fuse"):
            engine.evaluate("throw new Error('no fuse');")
        with pytest.raises(ScriptError, match="#absent"):
            engine.type_text("#absent", "1")
        with pytest.raises(ValueError, match="'second' is no whole address"):
            engine.open("second")
        with pytest.raises(EngineError, match=r"within 0.2 s this did not come true, 'return 0;': 0"):
            engine.wait_until("return 0;", limit=0.2)
        engine.evaluate("setTimeout(() => { location = 'second.html'; }, 200);")
        assert engine.wait_until("return document.title === 'Wire gauge' && document.title;") == "Wire gauge"


def test_what_a_service_worker_keeps_outlasts_server_and_browser(engine: Engine, folder: Path) -> None:
    with start_server(folder) as (address, server):
        engine.open(address)
        engine.evaluate(REGISTER)
        server.kill()
        server.wait()
    engine.reload()
    assert engine.evaluate(LOOK) == OPENED
    # Never opened before.
    engine.open(address + "second.html")
    assert engine.evaluate(LOOK) == ["Wire gauge", "yes"]
    engine.restart()
    engine.open(address)
    assert engine.evaluate(LOOK) == OPENED
    assert engine.evaluate("return [localStorage.current, await caches.keys()];") == ["3 A", ["release"]]
    # What was not kept is not there: the server is gone indeed.
    with pytest.raises(ScriptError):
        engine.evaluate("await fetch('absent.html');")


def test_a_browser_that_was_killed_starts_again(engine: Engine, folder: Path) -> None:
    with open_server(folder) as address:
        engine.open(address)
        engine.kill()
        with pytest.raises(EngineError, match="it is closed"):
            engine.open(address)
        engine.restart()
        engine.open(address)
        assert engine.evaluate(LOOK) == OPENED


def ask_until_gone(engine: Engine) -> None:
    """Ask a page for ten seconds: a process that is told to end may still answer once or twice."""
    for _ in range(200):
        engine.evaluate(LOOK)
        time.sleep(0.05)


def test_a_page_that_was_killed_is_opened_again(engine: Engine, folder: Path) -> None:
    with open_server(folder) as address:
        engine.open(address)
        engine.evaluate("window.before = true; localStorage.setItem('current', '5 A');")
        engine.kill_page()
        with pytest.raises(ScriptError):
            ask_until_gone(engine)
        engine.open(address)
        assert engine.evaluate(LOOK) == OPENED
        assert engine.evaluate("return [typeof before, localStorage.current];") == ["undefined", "5 A"]


def test_a_file_is_opened_with_its_scripts(engine: Engine, folder: Path) -> None:
    engine.open((folder / "index.html").as_uri())
    assert engine.evaluate(LOOK) == OPENED
    assert engine.evaluate("return location.protocol;") == "file:"
    engine.type_text("#current", "7 A")
    assert engine.evaluate("return document.querySelector('#current').value;") == "7 A"


def test_where_nothing_answers_the_browsers_own_page_is_open(engine: Engine, folder: Path) -> None:
    # The port is taken, and nobody listens at it.
    with open_server(folder) as address, socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        nothing = f"http://127.0.0.1:{taken.getsockname()[1]}/"
        for unreachable in (nothing, (folder / "absent.html").as_uri()):
            engine.open(address)
            for go in (lambda page=unreachable: engine.open(page), engine.reload):
                started = time.monotonic()
                go()
                assert engine.evaluate(LOOK) != OPENED
                assert time.monotonic() - started < 5, "the error page was given up, not seen"
        engine.open(address)
        assert engine.evaluate(LOOK) == OPENED


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_left_behind(name: str) -> None:
    this = psutil.Process()
    before = set(this.children(recursive=True))
    with start_engine(name) as engine:
        started = set(this.children(recursive=True)) - before
        assert len(started) > 2
        parts: list[str] = []
        for process in started:
            with suppress(psutil.Error):  # a helper that has done its work is gone at any moment
                parts += process.cmdline()
        (home,) = {found[0] for part in parts if (found := re.search(r"[^=]*handbook-engine-[^/\\]+", part))}
        assert Path(home, "profile").is_dir()
        # The one that drives the browser is gone without a word, and so cannot end it.
        (program,) = set(this.children()) - before
        program.kill()
        for _ in range(2):
            with pytest.raises(EngineError, match=f"^{name} ended when it was to open"):
                engine.open("about:blank")
    assert not [process for process in started if process.is_running() and process.status() != "zombie"]
    assert not Path(home).exists()
    engine.close()


@pytest.mark.parametrize("name", NAMES)
def test_a_page_that_never_comes_is_given_up(name: str, folder: Path) -> None:
    with start_engine(name, limit=6) as engine, open_server(folder) as address:
        engine.open(address)
        with socket.create_server(("127.0.0.1", 0)) as silent:
            started = time.monotonic()
            with pytest.raises(EngineError, match=rf"^{name} could not open: "):
                engine.open(f"http://127.0.0.1:{silent.getsockname()[1]}/")
            assert 5 < time.monotonic() - started < 12
        engine.open(address)
        assert engine.evaluate(LOOK) == OPENED


# Says that it has started, and that is all: with a child, it stays when it is to end.
STUBBORN = """
import subprocess, sys, time
subprocess.Popen([sys.executable, "-c", "import time; time.sleep(120)"])
print('{"number": 0}', flush=True)
time.sleep(120)
"""


def test_what_does_not_end_in_order_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("build_scripts.engines.engine.STOP_LIMIT", 1.0)
    monkeypatch.setattr("build_scripts.engines.engine.GRACE", 1.0)
    this = psutil.Process()
    before = set(this.children(recursive=True))
    engine = Engine("firefox", [sys.executable, "-c", STUBBORN], 1)
    started = set(this.children(recursive=True)) - before
    assert len(started) == 2
    with pytest.raises(EngineError, match="firefox did not reload within 2 s"):
        engine.reload()
    engine.close()
    assert not [process for process in started if process.is_running() and process.status() != "zombie"]


def test_what_a_browser_said_when_it_did_not_start_is_told() -> None:
    says = [sys.executable, "-c", "raise SystemExit('there is no screen here')"]
    with pytest.raises(
        EngineError, match=r"firefox ended when it was to start; it wrote last:\n.*no screen here"
    ):
        Engine("firefox", says, 5)
    with pytest.raises(EngineError, match="firefox could not be started: "):
        Engine("firefox", ["./no-such-program"], 5)


def test_the_systems_python_can_read_the_program_of_webkitgtk() -> None:
    program = Path(find_command("webkit")[1])
    ast.parse(program.with_name("webkitgtk_program.py").read_text("utf-8"), feature_version=(3, 9))


def test_another_name_is_refused() -> None:
    with pytest.raises(ValueError, match="there are chromium, firefox, webkit"):
        start_engine("lantern")
