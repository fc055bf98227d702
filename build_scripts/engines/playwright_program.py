"""Drives Chromium, or the WebKit that Playwright brings, for engine.py: lines of JSON in, lines of JSON out.

python playwright_program.py chromium|webkit EXECUTABLE PROFILE LIMIT
"""

import json
import sys
import time
from collections.abc import Callable

from playwright.sync_api import BrowserContext, Error, Frame, Page, TimeoutError, sync_playwright

ARGUMENTS = {
    "chromium": [
        "--no-sandbox",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
    ],
    "webkit": [],
}
ERROR_PAGE_LIMIT = 5.0
PAUSE = 10
"""Milliseconds between two looks for the error page."""


def main(name: str, executable: str, profile: str, limit: float) -> None:
    """Start the browser and do what is asked until the input ends."""
    with sync_playwright() as playwright:
        context = getattr(playwright, name).launch_persistent_context(
            profile, executable_path=executable, args=ARGUMENTS[name]
        )
        context.set_default_timeout(limit * 1000)
        window = Window(context)
        say({"number": 0})
        for line in sys.stdin:
            asked = json.loads(line)
            say({"number": asked["number"], **window.run_task(asked)})
        context.close()


def say(answer: dict[str, object]) -> None:
    """Write one line of JSON."""
    print(json.dumps(answer), flush=True)


class Window:
    """The page that is asked; where its process has ended, another one is opened."""

    def __init__(self, context: BrowserContext) -> None:
        self.context = context
        self.crashed = False
        self.page = context.pages[0] if context.pages else context.new_page()
        self.page.on("crash", self.note_crash)

    def note_crash(self, _page: Page) -> None:
        """A page is no more."""
        self.crashed = True

    def replace_crashed(self) -> None:
        """Open another page: Playwright can do nothing with one that has crashed."""
        if self.crashed:
            dead, self.page, self.crashed = self.page, self.context.new_page(), False
            self.page.on("crash", self.note_crash)
            dead.close()

    def try_task(self, asked: dict[str, str]) -> dict[str, object]:
        """Do one task; what is to be opened is opened in another page where this one has crashed."""
        if asked["task"] != "open":
            return run_task(self.page, asked)
        self.replace_crashed()
        try:
            return run_task(self.page, asked)
        except Error as error:
            # Playwright may hear of a crash only when the page is asked for something.
            if "crashed" not in error.message:
                raise
            self.crashed = True
            self.replace_crashed()
            return run_task(self.page, asked)

    def run_task(self, asked: dict[str, str]) -> dict[str, object]:
        """Do one task; the answer holds its value, or its failure and whether the browser is gone."""
        try:
            return self.try_task(asked)
        except Error as error:
            # Its first line is what happened, the others are where in Playwright.
            words = error.message.partition("\n")[0]
            return {"failure": words, "gone": isinstance(error, TimeoutError) or self.page.is_closed()}


def run_task(page: Page, asked: dict[str, str]) -> dict[str, object]:
    """Do one task in a page; the answer holds its value or its failure."""
    if asked["task"] == "evaluate":
        return {"value": page.evaluate(f"async () => {{\n{asked['script']}\n}}")}
    if asked["task"] == "type":
        return type_text(page, asked["selector"], asked["text"])
    load(page, page.reload if asked["task"] == "reload" else lambda: page.goto(asked["address"]))
    return {}


def type_text(page: Page, selector: str, text: str) -> dict[str, object]:
    """Type over what is in a field."""
    field = page.query_selector(selector)
    if field is None:
        return {"failure": f"there is no {selector}", "gone": False}
    field.focus()
    page.keyboard.press("ControlOrMeta+A")
    if text:
        page.keyboard.type(text)
    else:
        page.keyboard.press("Delete")
    return {}


def load(page: Page, begin: Callable[[], object]) -> None:
    """Begin to load and wait until that has ended, with the browser's own error page if it failed."""
    shown = []

    def note(frame: Frame) -> None:
        if frame == page.main_frame:
            shown.append(frame.url)

    page.on("framenavigated", note)
    try:
        begin()
    except TimeoutError:
        # It would end at some later time and break into what is asked next.
        page.goto("about:blank")
        raise
    except Error as error:
        if page.is_closed() or "crashed" in error.message:
            raise
        # Chromium tells of the failure first and shows its page then.
        end = time.monotonic() + ERROR_PAGE_LIMIT
        while "net::ERR_" in error.message and not shown and time.monotonic() < end:
            page.wait_for_timeout(PAUSE)
        page.wait_for_load_state()
    finally:
        page.remove_listener("framenavigated", note)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], sys.argv[3], float(sys.argv[4]))
