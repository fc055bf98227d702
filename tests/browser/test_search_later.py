"""The stand-in for the theme's search worker in a real Chromium: nothing is lost, and the order is kept."""

import shutil
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.conftest import ROOT, ServeFolder

# A real worker that answers as the theme's does: by way of an event listener, at once.
REAL = """
self.addEventListener("message", ({data}) => postMessage({heard: data, at: performance.now()}));
postMessage({born: performance.now()});
"""

ASK = """address => new Promise(settle => {
  const worker = new Worker(address);
  const heard = [];
  worker.onmessage = ({data}) => {
    heard.push(data);
    if (data.born) worker.postMessage("after");
    if (data.heard === "after") settle(heard);
  };
  for (const text of ["first", "second", "third"]) worker.postMessage(text);
})"""


def test_what_is_sent_early_reaches_the_real_worker_later(
    page: Page, serve_folder: ServeFolder, tmp_path: Path
) -> None:
    folder = tmp_path / "assets"
    (folder / "javascripts" / "workers").mkdir(parents=True)
    (folder / "javascripts" / "workers" / "search.js").write_text(REAL, "utf-8")
    shutil.copyfile(ROOT / "build_scripts" / "browser" / "search_later.js", folder / "search_later.js")
    (tmp_path / "index.html").write_text("<!doctype html><title>empty</title>", "utf-8")
    address = serve_folder(tmp_path)
    page.goto(f"{address}index.html")
    told: list[dict[str, Any]] = page.evaluate(
        ASK, f"{address}assets/search_later.js?javascripts%2Fworkers%2Fsearch.js"
    )
    assert [one["heard"] for one in told if "heard" in one] == ["first", "second", "third", "after"]
    # The first live result is promised well before that; the search is not.
    assert told[0]["born"] >= 1000
