"""What a reader waits for, measured in a real Chromium: the first live result, and every keystroke."""

import statistics
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from playwright.sync_api import Browser, Page, sync_playwright

from build_scripts.measure.slow_processor import slow_processes

CHROMIUM_ARGUMENTS = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
_WAIT = 120_000

# Waits for the next result of the block, then forces style and layout, so that what is left is paint.
_WATCH = """block => {
  const result = block.querySelector('.sl-result');
  window.handbookTimes = [];
  let typed = 0;
  block.addEventListener('input', event => { typed = event.timeStamp; }, true);
  new MutationObserver(() => {
    if (!typed) return;
    void result.getBoundingClientRect().height;
    window.handbookTimes.push(performance.now() - typed);
    typed = 0;
  }).observe(result, {childList: true});
}"""

_WATCH_LONG_FRAMES = """() => {
  window.handbookLong = [];
  new PerformanceObserver(list => {
    for (const frame of list.getEntries())
      for (const script of frame.scripts)
        if (script.sourceURL.includes('/assets/live.')) window.handbookLong.push(script.duration);
  }).observe({type: 'long-animation-frame', buffered: true});
}"""


@dataclass(frozen=True, slots=True)
class Visit:
    """One page to open: `done` is JavaScript that turns true at the end, `time` gives the ms it took."""

    name: str
    address: str
    done: str
    time: str


@contextmanager
def open_browser(executable: str) -> Iterator[Browser]:
    """Give a headless Chromium for the length of the block."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=executable, args=list(CHROMIUM_ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


def measure_visits(browser: Browser, visits: Sequence[Visit], rounds: int, slow: float) -> dict[str, float]:
    """Return the median time in ms of each visit, the visits taken in turn; caches are filled first."""
    page = browser.new_page()
    for visit in visits:
        for _ in range(3):  # the browser keeps compiled code only for what it has seen more than once
            _open(page, visit)
    times: dict[str, list[float]] = {visit.name: [] for visit in visits}
    with slow_processes(_list_processes(browser), slow):
        for _ in range(rounds):
            for visit in visits:
                times[visit.name].append(_open(page, visit))
    page.close()
    return {name: statistics.median(found) for name, found in times.items()}


def measure_keystrokes(
    browser: Browser, address: str, calculator: str, rounds: int, slow: float, told: Callable[[str], None]
) -> tuple[float, float]:
    """Return median and 95th percentile, in ms, from a keystroke to the new result laid out on the page.

    Every field of the calculator that takes digits is typed into, digit by digit.
    """
    page = browser.new_page()
    page.goto(address)
    block = page.locator(f'.sl-block[data-calculator="{calculator}"]').first
    wait_until(page, "document.querySelector('.sl-block').dataset.live")
    block.evaluate(_WATCH)
    for fold in block.locator("form details").all():
        fold.evaluate("fold => { fold.open = true; }")
    fields = [field for field in block.locator("form input").all() if field.input_value()[:1].isdigit()]
    with slow_processes(_list_processes(browser), slow):
        for _ in range(rounds):
            for field in fields:
                _type_into(page, field.element_handle(), field.input_value())
    times: list[float] = page.evaluate("window.handbookTimes")
    page.close()
    if len(times) < len(fields):
        raise RuntimeError(f"{calculator}: only {len(times)} of the keystrokes gave a result")
    told(f"{calculator}: {len(times)} keystrokes")
    return statistics.median(times), statistics.quantiles(times, n=20)[-1]


def measure_long_tasks(browser: Browser, address: str) -> float:
    """Return the longest stretch, in ms, of the page's own script in any frame of over 50 ms; 0 is none."""
    page = browser.new_page()
    page.add_init_script(f"({_WATCH_LONG_FRAMES})()")
    page.goto(address)
    wait_until(page, "document.querySelector('.sl-block').dataset.live")
    field = page.locator(".sl-block form input").first
    field.press("End")
    for _ in range(10):
        field.press("0")
        field.press("Backspace")
    page.wait_for_timeout(300)
    longest: float = page.evaluate("Math.max(0, ...window.handbookLong)")
    page.close()
    return longest


def wait_until(page: Page, condition: str) -> None:
    """Wait until a JavaScript expression turns true, also where the page's policy forbids evaluation.

    Raises TimeoutError after two minutes.
    """
    look = (
        f"const look = () => ({condition}) ? settle(true) : left-- > 0 ? setTimeout(look, 15) : settle(false)"
    )
    if not page.evaluate(f"new Promise(settle => {{ let left = {_WAIT // 15}; {look}; look(); }})"):
        raise TimeoutError(f"{page.url}: waited in vain for {condition}")


def _type_into(page: Page, field: object, text: str) -> None:
    # One more digit behind the number and gone again: two keystrokes, two results, the old text back.
    number = len(text) - len(text.lstrip("0123456789.,"))
    page.evaluate(
        "([field, place]) => { field.focus(); field.setSelectionRange(place, place); }", [field, number]
    )
    for key in ("5", "Backspace"):
        seen: int = page.evaluate("window.handbookTimes.length")
        page.keyboard.press(key)
        # A figure over its limit gives a message and no result; that keystroke is not counted.
        wait_until(page, f"window.handbookTimes.length > {seen} || document.querySelector('.sl-old')")
        page.wait_for_timeout(20)


def _open(page: Page, visit: Visit) -> float:
    page.goto(visit.address)
    wait_until(page, visit.done)
    found: float = page.evaluate(visit.time)
    return found


def _list_processes(browser: Browser) -> list[int]:
    session = browser.new_browser_cdp_session()
    listed: Mapping[str, list[Mapping[str, int]]] = session.send("SystemInfo.getProcessInfo")
    session.detach()
    return [process["id"] for process in listed["processInfo"]]
