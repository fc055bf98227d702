"""A preview as its author sees it: a real process, a real Chromium, files changed while a page is open."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.host import find_free_port
from tests.browser.test_live import WIRE, find_field, find_output, wait_until_live
from tests.conftest import ROOT, take_interpreter
from tests.small_handbook import SOURCE

LABEL = "Drop, out and back, warm"
"""Of an output of wire-gauge."""

# Long: a frozen interpreter is made meanwhile, on a machine that may have other things to do.
LIMIT = 180_000


@dataclass
class Preview:
    """A preview of a small handbook that may be changed."""

    root: Path
    address: str

    def change(self, name: str, old: str, new: str) -> None:
        """Replace a text in one of its files."""
        path = self.root / name
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new), "utf-8")


@contextmanager
def start_preview(root: Path, *options: str) -> Iterator[Preview]:
    """Preview the small handbook, written to `root` with this checkout's engine, until the block ends."""
    port = find_free_port()
    process = subprocess.Popen(
        [
            *(sys.executable, "-P", "-m", "build_scripts.house_rules", "build_scripts.site", "preview"),
            *("--port", str(port), *options),
        ],
        cwd=root,
        env=os.environ | {"PYTHONPATH": str(root), "PYTHONUTF8": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
    )
    try:
        assert process.stdout
        assert any(line.startswith("The handbook is at") for line in process.stdout)
        yield Preview(root, f"http://127.0.0.1:{port}/")
    finally:
        process.terminate()
        process.communicate()


def write_checkout(root: Path) -> Path:
    """Write the small handbook with the whole engine, and what of the runtime no calculator changes."""
    unwanted = shutil.ignore_patterns("__pycache__")
    for name in ("build_scripts", "calculators"):
        shutil.copytree(ROOT / name, root / name, ignore=unwanted)
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, root / name)
    shutil.copytree(SOURCE, root, dirs_exist_ok=True)
    take_interpreter(root / ".cache" / "runtime-parts")
    return root


@pytest.fixture(scope="module")
def preview(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Preview]:
    """One preview for the tests of this module, each of which leaves its files as they were."""
    with start_preview(write_checkout(tmp_path_factory.mktemp("previewed") / "handbook")) as preview:
        yield preview


def find_alert(page: Page) -> Locator:
    return page.locator("[data-preview]")


def test_a_change_in_a_calculator_reaches_the_open_page_and_what_was_typed_stays(
    page: Page, preview: Preview
) -> None:
    page.goto(preview.address + WIRE)
    block = wait_until_live(page)
    before = find_output(block, "drop").inner_text()
    find_field(block, "current").press_sequentially("1")
    expect(find_output(block, "drop")).not_to_have_text(before)
    typed, dropped = find_field(block, "current").input_value(), find_output(block, "drop").inner_text()
    preview.change("calculators/wire_gauge/calculator.py", LABEL, "Lost on the way")
    expect(block.locator('[data-output="drop"] dt')).to_have_text("Lost on the way", timeout=LIMIT)
    wait_until_live(page)
    expect(block).not_to_have_attribute("data-old", "")
    expect(find_field(block, "current")).to_have_value(typed)
    expect(find_field(block, "current")).to_be_focused()
    expect(find_output(block, "drop")).to_have_text(dropped)
    expect(block.locator('[data-output="drop"] dt')).to_have_text("Lost on the way")
    expect(find_alert(page)).to_have_count(0)
    # One in what all calculators share as well.
    shared = "calculators/presentation/as_html.py"
    preview.change(shared, "What a meter should show", "What to measure")
    expect(block.get_by_text("What to measure", exact=True).first).to_be_attached(timeout=LIMIT)
    wait_until_live(page)
    expect(find_field(block, "current")).to_have_value(typed)
    preview.change(shared, "What to measure", "What a meter should show")
    preview.change("calculators/wire_gauge/calculator.py", "Lost on the way", LABEL)
    expect(block.locator('[data-output="drop"] dt')).to_have_text(LABEL, timeout=LIMIT)


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        (
            "calculators/wire_gauge/solve.py",
            "def solve(",
            "def solve((",
            r"calculators/wire_gauge/solve\.py:\d+: this is not Python: ",
        ),
        (
            "calculators/wire_gauge/solve.py",
            "def solve(",
            "HERE = open\n\n\ndef solve(",
            r"calculators/wire_gauge/solve\.py:\d+: uses open, ",
        ),
        (
            "docs/wiring/servo.md",
            "current = 0.5 A",
            "currant = 0.5 A",
            r"docs/wiring/servo\.md:\d+: .*currant",
        ),
        ("mkdocs.yml", "site_name:", "site_nome:", r"mkdocs\.yml"),
    ],
)
def test_what_has_to_be_mended_stands_in_the_open_page_until_it_is(
    page: Page, preview: Preview, name: str, old: str, new: str, words: str
) -> None:
    page.goto(preview.address + WIRE)
    block = wait_until_live(page)
    find_field(block, "current").fill("7 A")
    preview.change(name, old, new)
    expect(find_alert(page)).to_have_text(re.compile(words), timeout=LIMIT)
    expect(find_alert(page)).to_be_visible()
    # The page goes on computing below it.
    before = find_output(block, "drop").inner_text()
    find_field(block, "current").fill("8 A")
    expect(find_output(block, "drop")).not_to_have_text(before)
    # A page that is opened now shows it as well.
    other = page.context.new_page()
    other.goto(preview.address)
    expect(find_alert(other)).to_have_text(re.compile(words))
    preview.change(name, new, old)
    for open_page in (page, other):
        expect(find_alert(open_page)).to_have_count(0, timeout=LIMIT)
    expect(find_field(block, "current")).to_have_value("8 A")


def test_the_frozen_interpreter_follows_and_open_pages_stay(page: Page, preview: Preview) -> None:
    page.goto(preview.address + WIRE)
    preview.change("calculators/wire_gauge/calculator.py", LABEL, "Lost")
    expect(page.locator('[data-output="drop"] dt').first).to_have_text("Lost", timeout=LIMIT)
    wait_until_live(page)
    assert page.evaluate("document.documentElement.dataset.handbookTier") == "base"
    page.evaluate("window.stayed = true")
    runtime = preview.root / ".cache" / "previewed-site" / "runtime"
    for _ in range(LIMIT // 500):
        if list(runtime.glob("*/snapshot.bin")):
            break
        page.wait_for_timeout(500)
    other = page.context.new_page()
    other.goto(preview.address + WIRE)
    wait_until_live(other)
    assert other.evaluate("document.documentElement.dataset.handbookTier") == "snapshot"
    # What the open page asks of its own release is still there.
    release = page.locator("script[data-runtime]").first.get_attribute("data-runtime")
    assert page.evaluate(
        "async release => (await fetch(new URL(release, document.baseURI) + 'part-speaker-load.bin')).ok",
        release,
    )
    assert page.evaluate("window.stayed")
    preview.change("calculators/wire_gauge/calculator.py", "Lost", LABEL)
    expect(other.locator('[data-output="drop"] dt').first).to_have_text(LABEL, timeout=LIMIT)


def test_before_anything_could_be_built_the_page_says_why_and_then_comes(page: Page, tmp_path: Path) -> None:
    root = write_checkout(tmp_path / "handbook")
    article = root / "docs" / "wiring" / "servo.md"
    right = article.read_text("utf-8")
    article.write_text(right.replace("current = 0.5 A", "currant = 0.5 A"), "utf-8")
    with start_preview(root) as preview:
        response = page.goto(preview.address)
        assert response
        assert response.status == 404
        expect(find_alert(page)).to_contain_text("currant")
        article.write_text(right, "utf-8")
        expect(page.locator("h1")).to_be_visible(timeout=LIMIT)
        expect(find_alert(page)).to_have_count(0)
