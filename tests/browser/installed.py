"""What the tests of the installed copy share: releases, and a look into the browser's cache."""

import json
import os
import re
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from build_scripts.offline.saved_release import write_service_worker
from tests.browser.waiting import wait_over_reloads

ARTICLES = ("sound/channel/", "light/string/")
COUNT = """async () => {
  const keys = await (await caches.open('handbook ' + SCOPE)).keys();
  return keys.map(({url}) => url);
}"""


def copy_site(site: Path, folder: Path) -> Path:
    """Copy a built site to be changed; the large files of the runtime are linked."""
    large = {".wasm", ".bin"}

    def copy(source: str, target: str) -> str:
        if Path(source).suffix in large:
            os.link(source, target)
            return target
        return shutil.copyfile(source, target)

    return Path(shutil.copytree(site, folder, copy_function=copy))


def write_release(site: Path, number: int) -> None:
    """Make `site` into the release of this number: two articles and the search index name it."""
    for article in ARTICLES:
        page = site / article / "index.html"
        text = re.sub(r"<p>Release \d+\.</p>", "", page.read_text("utf-8"))
        page.write_text(text.replace("</h1>", f"</h1><p>Release {number}.</p>", 1), "utf-8")
    index = site / "search" / "index.json"
    found = json.loads(index.read_text("utf-8"))
    shown = found["index"]["storedFields"]["0"]
    shown["excerpt"] = re.sub(r"^(Release \d+\. )?", f"Release {number}. ", shown["excerpt"])
    index.write_text(json.dumps(found), "utf-8")
    write_service_worker(site, Path(os.environ["HANDBOOK_NODE_MODULES"]))


def find_numbers(page: Page, address: str) -> set[int]:
    """Open what names the release, as a reader's browser would; return the numbers of the releases seen."""
    numbers = set()
    for article in ARTICLES:
        page.goto(address + article)
        numbers.add(int(re.findall(r"Release (\d+)\.", page.locator("article").inner_text())[0]))
    index = page.evaluate("async path => (await fetch(path)).text()", f"{address}search/index.json")
    return numbers | {int(found) for found in re.findall(r"Release (\d+)\.", index)}


def accept_release(page: Page) -> None:
    """Change to the release that waits, and wait until the page has been loaded anew with it."""
    page.evaluate("window.before = true")
    page.get_by_role("button", name="Change to it now").click(timeout=30_000)
    wait_over_reloads(page, "window.before === undefined && document.readyState === 'complete'")


def list_saved(page: Page, address: str) -> list[str]:
    """Return the keys that are really in the browser's cache."""
    saved: list[str] = page.evaluate(COUNT.replace("SCOPE", json.dumps(address)))
    return saved


def list_release(site: Path, address: str) -> set[str]:
    """Return the keys that the release in `site` has, by its service worker's list."""
    listed = json.loads(
        (site / "service_worker.js")
        .read_text("utf-8")
        .split("self.handbookRelease = ", 1)[1]
        .split(";\n", 1)[0]
    )
    start = address.removesuffix("/")
    return {
        f"{start}/{'' if file['url'] == './' else file['url']}"
        + (f"?__WB_REVISION__={file['revision']}" if file["revision"] else "")
        for file in listed["files"]
    }


def expect_line(page: Page, words: str, timeout: float = 60) -> None:
    """Wait until the page's line about the saved copy has these words (a regular expression)."""
    expect(page.locator(".sl-keep")).to_have_text(re.compile(words, re.DOTALL), timeout=1000 * timeout)


def expect_saved(page: Page, site: Path, address: str) -> None:
    """Wait until the line says that all is saved, and see for oneself that it is true."""
    release = list_release(site, address)
    expect_line(page, rf"Saved for offline: {len(release)} of {len(release)} files")
    assert release <= set(list_saved(page, address))


def expect_truth(page: Page, site: Path, address: str) -> None:
    """The line's count is what the cache holds of the release."""
    release = list_release(site, address)
    # A line may be one count old: the next one follows at once.
    for _look in range(20):
        told = re.search(r"(\d+) of (\d+) files", page.locator(".sl-keep").inner_text())
        saved = len(release & set(list_saved(page, address)))
        if told and (int(told[1]), int(told[2])) == (saved, len(release)):
            return
        page.wait_for_timeout(250)
    pytest.fail(f"{page.locator('.sl-keep').inner_text()}: really saved are {saved} of {len(release)}")
