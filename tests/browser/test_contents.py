"""The contents in a real Chromium: loaded once, held by no page; and a page's ways out without scripts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from build_scripts.generator import write_pages
from tests.conftest import ROOT
from tests.small_handbook import write_small_handbook

FIRST, SECOND = "light/lantern/", "light/string/"
PLACE = ".sl-contents"


@pytest.fixture
def desk(page: Page) -> Page:
    page.set_viewport_size({"width": 1280, "height": 900})
    return page


def test_all_pages_are_listed_and_loaded_once(desk: Page, site_address: str, site_pages: list[str]) -> None:
    asked: list[str] = []
    desk.on("request", lambda request: asked.append(request.url))
    desk.goto(site_address + FIRST)
    here = desk.locator(f"{PLACE} [aria-current=page]")
    expect(here).to_have_attribute("href", site_address + FIRST)
    closed = desk.locator(f"{PLACE} details:not([open]) > summary")
    while closed.count():
        closed.first.click()
    addresses = desk.locator(f"{PLACE} a").evaluate_all("links => links.map(({href}) => href)")
    listed = {address.removeprefix(site_address) for address in addresses}
    assert listed == set(site_pages) - {"", "made-of/"}
    desk.evaluate("self.before = true")
    desk.locator(f'{PLACE} a[href$="{SECOND}"]').click()
    expect(here).to_have_attribute("href", site_address + SECOND)
    assert desk.evaluate("self.before")
    assert len([url for url in asked if url.endswith("search/contents.json")]) == 1


def test_the_contents_come_at_once_to_whoever_reaches_for_them(browser: Browser, site_address: str) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 740}, has_touch=True)
    page = context.new_page()
    # No time passes for the page, so that nothing comes because of it.
    page.clock.install(time=0)
    page.clock.pause_at(1000)
    page.goto(site_address + "glossary/")
    page.wait_for_load_state("networkidle")
    expect(page.locator(f"{PLACE} a")).to_have_count(0)
    page.locator("label.md-header__button[for=__drawer]").tap()
    link = page.locator(f"{PLACE} a", has_text="Find a fault")
    expect(link).to_be_visible()
    box = link.bounding_box()
    assert box
    assert box["height"] >= 44
    context.close()


@pytest.mark.parametrize("name", [FIRST, "calculators/wire-gauge/", "glossary/"])
def test_with_scripts_off_a_page_leads_home_to_its_section_and_to_its_neighbours(
    browser: Browser, site_address: str, name: str
) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(site_address + name)
    addresses = page.locator("a:visible").evaluate_all("links => links.map(({href}) => href)")
    section = name.rstrip("/").rpartition("/")[0]
    assert {site_address, f"{site_address}{section}/" if section else site_address} <= set(addresses)
    for kind in ("prev", "next"):
        neighbour = page.locator(f"link[rel={kind}]").evaluate("link => link.href")
        expect(page.locator(f".md-footer__link--{kind}")).to_be_visible()
        assert neighbour in addresses
    context.close()


def read_weight(root: Path, articles: int, scratch: Path) -> int:
    """The bytes of one page in a handbook with so many other articles beside it."""
    for number in range(articles):
        (root / "docs" / f"more-{number}.md").write_text(f"# More {number}\n", "utf-8")
    settings = (root / "mkdocs.yml").read_text("utf-8")
    settings = re.sub(r"^nav:\n(?: .*\n)+", "", settings, flags=re.MULTILINE)
    (root / "mkdocs.yml").write_text(settings, "utf-8")
    assert not write_pages(root, scratch, "0" * 16, {}, {}, ROOT / ".cache").problems
    return (scratch / FIRST / "index.html").stat().st_size


def test_a_page_does_not_grow_with_the_handbook(tmp_path: Path) -> None:
    few, many = (
        read_weight(write_small_handbook(tmp_path / str(count)), count, tmp_path / f"{count}-pages")
        for count in (2, 100)
    )
    # What differs are the names of two neighbours.
    assert abs(many - few) < 200
