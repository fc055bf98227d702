"""The headers a host is to send, in three real engines: calculators start, and their workers are shut in."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from build_scripts.engines.engine import Engine
from build_scripts.environment.progress import Progress
from build_scripts.preview import open_server
from build_scripts.site.building import build_site
from tests.browser.host import find_free_port
from tests.conftest import open_server as open_other

WIRE = "calculators/wire-gauge/"
LIVE = "return document.querySelector('.sl-block')?.dataset.live === 'yes';"
TIER = "return document.documentElement.dataset.handbookTier;"
# What a calculator could still ask of its worker, were its global not emptied.
WORKER = """
const attempt = async (act) => { try { await act(); return "done"; } catch { return "refused"; } };
onmessage = async ({ data: [own, other] }) => postMessage([
  await attempt(() => fetch(own)),
  await attempt(() => fetch(other)),
  await attempt(() => import(other)),
  await attempt(() => import("data:text/javascript,0")),
  await attempt(() => import(URL.createObjectURL(new Blob(["0"], {type: "text/javascript"})))),
  await attempt(() => importScripts(other)),
  await attempt(() => new Function("return 1")()),
  await attempt(() => new Promise((resolve, reject) => {
    const asked = new XMLHttpRequest();
    asked.onload = resolve;
    asked.onerror = reject;
    asked.open("GET", own);
    asked.send();
  })),
  await attempt(() => new Promise((resolve, reject) => {
    const asked = new EventSource(other);
    asked.onopen = resolve;
    asked.onerror = reject;
  })),
]);
"""
ASK = """
const worker = new Worker(NAME);
return await new Promise((settle, reject) => {
  worker.onmessage = ({data}) => settle(data);
  worker.onerror = reject;
  worker.postMessage([new URL("index.html", location.href).href, OTHER]);
});
"""


@contextmanager
def serve(folder: Path, port: int) -> Iterator[str]:
    """Serve `folder` as `preview` does."""
    with open_server(folder, port) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.05,))
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}/"
        finally:
            server.shutdown()
            thread.join()


@pytest.fixture(scope="module")
def previewed(small_handbook: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """The handbook as an author sees it, and its folder."""
    folder = tmp_path_factory.mktemp("previewed") / "site"
    folder.mkdir()
    with serve(folder, find_free_port()) as address:
        build_site(folder, Progress(), address=address, root=small_handbook)
        yield address, folder


def test_a_page_computes_from_the_snapshot(engine: Engine, previewed: tuple[str, Path]) -> None:
    engine.open(previewed[0] + WIRE)
    engine.wait_until(LIVE, 60)
    assert engine.evaluate(TIER) == "snapshot"


def test_a_page_computes_from_the_library(
    engine: Engine, previewed: tuple[str, Path], tmp_path: Path
) -> None:
    folder = Path(shutil.copytree(previewed[1], tmp_path / "site"))
    for snapshot in folder.glob("runtime/*/snapshot.bin"):
        snapshot.unlink()
    with serve(folder, find_free_port()) as address:
        engine.open(address + WIRE)
        engine.wait_until(LIVE, 60)
        assert engine.evaluate(TIER) == "base"


@pytest.mark.parametrize("name", ["worker.js", "files.js"])
def test_a_worker_reaches_nothing_beyond_its_release(engine: Engine, name: str, tmp_path: Path) -> None:
    folder = tmp_path / "runtime" / "0123456789abcdef"
    folder.mkdir(parents=True)
    (folder / name).write_text(WORKER, "utf-8")
    (tmp_path / "index.html").write_text("<!doctype html><title>empty</title>", "utf-8")
    with serve(tmp_path, find_free_port()) as address, open_other(tmp_path) as other:
        engine.open(address)
        ask = ASK.replace("NAME", f"'runtime/{folder.name}/{name}'").replace("OTHER", f"'{other}x.js'")
        own = ["done" if name == "files.js" else "refused"]
        outcome = engine.evaluate(ask)
        assert outcome == [*own, *["refused"] * 6, *own, "refused"]
