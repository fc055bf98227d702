"""What the preview adds to pages as it serves them: they load again when built again, and tell what is wrong.

Nothing of it is in a build: a page is changed on its way to the browser.
"""

import json
import os
from dataclasses import asdict, dataclass
from http import HTTPStatus
from io import BytesIO
from pathlib import Path
from typing import IO

from build_scripts.preview import PreviewHandler
from build_scripts.release.own_scripts import hash_script, read_inline

NEWS = "/.preview-news"
"""Where pages ask for the news: no article has a page of this name."""

_NOTHING = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>No page yet</title></head>'
    "<body><p>There is no page here yet. When one is built, it comes by itself.</p></body></html>"
)


@dataclass
class News:
    """What open pages are told."""

    build: str
    """Another one after each build that went well."""

    error: str = ""
    """What has to be mended before the next one goes well."""


class ReloadingHandler(PreviewHandler):
    """Serves a folder as PreviewHandler does, its pages with a script that asks for the `news`.

    What a page that is still open asks of a former release of the runtime is taken from `releases`.
    """

    def __init__(self, *arguments: object, directory: str, news: News, releases: Path) -> None:
        self.news = news
        self.releases = releases
        super().__init__(*arguments, directory=directory)  # type: ignore[arg-type]  # as the server gives them

    def translate_path(self, path: str) -> str:
        """Return the file that an address leads to."""
        file = Path(super().translate_path(path))
        runtime = Path(self.directory) / "runtime"
        if file.is_relative_to(runtime) and not file.exists():
            return str(self.releases / file.relative_to(runtime))
        return os.path.join(file, "") if path.endswith("/") else str(file)

    def send_head(self) -> IO[bytes] | None:  # type: ignore[override]  # BytesIO for its BufferedReader
        """Send the headers of what is asked for; returns the rest, to be sent and closed."""
        address = self.path.partition("?")[0]
        if address == NEWS:
            return self._send(HTTPStatus.OK, "application/json", json.dumps(asdict(self.news)))
        file = Path(self.translate_path(address), "index.html" if address.endswith("/") else "")
        if file.suffix != ".html":
            return super().send_head()
        # Looked up first: a build that ends meanwhile brings the page once more.
        build = self.news.build
        found = file.is_file()
        page = add_news(file.read_text("utf-8") if found else _NOTHING, build)
        return self._send(HTTPStatus.OK if found else HTTPStatus.NOT_FOUND, "text/html; charset=utf-8", page)

    def _send(self, status: HTTPStatus, kind: str, text: str) -> BytesIO:
        data = text.encode()
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        return BytesIO(data)


def add_news(page: str, build: str) -> str:
    """Return a page with the script that asks for the news, and in its policy the hash of that one script."""
    script = read_inline("preview.js")
    page = page.replace("script-src ", f"script-src '{hash_script(script.encode())}' ", 1)
    element = f'<script data-build="{build}" data-news="{NEWS}">{script}</script>'
    return page.replace("</head>", f"{element}</head>", 1)
