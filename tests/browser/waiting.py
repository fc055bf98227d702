"""Waiting for a condition on a page whose policy forbids the evaluation of text."""

from playwright.sync_api import Page

_LOOKS, _BETWEEN = 4000, 15


def wait_until(page: Page, condition: str) -> None:
    """Wait until a JavaScript expression turns true; raises TimeoutError after a minute."""
    again = f"left-- > 0 ? setTimeout(look, {_BETWEEN}) : settle(false)"
    look = f"const look = () => ({condition}) ? settle(true) : {again}"
    if not page.evaluate(f"new Promise(settle => {{ let left = {_LOOKS}; {look}; look(); }})"):
        raise TimeoutError(f"{page.url}: waited in vain for {condition}")
