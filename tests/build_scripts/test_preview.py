"""The preview as its user meets it: a real process, real requests, a real change of a file."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from base64 import b64encode
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from hashlib import sha256
from pathlib import Path
from queue import Queue

import pytest

from build_scripts.errors import BuildError
from build_scripts.preview import PreviewHandler, open_server
from build_scripts.previewed_pages import News, ReloadingHandler
from build_scripts.watch import FINISH_AFTER
from tests.conftest import ROOT

pytestmark = pytest.mark.prepared

PREVIEW = """
import sys
from pathlib import Path
from build_scripts.preview import open_server
from build_scripts.previewed_pages import News
from build_scripts.watch import look, serve_preview
site, docs, *build = sys.argv[1:]
watched = [Path(docs)]
with open_server(Path(site), 0) as server:
    serve_preview(server, News("first"), build, [*build, "finish"], watched, look(watched))
"""

# What stands for a build here: it copies the article into the site, or fails when told to.
BUILD = """
import sys
from pathlib import Path
site, docs, *finish = map(Path, sys.argv[1:])
text = (docs / "index.md").read_text("utf-8")
if "mistake" in text:
    sys.exit("docs/index.md:1: mend this")
if finish:
    text += ", finished"
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
def serve(folder: Path, handler: Callable[..., PreviewHandler] = PreviewHandler) -> Iterator[int]:
    server = open_server(folder, 0, handler)
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
        assert lines.get(timeout=20) == "Built again; open pages show it.\n"
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


@pytest.mark.parametrize("quiet", [FINISH_AFTER - 2, FINISH_AFTER + 2])
def test_what_a_host_would_get_follows_when_nothing_more_is_changed(
    site: Path, tmp_path: Path, quiet: float
) -> None:
    docs = tmp_path / "docs"
    docs.mkdir()
    article = docs / "index.md"
    article.write_text("first", "utf-8")
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
        article.write_text("second", "utf-8")
        assert process.stdout.readline().startswith("Built again")
        time.sleep(quiet)
        expected = "second, finished" if quiet > FINISH_AFTER else "second"
        assert (site / "index.html").read_text("utf-8") == expected
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


def test_a_page_is_served_with_one_script_more_and_allowed_is_that_alone(tmp_path: Path) -> None:
    policy = '<meta http-equiv="Content-Security-Policy" content="script-src &#x27;sha256-a&#x27;">'
    built = f"<!doctype html><html><head>{policy}</head><body>script-src </body></html>"
    (tmp_path / "index.html").write_text(built, "utf-8")
    news = News("7")
    with serve(tmp_path, partial(ReloadingHandler, news=news, releases=tmp_path / "releases")) as port:
        status, headers, page = fetch(port, "/?c-x.current=5")
        assert (status, headers["Content-Type"]) == (200, "text/html; charset=utf-8")
        found = re.search(r'<script data-build="7" data-news="([^"]+)">(.*?)</script>', page, re.DOTALL)
        assert found
        digest = f"'sha256-{b64encode(sha256(found[2].encode()).digest()).decode()}' "
        assert page == built.replace("script-src &", f"script-src {digest}&").replace(
            "</head>", f"{found[0]}</head>"
        )
        assert json.loads(fetch(port, found[1])[2]) == {"build": "7", "error": ""}
        news.error = "docs/index.md:1: mend “this”"
        assert json.loads(fetch(port, found[1])[2]) == {"build": "7", "error": news.error}
        assert fetch(port, "/no-page/")[0] == 404
    with serve(tmp_path) as port:
        assert fetch(port, "/")[2] == built
    assert (tmp_path / "index.html").read_text("utf-8") == built


def test_a_page_that_is_still_open_finds_the_rest_of_its_release(site: Path, tmp_path: Path) -> None:
    releases = tmp_path / "releases"
    former = releases / "fedcba9876543210"
    former.mkdir(parents=True)
    (former / "part-x.bin").write_text("former", "utf-8")
    (tmp_path / "secret").write_text("no", "utf-8")
    with serve(site, partial(ReloadingHandler, news=News("1"), releases=releases)) as port:
        assert fetch(port, "/runtime/fedcba9876543210/part-x.bin")[::2] == (200, "former")
        assert fetch(port, "/runtime/0123456789abcdef/worker.js")[::2] == (200, "built")
        assert fetch(port, "/runtime/fedcba9876543210/part-y.bin")[0] == 404
        assert fetch(port, "/runtime/../../secret")[0] == 404
        assert fetch(port, "/runtime/%2e%2e/secret")[0] == 404


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
