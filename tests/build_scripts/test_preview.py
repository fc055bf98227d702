"""The preview as its user meets it: a real process, real requests, a real change of a file."""

from __future__ import annotations

import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from queue import Queue

import pytest

from build_scripts.errors import BuildError
from build_scripts.preview import open_server
from tests.conftest import ROOT

pytestmark = pytest.mark.prepared

PREVIEW = """
import sys
from pathlib import Path
from build_scripts.preview import open_server, serve_preview
site, docs, *build = sys.argv[1:]
with open_server(Path(site), 0) as server:
    serve_preview(server, build, [Path(docs)])
"""

# What stands for a build here: it copies the article into the site, or fails when told to.
BUILD = """
import sys
from pathlib import Path
site, docs = map(Path, sys.argv[1:])
text = (docs / "index.md").read_text("utf-8")
if "mistake" in text:
    sys.exit("docs/index.md:1: mend this")
(site / "index.html").write_text(text, "utf-8")
"""


@pytest.fixture
def site(tmp_path: Path) -> Path:
    folder = tmp_path / "site"
    for name in (
        "index.html",
        "runtime/0123456789abcdef/pyodide.asm.wasm",
        "runtime/0123456789abcdef/worker.js",
        "assets/live.0123456789ab.js",
        "assets/icons/icon-192.png",
        "assets/javascripts/lunr/min/lunr.de.min.js",
    ):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("built", "utf-8")
    for name in ("manifest.json", "picture.svg", "style.css", "library.bin"):
        (folder / name).write_text("{}", "utf-8")
    return folder


@contextmanager
def serve(folder: Path) -> Iterator[int]:
    server = open_server(folder, 0)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,))
    thread.start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def pass_on(lines: Iterable[str], queue: Queue[str]) -> None:
    for line in lines:
        queue.put(line)


def fetch(port: int, address: str) -> tuple[int, dict[str, str], str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        connection.request("GET", address)
        response = connection.getresponse()
        return response.status, dict(response.getheaders()), response.read().decode()
    finally:
        connection.close()


# The types as IANA's list and the WebAssembly Web API have them; browsers refuse modules of another type.
@pytest.mark.parametrize(
    ("address", "kind"),
    [
        ("/", "text/html"),
        ("/runtime/0123456789abcdef/pyodide.asm.wasm", "application/wasm"),
        ("/runtime/0123456789abcdef/worker.js", "text/javascript"),
        ("/manifest.json", "application/json"),
        ("/picture.svg", "image/svg+xml"),
        ("/style.css", "text/css"),
    ],
)
def test_files_are_served_with_their_types(site: Path, address: str, kind: str) -> None:
    with serve(site) as port:
        status, headers, _ = fetch(port, address)
    assert status == 200
    assert headers["Content-type"].partition(";")[0] == kind


def test_only_files_named_by_their_content_are_kept_by_browsers(site: Path) -> None:
    with serve(site) as port:
        kept = {
            address: fetch(port, address)[1]["Cache-Control"]
            for address in (
                "/",
                "/manifest.json",
                "/assets/icons/icon-192.png",
                "/assets/javascripts/lunr/min/lunr.de.min.js",
                "/assets/live.0123456789ab.js",
                "/assets/live.0123456789ab.js?x=1",
                "/runtime/0123456789abcdef/worker.js",
            )
        }
    assert [("immutable" in words) for words in kept.values()] == [False] * 4 + [True] * 3
    assert kept["/"] == "no-cache"


def test_only_this_machine_is_served(site: Path) -> None:
    server = open_server(site, 0)
    try:
        assert server.server_address[0] == "127.0.0.1"
    finally:
        server.server_close()


def test_a_port_that_is_taken_is_told_in_a_sentence_with_one_that_exists(site: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        with pytest.raises(BuildError) as caught:
            open_server(site, port)
    assert str(caught.value) == (
        f"Port {port} is taken or not allowed: end the other program, or choose another port, "
        "such as --port 8000"
    )


def test_a_taken_port_is_told_before_anything_is_built(capfd: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = str(other.getsockname()[1])
        command = [sys.executable, "-P", "-m", "build_scripts.site", "preview", "--port", port]
        assert (
            subprocess.run(
                command, cwd=ROOT, check=False, env=os.environ | {"PYTHONPATH": str(ROOT)}
            ).returncode
            == 1
        )
    told = capfd.readouterr()
    assert told.out == ""
    assert told.err.startswith(f"Port {port} is taken")
    assert told.err.count("\n") == 1


def test_a_change_builds_again_and_a_mistake_leaves_what_was_there(site: Path, tmp_path: Path) -> None:
    docs = tmp_path / "docs"
    docs.mkdir()
    article = docs / "index.md"
    article.write_text("first", "utf-8")
    build = [sys.executable, "-c", BUILD, str(site), str(docs)]
    process = subprocess.Popen(
        [sys.executable, "-c", PREVIEW, str(site), str(docs), *build],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
    )
    assert process.stdout is not None
    lines: Queue[str] = Queue()
    reader = threading.Thread(target=pass_on, args=(process.stdout, lines))
    reader.start()
    try:
        greeting = lines.get(timeout=20)
        port = int(greeting.partition("127.0.0.1:")[2].partition("/")[0])
        assert greeting == f"The handbook is at http://127.0.0.1:{port}/ (Ctrl-C ends it)\n"
        assert fetch(port, "/")[2] == "built"
        article.write_text("second", "utf-8")
        assert lines.get(timeout=20) == "Built again; reload the page to see it.\n"
        assert fetch(port, "/")[2] == "second"
        article.write_text("a mistake", "utf-8")
        assert [lines.get(timeout=20) for _ in range(2)] == [
            "docs/index.md:1: mend this\n",
            "Not built: the pages still show what was there before.\n",
        ]
        assert fetch(port, "/")[2] == "second"
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 0
    finally:
        process.kill()
        process.wait()
        reader.join()
        process.stdout.close()
    assert "Preview ended.\n" in list(lines.queue)


def test_without_a_change_nothing_is_built(site: Path, tmp_path: Path) -> None:
    docs = tmp_path / "docs"
    (docs / "__pycache__").mkdir(parents=True)
    (docs / "index.md").write_text("first", "utf-8")
    build = [sys.executable, "-c", BUILD, str(site), str(docs)]
    process = subprocess.Popen(
        [sys.executable, "-c", PREVIEW, str(site), str(docs), *build],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        encoding="utf-8",
    )
    assert process.stdout is not None
    try:
        assert process.stdout.readline().startswith("The handbook is at")
        # What Python itself leaves behind is no change of an author's.
        (docs / "__pycache__" / "a.pyc").write_bytes(b"x")
        time.sleep(2.5)
        assert (site / "index.html").read_text("utf-8") == "built"
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
