"""A result of other figures is marked from the keystroke on, whatever becomes of the worker.

Nothing that is said of it is untrue at any moment."""

import json
import re
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.hostile import FAIL, FIELD, HANG, PAGE, open_lead, read, type_text
from tests.browser.waiting import wait_until

LATEST = 150
"""Milliseconds after a keystroke at which a reader has to see what the page knows at once."""

# What was seen of a block at every change of it and in every frame, from now on.
WATCH = """block => {
  const look = READ;
  self.seen = [];
  const note = () => self.seen.push(look(block));
  const options = {subtree: true, childList: true, characterData: true, attributes: true};
  new MutationObserver(note).observe(block, options);
  const frame = () => { note(); requestAnimationFrame(frame); };
  frame();
}"""


def is_marked(seen: dict[str, Any]) -> bool:
    struck = seen["struck"] == ["line-through", "line-through"]
    return (
        bool(seen["old"]) and struck and all("of other figures" in words.lower() for words in seen["named"])
    )


def is_told(seen: dict[str, Any]) -> bool:
    """What holds at once, before the eye is told: the mark itself, and no word that says otherwise."""
    return bool(seen["old"]) and "Live" not in re.sub(
        "^Live figures (could not start|in a moment)", "", seen["status"]
    )


def wait_until_answered(block: Locator) -> None:
    expect(block).not_to_have_attribute("data-old", "")
    expect(block.locator(".sl-status")).to_contain_text("Live")


def stop_the_clock(page: Page) -> None:
    page.clock.pause_at(datetime.now() + timedelta(seconds=10))


def test_what_never_comes_back_stays_marked_and_nothing_untrue_is_said(page: Page, hostile_site: str) -> None:
    page.clock.install()
    block = open_lead(page, hostile_site)
    expect(block).to_have_attribute("data-complete", "")
    before = read(block)
    assert "Live" in before["status"]
    assert not before["old"]
    assert before["named"] == ["none", "none"]
    assert before["struck"] == ["none", "none"]
    stop_the_clock(page)
    type_text(block, FIELD, HANG)
    typed = type_text(block, "current", "7 A")
    assert is_told(typed)
    assert typed["busy"]
    assert typed["result"] == before["result"]
    page.clock.run_for(LATEST)
    for _ in range(19):
        now = read(block)
        assert is_told(now)
        assert is_marked(now)
        page.clock.run_for(1000)
    page.clock.run_for(3000)
    status = block.locator(".sl-status")
    expect(status).to_contain_text("No live figures any more: an answer took longer than 20 seconds.")
    expect(status).to_contain_text("The result below is the last good one: it belongs to 20 A (")
    expect(status).to_contain_text("not to what the fields say now.")
    expect(status).not_to_contain_text("built into the page")
    end = read(block)
    assert end["old"]
    assert is_marked(end)
    assert not end["busy"]
    assert end["result"] == before["result"]
    # Nothing typed is lost, and it is asked again.
    type_text(block, FIELD, "80 °C")
    page.clock.resume()
    block.get_by_role("button", name="Try again").click()
    wait_until_answered(block)
    expect(block.locator('[data-field="current"] input')).to_have_value("7 A")
    assert read(block)["result"] != before["result"]


def test_the_figures_of_the_result_typed_again_take_the_mark_away(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    own = block.locator(f'[data-field="{FIELD}"] input').input_value()
    assert type_text(block, FIELD, HANG)["old"]
    assert not type_text(block, FIELD, own)["old"]


def test_at_no_moment_of_typing_stands_live_over_another_result(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    block.evaluate(
        WATCH.replace(
            "READ",
            "block => ({status: block.querySelector('.sl-status').textContent, "
            "old: block.hasAttribute('data-old'), "
            "drop: block.querySelector('[data-output=\"drop\"] dd').textContent, "
            "current: block.querySelector('[data-field=\"current\"] input').value})",
        )
    )
    # Each asks for another result than any before: 21 is 21 A.
    for text in ("2", "21", "21 m", "22 A", "3", "", "7", "7 m", "8", "9 A"):
        assert is_told(type_text(block, "current", text))
        page.wait_for_timeout(25)
    wait_until_answered(block)
    seen = page.evaluate("self.seen")
    assert len(seen) > 20
    drops: dict[str, set[str]] = {}
    for each in seen:
        if not each["old"]:
            drops.setdefault(each["current"].removesuffix("A").strip(), set()).add(each["drop"])
        else:
            assert "Live" not in each["status"]
    # An unmarked result is always that of its figures.
    assert len(drops) >= 2
    assert all(len(shown) == 1 for shown in drops.values())
    assert len({min(shown) for shown in drops.values()}) == len(drops)


@pytest.mark.parametrize("width", [360, 1280])
def test_the_mark_moves_nothing(browser: Browser, hostile_site: str, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 740})
    page = context.new_page()
    block = open_lead(page, hostile_site)
    expect(block).to_have_attribute("data-complete", "")
    type_text(block, "current", "21 A")
    wait_until_answered(block)
    before = read(block)
    type_text(block, FIELD, HANG)
    page.wait_for_timeout(LATEST)
    after = read(block)
    assert is_marked(after)
    assert (after["top"], after["height"]) == (before["top"], before["height"])
    context.close()


def test_a_fault_leaves_the_mark_and_says_what_is_shown(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    assert is_told(type_text(block, FIELD, FAIL))
    status = block.locator(".sl-status")
    expect(status).to_contain_text("could not be computed (a fault in the calculator)")
    expect(status).to_contain_text("it belongs to 80 °C (")
    page.wait_for_timeout(LATEST)
    assert is_marked(read(block))
    type_text(block, FIELD, "80 °C")
    wait_until_answered(block)


def test_a_refused_figure_leaves_the_mark(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    assert is_told(type_text(block, "current", "3 m"))
    expect(block.locator(".sl-status")).to_contain_text("Not computed: mend the marked field.")
    expect(block.locator(".sl-status")).to_contain_text("it belongs to 20 A (")
    page.wait_for_timeout(LATEST)
    assert is_marked(read(block))


@pytest.mark.parametrize("way", ["link", "storage"])
def test_figures_that_wait_for_python_are_not_those_of_the_built_result(
    page: Page, hostile_site: str, way: str
) -> None:
    page.context.route("**/worker.js", lambda route: None)
    anchor = "c-the-lead"
    if way == "link":
        page.goto(f"{hostile_site}{PAGE}?{urlencode({f'{anchor}.current': '7 A'})}")
    else:
        page.goto(hostile_site)
        kept = json.dumps({"current": "7 A"})
        page.evaluate(
            "([key, value]) => localStorage.setItem(key, value)", [f"handbook:figures:/{PAGE}#{anchor}", kept]
        )
        page.goto(hostile_site + PAGE)
    block = page.locator("section.sl-block")
    expect(block.locator('[data-field="current"] input')).to_have_value("7 A")
    expect(block).to_have_class(re.compile("sl-old"))
    expect(block.locator(".sl-status")).to_contain_text("Live figures in a moment")
    page.wait_for_timeout(LATEST)
    assert is_marked(read(block))


def test_a_worker_that_fails_at_the_start_leaves_what_belongs_to_the_article(
    page: Page, hostile_site: str
) -> None:
    page.context.route("**/worker.js", lambda route: route.abort())
    page.goto(hostile_site + PAGE)
    block = page.locator("section.sl-block")
    status = block.locator(".sl-status")
    expect(status).to_contain_text("Live figures could not start", timeout=60_000)
    expect(status).to_contain_text("is the one built into the page and belongs to what the fields say")
    assert not read(block)["old"]
    typed = type_text(block, "current", "7 A")
    assert is_told(typed)
    assert "the one built into the page: it belongs to 20 A (" in typed["status"]
    assert not typed["busy"]
    for name, text in (("length", "9 m"), ("allowed_drop", "9 %")):
        several = type_text(block, name, text)["status"]
    assert re.search(r"belongs to 20 A \(.*\) and 1\.5 m \(.*\) and 3 % \(.*\), not to what", several)
    several = type_text(block, FIELD, "")["status"]
    assert re.search(r"belongs to 20 A \(.*\) and 1\.5 m \(.*\) and others, not to what", several)
    block.get_by_role("button", name="Reset").click()
    assert not read(block)["old"]


def test_another_system_of_units_marks_until_it_is_answered(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    type_text(block, FIELD, HANG)
    own = type_text(block, FIELD, "80 °C")
    assert not own["old"]
    block.get_by_role("button", name="Show imperial results").click()
    assert is_told(read(block))
    block.get_by_role("button", name="Show metric results").click()
    assert not read(block)["old"]


def test_units_chosen_in_another_tab_mark_as_well(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    type_text(block, FIELD, HANG)
    type_text(block, FIELD, "80 °C")
    other = page.context.new_page()
    other.goto(hostile_site)
    other.evaluate("localStorage.setItem('handbook:units', JSON.stringify('imperial'))")
    expect(block).to_have_class(re.compile("sl-old"))
    assert is_told(read(block))


def test_reset_is_a_keystroke_like_any_other(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    type_text(block, "current", "7 A")
    wait_until_answered(block)
    type_text(block, FIELD, HANG)
    pressed = "block => { block.querySelector('[type=reset]').click(); return block.matches('[data-old]'); }"
    assert block.evaluate(pressed)
    assert is_told(read(block))
    expect(block.locator('[data-field="current"] input')).to_have_value("20 A")
    expect(block.locator(f'[data-field="{FIELD}"] input')).to_have_value("80 °C")


def test_fields_that_the_browser_fills_again_are_compared(page: Page, hostile_site: str) -> None:
    # As a browser does that restores a page: before any script of it looks, without a word to it.
    page.add_init_script("""
      addEventListener('readystatechange', () => {
        const field = document.querySelector('[data-field="current"] input');
        if (field && document.readyState === 'interactive') field.value = '7 A';
      }, true);
    """)
    page.context.route("**/worker.js", lambda route: None)
    page.goto(hostile_site + PAGE)
    block = page.locator("section.sl-block")
    expect(block).to_have_attribute("data-mounted", "yes")
    assert is_told(read(block))
    # And later, when it comes back from the browser's memory.
    field = block.locator('[data-field="current"] input')
    field.evaluate("(field) => { field.value = '20 A'; dispatchEvent(new PageTransitionEvent('pageshow')); }")
    assert not read(block)["old"]
    field.evaluate("(field) => { field.value = '8 A'; dispatchEvent(new PageTransitionEvent('pageshow')); }")
    assert is_told(read(block))


def test_a_bench_card_holds_the_result_of_its_figures_or_says_so(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    page.evaluate("() => { window.print = () => { window.printed = (window.printed ?? 0) + 1; }; }")
    type_text(block, FIELD, FAIL)
    expect(block.locator(".sl-status")).to_contain_text("a fault in the calculator")
    block.get_by_role("button", name="Print a bench card").click()
    expect(block.get_by_role("button", name="Not computed")).to_be_visible()
    assert page.evaluate("window.printed") is None
    assert not page.evaluate("document.documentElement.classList.contains('sl-one')")
    # The browser's own way to print shows what the page shows.
    page.emulate_media(media="print")
    expect(block.locator(".sl-status")).to_be_visible()
    expect(block.locator(".sl-status")).to_contain_text("not to what the fields say now")
    assert is_marked(read(block))
    page.emulate_media(media="screen")
    type_text(block, FIELD, "80 °C")
    wait_until_answered(block)
    block.get_by_role("button", name=re.compile("Print|Not computed")).click()
    wait_until(page, "window.printed === 1")
    page.emulate_media(media="print")
    expect(block.locator(".sl-status")).to_be_hidden()


def test_a_question_under_way_does_not_hold_back_another_blocks_limit(page: Page, hostile_site: str) -> None:
    # Copying asks as well: asked again and again, it must not put off the end of a worker that hangs.
    page.clock.install()
    block = open_lead(page, hostile_site)
    expect(block).to_have_attribute("data-complete", "")
    stop_the_clock(page)
    type_text(block, FIELD, HANG)
    for _ in range(3):
        page.clock.run_for(8000)
        if "any more" in read(block)["status"]:
            break
        block.get_by_role("button", name=re.compile("Copy as text|Not")).click()
    expect(block.locator(".sl-status")).to_contain_text("No live figures any more")
