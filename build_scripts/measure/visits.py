"""What a browser asks of the host: at the first visit, the next one, and after one article has changed."""

import gzip
import json
import shutil
import threading
from dataclasses import dataclass, field
from functools import partial
from http.server import ThreadingHTTPServer
from pathlib import Path
from typing import Any

from build_scripts.engines.engine import Engine, start_engine
from build_scripts.offline.saved_release import WORKER, write_service_worker
from build_scripts.preview import ADDRESS, PreviewHandler

_LIVE = "return document.querySelector('.sl-block')?.dataset.live === 'yes';"
_SAVED = (
    "return /^Saved for offline: (\\d+) of \\1 files/.test(document.querySelector('.sl-keep')?.textContent);"
)
_NEWER = "return document.querySelector('.sl-newer') !== null;"
_SETTLED = "await new Promise((settle) => setTimeout(settle, 4000)); return true;"
"""Longer than the page waits before it looks for a newer release."""


@dataclass
class Traffic:
    """What was asked of the host since the last `forget`."""

    folder: Path
    names: list[str] = field(default_factory=list)

    @property
    def bytes(self) -> int:
        """All answers' bodies, compressed as hosts do it (.bin is compressed already)."""
        return sum(map(self._measure, self.names))

    def forget(self) -> None:
        """Begin to count anew."""
        self.names.clear()

    def _measure(self, name: str) -> int:
        path = self.folder / name
        data = (path / "index.html" if path.is_dir() else path).read_bytes()
        return len(data) if path.suffix == ".bin" else len(gzip.compress(data, 6))


@dataclass(frozen=True)
class Visit:
    """One visit: how many requests, how many bytes, and what was asked for."""

    requests: int
    bytes: int
    names: frozenset[str]


def measure_first_repeat_update(site: Path, page: str, folder: Path, node_modules: Path) -> dict[str, Visit]:
    """Return what the first visit, a repeat visit and the update of one article ask of a host.

    `site` is the built handbook, `page` the address of the article, `folder` where a copy may be changed.
    """
    copy = Path(shutil.copytree(site, folder / "visited"))
    traffic = Traffic(copy)
    server = ThreadingHTTPServer((ADDRESS, 0), partial(_Handler, traffic, directory=str(copy)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    address = f"http://{ADDRESS}:{server.server_port}/"
    try:
        with start_engine("chromium") as engine:
            first = _visit(engine, address + page, traffic, _SAVED)
            repeat = _visit(engine, address + page, traffic, _LIVE)
            _change_article(copy, page, node_modules)
            update = _visit(engine, address + page, traffic, _NEWER)
    finally:
        server.shutdown()
        server.server_close()
    return {"first visit": first, "repeat visit": repeat, "update of one article": update}


def _visit(engine: Engine, address: str, traffic: Traffic, until: str) -> Visit:
    engine.open("about:blank")
    traffic.forget()
    engine.open(address)
    engine.wait_until(until, 120)
    engine.evaluate(_SETTLED)
    return Visit(len(traffic.names), traffic.bytes, frozenset(traffic.names))


def _change_article(site: Path, name: str, node_modules: Path) -> None:
    """Put one sentence into one article, as a new build of it would: its page and the search index."""
    page, index = site / name / "index.html", site / "search" / "index.json"
    page.write_text(page.read_text("utf-8").replace("</h1>", "</h1><p>One sentence more.</p>", 1), "utf-8")
    found = json.loads(index.read_text("utf-8"))
    places = found["index"]["storedFields"].values()
    next(place for place in places if place["url"] == name)["excerpt"] += " One sentence more."
    index.write_text(json.dumps(found), "utf-8")
    write_service_worker(site, node_modules)


def find_unexpected(update: Visit, page: str) -> frozenset[str]:
    """Return what an update of one article asks for beyond that article, the index and the worker's list."""
    return update.names - {page, "search/index.json", WORKER}


class _Handler(PreviewHandler):
    def __init__(self, traffic: Traffic, *arguments: Any, directory: str) -> None:
        self.traffic = traffic
        super().__init__(*arguments, directory=directory)

    def do_GET(self) -> None:  # noqa: N802  # the name the base class calls
        name = self.path.lstrip("/").partition("?")[0]
        if (self.traffic.folder / name).exists():
            self.traffic.names.append(name)
        super().do_GET()
