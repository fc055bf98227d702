"""The search in a real Chromium: what readers ask is found, by keys and by a finger."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from build_scripts.authoring.files import DOCS, PAGES
from build_scripts.club import find_address
from build_scripts.finding.index import make_index, read_engine
from build_scripts.finding.words import read_words
from build_scripts.generator import write_pages
from tests.conftest import ROOT, ServeFolder

FIELD = ".sl-find input"
LINKS = ".sl-found a"
ASK = "queries => queries.map(query => self.found.find(query))"
WIRE = "calculators/wire-gauge/"


type Find = Callable[..., list[list[str]]]
type Open = Callable[[Mapping[str, object]], Find]


@pytest.fixture
def open_found(browser: Browser) -> Iterator[Open]:
    """Make the index of what can be found, and ask it in a page: gives the addresses of what is found."""
    context = browser.new_context()
    page = context.new_page()

    def open_found(found: Mapping[str, object]) -> Find:
        engine = read_engine()
        page.add_script_tag(content=engine)
        index = json.loads(make_index(engine, found))
        page.evaluate("index => { self.found = self.handbookFind.open(index); }", index)
        return lambda *queries: [
            [place["url"] for place in places] for places in page.evaluate(ASK, list(queries))
        ]

    yield open_found
    context.close()


def read_found(root: Path, scratch: Path) -> Mapping[str, object]:
    """Return what can be found in a handbook."""
    written = write_pages(root, scratch / "pages", "0" * 16, {}, {}, scratch / "cache")
    assert not written.problems
    return written.found


def judge(find: Find, asked: tuple[tuple[str, str], ...]) -> None:
    """All are found within the first three, at least four fifths first."""
    found = find(*(query for query, _ in asked))
    places = {}
    for (query, article), urls in zip(asked, found, strict=True):
        pages = [url.partition("#")[0] for url in urls]
        address = find_address(article)
        places[query] = pages.index(address) if address in pages else len(pages) + 99
    assert not {query: place for query, place in places.items() if place > 2}
    assert sum(place == 0 for place in places.values()) >= 0.8 * len(asked)


def test_what_the_engines_pages_answer_is_found(
    open_found: Open, small_handbook: Path, tmp_path: Path
) -> None:
    asked = read_words(small_handbook / PAGES).asked
    assert len(asked) >= 90
    judge(open_found(read_found(small_handbook, tmp_path)), asked)


def test_what_the_clubs_articles_answer_is_found(open_found: Open, tmp_path: Path) -> None:
    if asked := read_words(ROOT / DOCS).asked:
        judge(open_found(read_found(ROOT, tmp_path)), asked)


def describe(url: str, page: str, heading: str = "", text: str = "", **more: object) -> dict[str, object]:
    return {"url": url, "page": page, "heading": heading, "text": text, "excerpt": "", **more}


def test_words_spellings_and_ranks(open_found: Open) -> None:
    find = open_found(
        {
            "sections": [
                describe("goose/", "The goose", text="It hisses, and its impedance is high."),
                describe("goose/#beak", "The goose", "Beak", "Häuser aus Kupfer, 2.5 mm²"),
                describe("keep/", "Keep the goose", "Goose", behind=True),
                describe("cut/", "Lengths", "Cut list", "A list of wires to cut"),
                describe("wires/", "Wires", text="What to list and when to cut, list or cut a wire."),
            ],
            "same": [["ohms", "impedance"], ["nose", "beak"], ["cut list", "lengths"]],
            "skip": ["the"],
            "problems": [],
        }
    )
    firsts: dict[str, str | None] = {
        "goose": "goose/",
        "the": "goose/",
        "goos": "goose/",
        "gosoe": "goose/",
        "geese": None,
        "ohms": "goose/",
        "impedence": "goose/",
        "impedanze": "goose/",
        "nose": "goose/#beak",
        "haus": "goose/#beak",
        "mm2": "goose/#beak",
        "cut list": "cut/",
        "cutlist": "cut/",
        "the cut": "cut/",
        "wire": "wires/",
    }
    found = dict(zip(firsts, find(*firsts), strict=True))
    assert {query: urls[0] if urls else None for query, urls in found.items()} == firsts
    # Its heading is the word itself, and yet it comes behind the reader's page.
    assert found["goose"][:2] == ["goose/", "keep/"]


@pytest.mark.parametrize("sections", [2, 3])
def test_a_page_takes_two_places_at_most(open_found: Open, sections: int) -> None:
    places = [describe(f"a/#{number}", "A", "Lamp") for number in range(sections)]
    find = open_found({"sections": places, "same": [], "skip": [], "problems": []})
    assert len(find("lamp")[0]) == 2


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 360, "height": 740}, has_touch=True)
    yield context.new_page()
    context.close()


@pytest.fixture
def desk(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    yield context.new_page()
    context.close()


def test_nothing_is_fetched_before_the_field_is_used_and_once_after(desk: Page, site_address: str) -> None:
    asked: list[str] = []
    desk.on("request", lambda request: asked.append(request.url))
    desk.goto(f"{site_address}glossary/")
    desk.wait_for_load_state("networkidle")
    needed = re.compile(r"/search/index\.json$|/assets/find_engine\.")
    assert not [url for url in asked if needed.search(url)]
    desk.locator(FIELD).click()
    expect(desk.locator(LINKS)).to_have_count(12)
    desk.locator(LINKS).first.click()
    expect(desk).to_have_url(re.compile(r"/faults/#"))
    expect(desk.locator(LINKS).first).to_be_hidden()
    desk.locator(FIELD).fill("glossary")
    expect(desk.locator(LINKS).first).to_be_visible()
    assert len([url for url in asked if needed.search(url)]) == 2


def test_keys_alone_find_and_open(desk: Page, site_address: str) -> None:
    desk.goto(f"{site_address}glossary/")
    field = desk.locator(FIELD)
    field.focus()
    desk.keyboard.type("brownuot")
    first = desk.locator(LINKS).first
    expect(first).to_contain_text("resets")
    expect(desk.get_by_role("status").filter(has_text="places found")).to_be_visible()
    desk.keyboard.press("ArrowDown")
    expect(first).to_be_focused()
    desk.keyboard.press("ArrowUp")
    expect(field).to_be_focused()
    desk.keyboard.press("ArrowUp")
    expect(desk.locator(LINKS).last).to_be_focused()
    desk.keyboard.press("Escape")
    expect(field).to_be_focused()
    desk.keyboard.press("Escape")
    expect(field).to_have_value("")
    expect(desk.locator(LINKS)).to_have_count(12)
    desk.keyboard.press("Escape")
    expect(desk.locator(LINKS).first).to_be_hidden()
    field.focus()
    desk.keyboard.type("brownout")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(re.compile(r"/faults/#it-resets-or-browns-out$"))


def test_what_nothing_says_is_told_with_the_commonest_problems(desk: Page, site_address: str) -> None:
    desk.goto(site_address)
    desk.locator(FIELD).fill("xyzzyxyzzyq")
    expect(desk.locator(".sl-found-words")).to_have_text(
        "Nothing here says “xyzzyxyzzyq”. Perhaps one of these?"
    )
    expect(desk.locator(LINKS)).to_have_count(12)


def test_a_finger_has_room_on_a_phone(phone: Page, site_address: str) -> None:
    phone.goto(site_address + WIRE)
    field = phone.locator(FIELD)
    box = field.bounding_box()
    assert box
    assert min(box["width"], box["height"]) >= 44
    field.tap()
    expect(phone.locator(LINKS)).to_have_count(12)
    for place in (FIELD, *(f"{LINKS} >> nth={number}" for number in range(12))):
        box = phone.locator(place).bounding_box()
        assert box
        assert box["height"] >= 44, place
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 360
    field.fill("pinout")
    phone.locator(LINKS).first.tap()
    expect(phone).to_have_url(re.compile(r"/calculators/pin-order/"))
    expect(phone.locator(LINKS).first).to_be_hidden()


def test_a_file_that_is_missing_is_told_and_asked_for_again(
    site_folder: Path, site_address: str, serve_folder: ServeFolder, desk: Page
) -> None:
    desk.goto(serve_folder(site_folder, refused=frozenset({"index.json"})))
    desk.locator(FIELD).click()
    expect(desk.locator(".sl-found-words")).to_contain_text("could not start (the host answered 403)")
    desk.route(
        "**/search/index.json", lambda route: route.fulfill(path=site_folder / "search" / "index.json")
    )
    desk.keyboard.type("hum")
    expect(desk.locator(LINKS).first).to_contain_text("Hum")


def test_with_scripts_off_a_link_leads_to_the_faults(browser: Browser, site_address: str) -> None:
    context: BrowserContext = browser.new_context(
        java_script_enabled=False, viewport={"width": 360, "height": 740}
    )
    page = context.new_page()
    page.goto(site_address + WIRE)
    expect(page.locator(FIELD)).to_be_hidden()
    page.get_by_role("link", name="Find a fault").first.click()
    page.get_by_role("link", name="hum or buzz", exact=True).click()
    expect(page).to_have_url(re.compile(r"/faults/#hum-or-buzz$"))
    context.close()
