"""Waiting for a condition on a page whose policy forbids the evaluation of text."""

import time

from playwright.sync_api import Error, Page

_LOOKS, _BETWEEN = 4000, 15


def wait_until(page: Page, condition: str) -> None:
    """Wait until a JavaScript expression turns true; raises TimeoutError after a minute."""
    again = f"left-- > 0 ? setTimeout(look, {_BETWEEN}) : settle(false)"
    look = f"const look = () => ({condition}) ? settle(true) : {again}"
    if not page.evaluate(f"new Promise(settle => {{ let left = {_LOOKS}; {look}; look(); }})"):
        raise TimeoutError(f"{page.url}: waited in vain for {condition}")


def wait_over_reloads(page: Page, condition: str) -> None:
    """Wait until a JavaScript expression turns true on a page that may be loaded anew meanwhile."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            if page.evaluate(f"async () => Boolean(await ({condition}))"):
                return
        except Error as error:
            if "context was destroyed" not in str(error):
                raise
        page.wait_for_timeout(100)
    raise TimeoutError(f"{page.url}: waited in vain for {condition}")
