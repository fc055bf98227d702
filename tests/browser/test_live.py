"""The live page in a real Chromium: typing, wrong input, sharing, coming back, scripts off, failures."""

import json
import re
from datetime import datetime, timedelta
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import (
    Browser,
    ConsoleMessage,
    Locator,
    Page,
    PdfMargins,
    Request,
    Route,
    expect,
)

from calculators import find_calculator, list_calculators
from calculators.answers import answer
from calculators.forms.fields import QuantityInput
from tests.browser.waiting import wait_until

WIRE = "calculators/wire-gauge/"
LED = "calculators/led-current/"
SLUGS = [calculator.slug for calculator in list_calculators()]
ALL_LIVE = "[...document.querySelectorAll('.sl-block')].every(block => block.dataset.live)"


# What stands out of the window on either side, unless something around it can be scrolled to it.
FIND_CUT_OFF = """() => {
  const scrolls = element => element && element.tagName !== 'ARTICLE' && (
    ['auto', 'scroll'].includes(getComputedStyle(element).overflowX) || scrolls(element.parentElement));
  return [...document.querySelectorAll('article *')].filter(element => {
    const {left, right, width} = element.getBoundingClientRect();
    return width && (right > innerWidth + 0.5 || left < -0.5) && !scrolls(element.parentElement);
  }).map(element => element.outerHTML.slice(0, 100));
}"""


# Whether the first result on the page is `expected`, apart from which folds the reader has open.
COMPARE_RESULT = """() => {
  const close = tree => {
    for (const fold of tree.querySelectorAll('details')) fold.removeAttribute('open');
    return tree;
  };
  window.isExpected = () => {
    const shown = document.createElement('body');
    shown.append(...document.querySelector('.sl-result').cloneNode(true).childNodes);
    // Read, not written: what a script writes into a page goes through the page's own list.
    const {body} = new DOMParser().parseFromString(window.expected, 'text/html');
    return close(shown).isEqualNode(close(body));
  };
}"""


def ask_python(question: dict[str, object]) -> dict[str, str]:
    """Return what CPython answers to a question in HTML: the parts of the result by name."""
    return dict(json.loads(answer(json.dumps(question)))["result"])


def remove_states(fragment: str) -> str:
    """Return the fragment without the states of its folds, its characters as themselves."""
    return unescape(fragment.replace(' open=""', "").replace(" open>", ">"))


def find_block(page: Page, slug: str = "wire-gauge") -> Locator:
    return page.locator(f'.sl-block[data-calculator="{slug}"]').first


def wait_until_live(page: Page, slug: str = "wire-gauge") -> Locator:
    block = find_block(page, slug)
    expect(block).to_have_attribute("data-live", "yes", timeout=60_000)
    return block


def wait_for_theme(page: Page) -> None:
    """Wait until the theme's script has run, which live.js starts after the first live result.

    It exchanges pages in place only once it has read the site map.
    """
    read = (
        "performance.getEntriesByType('resource').some(e => e.name.endsWith('/sitemap.xml') && e.responseEnd)"
    )
    wait_until(page, f"window.document$ !== undefined && {read}")


def find_field(block: Locator, name: str) -> Locator:
    return block.locator(f'[data-field="{name}"]').locator("input, select, textarea")


def find_output(block: Locator, name: str) -> Locator:
    return block.locator(f'[data-output="{name}"] dd')


@pytest.mark.parametrize("slug", SLUGS)
def test_first_live_result_equals_the_built_one(page: Page, site_address: str, slug: str) -> None:
    page.goto(f"{site_address}calculators/{slug}/")
    wait_until_live(page, slug)
    wait_until(page, ALL_LIVE)
    built, live = page.evaluate(
        """async () => {
          const text = await (await fetch(location.href)).text();
          const list = tree => [...tree.querySelectorAll('.sl-result')].map(result => result.innerHTML);
          return [list(new DOMParser().parseFromString(text, 'text/html')), list(document)];
        }"""
    )
    assert built == live
    assert built


def test_typing_recomputes_at_once(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    before = find_output(block, "drop").inner_text()
    find_field(block, "current").fill("1 A")
    expect(find_output(block, "drop")).not_to_have_text(before)
    one = find_output(block, "drop").inner_text()
    find_field(block, "current").fill("2000 mA")
    expect(find_output(block, "drop")).not_to_have_text(one)
    expect(block.locator(".sl-status")).to_contain_text("1 of the figures is your own")


def test_every_later_result_is_that_of_cpython(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    page.evaluate(COMPARE_RESULT)
    # From a result that holds to one that does not and back: parts come, change and go.
    for current in ("40 A", "0.2 A", "400 A", "6.5 A"):
        find_field(block, "current").fill(current)
        fields = block.evaluate("block => Object.fromEntries(new FormData(block.querySelector('form')))")
        asked = {"calculator": "wire-gauge", "fields": fields, "units": "metric", "form": "html"}
        page.evaluate("fragment => { window.expected = fragment; }", "".join(ask_python(asked).values()))
        wait_until(page, "window.isExpected()")
        expect(block).to_have_attribute("data-complete", "")


def test_closed_folds_wait_and_none_opens_with_what_is_old(page: Page, site_address: str) -> None:
    page.clock.install()
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    asked = {"calculator": "wire-gauge", "units": "metric", "form": "html"}
    expect(block).to_have_attribute("data-complete", "")
    wait_until(page, ALL_LIVE)
    # No pause comes to its end from here on: what is filled now is filled because it is opened.
    page.clock.pause_at(datetime.now() + timedelta(seconds=10))
    fold = block.locator('details[data-key="working"]')
    old = fold.inner_html()
    find_field(block, "current").fill("1.5 A")
    expect(block).not_to_have_attribute("data-complete", "")
    for key in ("working", "readings"):
        expect(block.locator(f'details[data-key="{key}"] > *')).to_have_count(1)  # its heading
    expect(block.locator('details[data-key="provenance"] li')).not_to_have_count(0)
    fields = block.evaluate("block => Object.fromEntries(new FormData(block.querySelector('form')))")
    fold.locator("summary").click()
    expect(fold.locator("li")).not_to_have_count(0)
    assert fold.inner_html() != old
    assert remove_states(fold.evaluate("fold => fold.outerHTML")) == remove_states(
        ask_python({**asked, "fields": fields})["working"]
    )
    # Open, it stays up to date by itself; a fold that the script opens is filled as well.
    find_field(block, "current").fill("2.5 A")
    expect(block).not_to_have_attribute("data-complete", "")
    fields["current"] = "2.5 A"
    now = ask_python({**asked, "fields": fields})
    assert remove_states(fold.evaluate("fold => fold.outerHTML")) == remove_states(now["working"])
    readings = block.locator('details[data-key="readings"]')
    readings.evaluate("fold => { fold.open = true; }")
    expect(readings.locator("li")).not_to_have_count(0)
    assert remove_states(readings.evaluate("fold => fold.outerHTML")) == remove_states(now["readings"])


def test_a_fold_is_filled_under_the_finger_and_keeps_focus(page: Page, site_address: str) -> None:
    page.clock.install()
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    # Behind every block's answer: a clock that leaps while one is under way runs over the worker's limit.
    wait_until(page, ALL_LIVE)
    page.clock.pause_at(datetime.now() + timedelta(seconds=10))
    find_field(block, "current").fill("1.5 A")
    expect(block).not_to_have_attribute("data-complete", "")
    working = block.locator('details[data-key="working"]')
    working.locator("summary").hover()
    page.mouse.down()
    expect(working.locator("li")).not_to_have_count(0)
    page.mouse.up()
    expect(working).to_have_attribute("open", "")
    # By keyboard there is no finger; the heading that was pressed keeps the focus while its fold is filled.
    find_field(block, "current").fill("2.5 A")
    expect(block).not_to_have_attribute("data-complete", "")
    readings = block.locator('details[data-key="readings"]')
    readings.locator("summary").press("Enter")
    expect(readings.locator("li")).not_to_have_count(0)
    expect(readings.locator("summary")).to_be_focused()


def test_what_waits_follows_after_a_pause_even_when_the_newest_figure_is_wrong(
    page: Page, site_address: str
) -> None:
    page.clock.install()
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    # Behind every block's answer: a clock that leaps while one is under way runs over the worker's limit.
    wait_until(page, ALL_LIVE)
    page.clock.pause_at(datetime.now() + timedelta(seconds=10))
    find_field(block, "current").fill("1.5 A")
    expect(block).not_to_have_attribute("data-complete", "")
    fields = block.evaluate("block => Object.fromEntries(new FormData(block.querySelector('form')))")
    find_field(block, "current").fill("3 m")
    expect(block).to_have_attribute("data-old", "")
    page.clock.run_for(1000)
    expect(block).to_have_attribute("data-complete", "")
    expect(block).to_have_class(re.compile("sl-old"))
    asked = {"calculator": "wire-gauge", "fields": fields, "units": "metric", "form": "html"}
    page.evaluate(COMPARE_RESULT)
    page.evaluate("fragment => { window.expected = fragment; }", "".join(ask_python(asked).values()))
    assert page.evaluate("window.isExpected()")


def test_a_wrong_figure_keeps_the_last_good_result(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    good = block.locator(".sl-result").inner_html()
    find_field(block, "current").fill("3 m")
    message = block.locator('[data-field="current"] .sl-error')
    expect(message).to_be_visible()
    expect(message).to_contain_text("“3 m” is a length")
    expect(block).to_have_class(re.compile("sl-old"))
    expect(block.locator(".sl-status")).to_contain_text("last good one")
    assert block.locator(".sl-result").inner_html() == good
    find_field(block, "current").fill("3 A")
    expect(message).to_be_hidden()
    expect(block).not_to_have_class(re.compile("sl-old"))


def test_what_a_reader_types_stays_text(page: Page, site_address: str) -> None:
    hostile = '<img src=x onerror="shown=1">'
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    find_field(block, "allowed_drop").fill(hostile)
    expect(block.locator('[data-field="allowed_drop"] .sl-error')).to_contain_text(hostile)
    assert block.locator("img").count() == 0


def test_a_shared_link_carries_the_figures(page: Page, browser: Browser, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    find_field(block, "current").fill("1.23 A")
    find_field(block, "length").fill("7 ft")
    wait_until(page, "location.search.includes('7+ft')")
    shared = page.url
    figures = parse_qs(urlsplit(shared).query)
    assert {name.split(".")[1]: texts for name, texts in figures.items()} == {
        "current": ["1.23 A"],
        "length": ["7 ft"],
    }
    drop = find_output(block, "drop").inner_text()
    elsewhere = browser.new_context()
    other = elsewhere.new_page()
    other.goto(shared)
    there = wait_until_live(other)
    expect(find_field(there, "length")).to_have_value("7 ft")
    expect(find_output(there, "drop")).to_have_text(drop)
    # The written-out link names every figure, so that it means the same after the article has changed.
    link = urlsplit(there.locator(".sl-link").get_attribute("href") or "")
    assert parse_qs(urlsplit(shared).query).items() <= parse_qs(link.query).items() or link.fragment
    elsewhere.close()


def test_a_bare_number_is_in_the_unit_of_the_figure_that_stood_there(page: Page, site_address: str) -> None:
    # The calculator declares ohms; the page's own figure is in milliohms.
    page.goto(site_address + LED)
    block = wait_until_live(page, "led-current")
    name, drop = "segment_resistance", find_output(block, "lowest_voltage")
    expect(block.locator(f'[data-field="{name}"] .sl-unit')).to_have_text("mΩ")
    find_field(block, name).fill("20 mΩ")
    expect(block).not_to_have_attribute("data-old", "")
    volts = drop.inner_text()
    find_field(block, name).fill("5")
    expect(drop).not_to_have_text(volts)
    find_field(block, name).fill("20")
    expect(drop).to_have_text(volts)
    anchor = block.get_attribute("id")
    wait_until(page, f"new URLSearchParams(location.search).get('{anchor}.{name}') === '20 mΩ'")
    # Figures of a fence, which a link to them carries as they stand there, are in the unit that is declared.
    page.goto(f"{site_address}{LED}?{anchor}.{name}=0.02")
    block = wait_until_live(page, "led-current")
    expect(find_field(block, name)).to_have_value("0.02 Ω")
    expect(find_output(block, "lowest_voltage")).to_have_text(volts)


def test_figures_are_kept_for_the_next_visit_and_reset_in_one_tap(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    article = find_field(block, "current").input_value()
    find_field(block, "current").fill("1.23 A")
    wait_until(page, "location.search.includes('1.23')")
    page.goto(site_address)
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    expect(find_field(block, "current")).to_have_value("1.23 A")
    block.get_by_role("button", name="Reset").click()
    expect(find_field(block, "current")).to_have_value(article)
    wait_until(page, "location.search === ''")
    page.reload()
    expect(find_field(wait_until_live(page), "current")).to_have_value(article)


def test_scripts_off_leaves_a_complete_page(browser: Browser, site_address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    for slug in SLUGS:
        page.goto(f"{site_address}calculators/{slug}/")
        block = find_block(page, slug)
        expect(block.locator(".sl-noscript")).to_be_visible()
        expect(block.locator(".sl-noscript")).to_contain_text(f"compute {slug} --help")
        expect(block.locator(".sl-verdict")).to_be_visible()
        for item in find_calculator(slug).outputs:
            expect(find_output(block, item.name)).not_to_be_empty()
    context.close()


def test_units_are_switched_for_the_whole_handbook(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    expect(find_output(block, "diameter")).to_contain_text("mm")
    block.get_by_role("button", name="Show imperial results").click()
    expect(find_output(block, "diameter")).to_contain_text("in")
    page.goto(f"{site_address}calculators/speaker-load/")
    other = wait_until_live(page, "speaker-load")
    expect(other.get_by_role("button", name="Show metric results")).to_be_visible()


def test_a_remedy_is_put_in_by_its_button(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    find_field(block, "gauge").fill("30 AWG")
    stopped = block.locator(".sl-finding.sl-stop").first
    remedy = stopped.get_by_role("button")
    expect(remedy).to_contain_text("AWG")
    code = stopped.get_attribute("data-code")
    remedy.click()
    expect(find_field(block, "gauge")).not_to_have_value("30 AWG")
    expect(block.locator(f'[data-code="{code}"]')).to_have_count(0)
    wait_until(page, "location.search.includes('gauge')")


def test_the_keypad_can_still_type_units(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    field = find_field(block, "current")
    assert field.get_attribute("inputmode") == "decimal"
    field.fill("750")
    keys = block.locator('[data-field="current"] .sl-keys')
    keys.get_by_role("button", name="mA", exact=True).click()
    expect(field).to_have_value("750 mA")
    expect(field).to_be_focused()
    keys.get_by_role("button", name="abc").click()
    assert field.get_attribute("inputmode") == "text"
    expect(field).to_be_focused()


def test_every_number_field_has_a_keypad_with_its_units(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    for item in find_calculator("wire-gauge").inputs:
        if isinstance(item, QuantityInput) and item.unit:
            key = block.locator(f'[data-field="{item.name}"] [data-unit="{item.unit}"]')
            assert key.count() == 1, item.name


def test_one_worker_serves_a_whole_visit(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    wait_until_live(page)
    wait_for_theme(page)
    page.evaluate("window.sameDocument = true")
    before = [worker for worker in page.workers if worker.url.endswith("/worker.js")]
    assert len(before) == 1
    page.locator('a[href*="speaker-load"]').first.evaluate("link => link.click()")
    wait_until_live(page, "speaker-load")
    assert page.evaluate("window.sameDocument") is True
    assert [worker for worker in page.workers if worker.url.endswith("/worker.js")] == before


def test_a_page_without_calculators_starts_no_worker(page: Page, site_address: str) -> None:
    page.goto(f"{site_address}goose/")
    page.wait_for_load_state("networkidle")
    assert not page.locator(".sl-block").count()
    assert not [worker for worker in page.workers if "/runtime/" in worker.url]


def test_without_the_snapshot_the_base_tier_answers(page: Page, site_without_snapshot: str) -> None:
    warnings: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        if message.type == "warning":
            warnings.append(message.text)

    page.on("console", listen)
    page.goto(site_without_snapshot + WIRE)
    block = wait_until_live(page)
    assert page.evaluate("document.documentElement.dataset.handbookTier") == "base"
    assert any("snapshot" in warning for warning in warnings)
    find_field(block, "current").fill("1 A")
    expect(block.locator(".sl-status")).to_contain_text("Live")


def test_the_snapshot_is_used_where_it_can_be(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    wait_until_live(page)
    assert page.evaluate("document.documentElement.dataset.handbookTier") == "snapshot"


def test_a_refused_interpreter_leaves_the_built_result(page: Page, site_without_interpreter: str) -> None:
    page.goto(site_without_interpreter + WIRE)
    block = find_block(page)
    built = block.locator(".sl-result").inner_html()
    expect(block.locator(".sl-status")).to_contain_text("Live figures could not start", timeout=60_000)
    expect(block.locator(".sl-status")).to_contain_text("the one built into the page")
    assert block.locator(".sl-result").inner_html() == built
    # What is typed all the same is kept for when it works again.
    find_field(block, "current").fill("1.23 A")
    block.get_by_role("button", name="Try again").click()
    expect(block.get_by_role("button", name="Try again")).to_be_visible(timeout=60_000)
    expect(find_field(block, "current")).to_have_value("1.23 A")


def test_the_built_result_is_old_for_other_figures_when_python_cannot_start(
    page: Page, site_without_interpreter: str
) -> None:
    page.goto(site_without_interpreter + WIRE)
    block = find_block(page)
    expect(block.locator(".sl-status")).to_contain_text("Live figures could not start", timeout=60_000)
    expect(block.locator(".sl-status")).not_to_contain_text("..")
    expect(block).not_to_have_class(re.compile("sl-old"))
    find_field(block, "current").fill("20 A")
    expect(block).to_have_class(re.compile("sl-old"))
    block.get_by_role("button", name="Copy as text").click()
    expect(block.get_by_role("button", name="Not live yet")).to_be_visible()
    block.get_by_role("button", name="Reset").click()
    expect(block).not_to_have_class(re.compile("sl-old"))


@pytest.mark.parametrize("slug", SLUGS)
def test_a_bench_card_has_one_result_on_one_page(page: Page, site_address: str, slug: str) -> None:
    page.goto(f"{site_address}calculators/{slug}/")
    block = wait_until_live(page, slug)
    # The dialogue of a real print would wait for somebody.
    page.evaluate("window.print = () => { window.printed = true; }")
    block.get_by_role("button", name="Print a bench card").click()
    wait_until(page, "window.printed")
    page.emulate_media(media="print")
    for part in (".sl-verdict", ".sl-main", ".sl-picture", ".sl-readings li", ".sl-cautions", ".sl-caption"):
        expect(block.locator(part).first).to_be_visible()
    for part in (".sl-working", ".sl-brief", ".sl-tools"):
        expect(block.locator(part).first).to_be_hidden()
    expect(page.locator("h1")).to_be_hidden()
    margin: PdfMargins = {"top": "10mm", "bottom": "10mm", "left": "10mm", "right": "10mm"}
    card = page.pdf(format="A4", margin=margin)
    assert len(re.findall(rb"/Type\s*/Page\b", card)) == 1
    page.emulate_media(media="screen")
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    expect(page.locator("h1")).to_be_visible()


def test_the_answer_stays_in_sight_while_typing_on_a_phone(browser: Browser, site_address: str) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(site_address + WIRE)
    block = wait_until_live(page)
    field = find_field(block, "length")
    field.evaluate("field => field.scrollIntoView({block: 'start'})")
    field.fill("9 m")
    expect(block).not_to_have_attribute("data-old", "")
    brief = block.locator(".sl-brief")
    drop = find_output(block, "drop")
    expect(brief.get_by_role("status")).to_have_text(block.locator(".sl-verdict").inner_text())
    expect(brief).to_contain_text(drop.inner_text())
    # Below the theme's header, and over nothing that is being typed into.
    header = page.locator(".md-header").bounding_box()
    place, typed = brief.bounding_box(), field.bounding_box()
    assert header
    assert place
    assert typed
    assert header["y"] + header["height"] - 1 <= place["y"]
    assert place["y"] + place["height"] <= typed["y"]
    context.close()


def test_trying_again_brings_live_figures(page: Page, site_address: str) -> None:
    # A line that is down for a moment: the file is refused (also to the look into the cache), then served.
    page.context.route("**/pyodide.asm.wasm", lambda route: route.fulfill(status=503), times=2)
    page.goto(site_address + WIRE)
    block = find_block(page)
    block.get_by_role("button", name="Try again").click(timeout=60_000)
    wait_until_live(page)
    expect(block.locator(".sl-status")).to_have_text("Live: change any figure.")
    expect(block).not_to_have_class(re.compile("sl-failed"))


def test_a_worker_that_stays_silent_is_given_up(page: Page, site_address: str) -> None:
    page.clock.install()
    page.route("**/worker.js", lambda route: None)
    page.goto(site_address + WIRE)
    status = find_block(page).locator(".sl-status")
    expect(status).to_contain_text("Live figures in a moment")
    page.clock.fast_forward(61_000)
    expect(status).to_contain_text("nothing was heard from it for a minute")


@pytest.mark.parametrize("name", ["files.js", "worker.js"])
def test_a_worker_that_fails_before_anybody_listens_is_told_at_once(
    page: Page, site_address: str, name: str
) -> None:
    held: list[Route] = []
    page.route(f"**/{name}", lambda route: route.abort())
    page.route("**/assets/live.*.js", lambda route: held.append(route))
    with page.expect_request("**/assets/live.*.js"):
        page.goto(site_address + WIRE, wait_until="commit")
    wait_until(page, "self.handbookWorkers?.some(worker => worker.failure)")
    (live,) = held
    live.continue_()
    status = find_block(page).locator(".sl-status")
    expect(status).to_contain_text(f"{name} could not be loaded", timeout=20_000)


def test_a_browser_without_webassembly_says_so(
    chromium_without_webassembly: Browser, site_address: str
) -> None:
    page = chromium_without_webassembly.new_page()
    page.goto(site_address + WIRE)
    block = find_block(page)
    expect(block.locator(".sl-status")).to_contain_text("WebAssembly", timeout=60_000)
    expect(block.locator(".sl-verdict")).to_be_visible()


def test_the_policy_stops_foreign_and_inline_scripts(page: Page, site_address: str) -> None:
    page.goto(site_address + WIRE)
    ran = page.evaluate(
        """() => {
          const script = document.createElement('script');
          script.textContent = 'window.slippedThrough = true';
          document.body.append(script);
          document.body.insertAdjacentHTML('beforeend', '<img src="x" onerror="slippedThrough = true">');
          return new Promise(settle => setTimeout(() => settle(window.slippedThrough === true), 300));
        }"""
    )
    assert ran is False


def test_no_page_asks_another_origin_or_breaks_the_policy(
    page: Page, site_address: str, site_pages: list[str]
) -> None:
    asked: list[str] = []
    complaints: list[str] = []

    def note_request(request: Request) -> None:
        if not request.url.startswith((site_address, "data:", "blob:")):
            asked.append(request.url)

    page.context.on("request", note_request)
    page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    for name in site_pages:
        page.goto(site_address + name)
        wait_for_theme(page)
    # Once to the end of all there is to fetch: the calculators' Python, its library, the index of the search.
    page.goto(site_address + WIRE)
    wait_until_live(page)
    with page.expect_event("requestfinished", lambda request: "search/index" in request.url):
        page.locator(".sl-find input").focus()
    page.wait_for_load_state("networkidle")
    assert not asked
    assert not complaints


def test_no_page_is_wider_than_a_phone(browser: Browser, site_address: str, site_pages: list[str]) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    wide = []
    for name in site_pages:
        page.goto(site_address + name)
        page.locator("article details").evaluate_all("folds => folds.forEach(fold => { fold.open = true; })")
        # The theme hides what stands out, so a page that cannot be scrolled sideways may still be cut off.
        wide += [f"{name}: {element}" for element in page.evaluate(FIND_CUT_OFF)]
    context.close()
    assert not wide
