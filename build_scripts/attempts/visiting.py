"""Opens what was built in a real browser and looks whether anything ran, left, or covers the page."""

import json
import time
from typing import Any
from urllib.parse import quote

from build_scripts.attempts.corpus import Attempt
from build_scripts.attempts.handbooks import BLOCK
from build_scripts.attempts.trap import Trap
from build_scripts.attempts.window import ENDED, FIELD, MARKUP, PROBE
from build_scripts.engines.engine import Engine, EngineError

_MOMENT = 0.1
"""Seconds that a page is given for what it may do by itself once all of it is there."""

_LONGEST = 90.0
"""Seconds that a page is given to settle: it waits 30 s for a host that falls silent, and then goes on."""

_INPUT = f'[data-field="{FIELD}"] input'

# A calculator on the page has answered, refused a figure, or failed for good.
_SETTLED = """
const block = document.querySelector('section[data-calculator]');
const refused = block?.querySelector('.sl-error:not([hidden])');
const settled = !block || block.dataset.live || block.matches('.sl-failed') || refused;
return document.readyState === 'complete' && Boolean(settled);
"""
_STATUS = "return document.querySelector('section[data-calculator] .sl-status')?.textContent;"
_ANSWERED = """
const block = document.querySelector('section[data-calculator]');
const words = block.querySelector('.sl-status').textContent;
const refused = block.querySelector('.sl-error:not([hidden])')?.textContent ?? '';
const ended = Boolean(block.querySelector('.sl-status button'));
return !words.startsWith('Computing') && { words, refused, ended };
"""
_LOOK = """
const article = document.querySelector('article') ?? document.body;
for (const fold of article.querySelectorAll('details')) fold.open = true;
const block = document.querySelector('section[data-calculator]');
const own = (part) => part.closest('section[data-calculator]') || part.matches('.md-content__button');
return {
  ran: self.ran ?? null,
  address: location.href,
  dead: Boolean(block && !block.dataset.live && !block.querySelector('.sl-error:not([hidden])')),
  covering: [...article.querySelectorAll('*')]
    .filter((part) => !own(part) && ['fixed', 'sticky'].includes(getComputedStyle(part).position))
    .map((part) => part.outerHTML.slice(0, 80)),
  leading: [...document.querySelectorAll('[href]')]
    .map((part) => part.href.animVal ?? part.href)
    .filter((address) => URL.canParse(address) && !/^(https?|mailto|tel|file):/.test(address)),
};
"""
# Elements with their attributes, classes and addresses: what a result is made of, whatever its figures are.
_PARTS = """
const parts = new Set();
for (const part of document.querySelectorAll('section[data-calculator] .sl-result *')) {
  parts.add(part.localName);
  for (const { name, value } of part.attributes) {
    parts.add(`${part.localName} ${name}`);
    if (name === 'class') for (const word of value.split(' ')) parts.add(`.${word}`);
    if (/^(?:xlink:)?(?:href|src|style)$/.test(name)) parts.add(`${name}=${value}`);
  }
}
return [...parts];
"""


class Visitor:
    """One browser on one built handbook, at the address `base` of its folder."""

    def __init__(self, engine: Engine, base: str, trap: Trap) -> None:
        self.engine = engine
        self.base = base
        self.trap = trap
        self.parts: set[str] = set()
        self.alive = False
        """Whether the first page stands there with a calculator that answers."""

    def find_page(self, name: str = "") -> str:
        """Return the address of a page by its name without ending; "" is the first one."""
        if self.base.startswith("file:"):
            return f"{self.base}{name or 'index'}.html"
        return f"{self.base}{name}/" if name else self.base

    def visit(self, address: str) -> list[str]:
        """Open an address; returns what should not have happened."""
        knocks = self.trap.knocks
        self.alive = False
        self.engine.open(address)
        try:
            self.engine.wait_until(_SETTLED, _LONGEST)
        except EngineError:
            return [*self.look(address, knocks), f"the page stays at “{self.engine.evaluate(_STATUS)}”"]
        time.sleep(_MOMENT)
        return self.look(address, knocks)

    def look(self, address: str, knocks: int) -> list[str]:
        """Look at the page at `address` as it is; returns what should not have happened since `knocks`."""
        seen = self.engine.evaluate(_LOOK)
        wrong = []
        if seen["ran"] is not None:
            wrong.append("something ran")
        if _cut(seen["address"]) != _cut(address):
            wrong.append(f"the page has gone to {seen['address']}")
        if seen["dead"]:
            wrong.append("the calculator on the page does not work")
        if seen["covering"]:
            wrong.append(f"something covers the page: {seen['covering'][0]}")
        if seen["leading"]:
            wrong.append(f"something leads to {seen['leading'][0]}")
        if self.trap.knocks != knocks:
            wrong.append("another host was asked")
        return wrong

    def try_article(self, attempt: Attempt) -> list[str]:
        """Open the page of an article."""
        return self.visit(self.find_page(f"attempt-{attempt.line}"))

    def try_link(self, attempt: Attempt) -> list[str]:
        """Open the first page with this behind its address, as one who comes from elsewhere."""
        self.engine.open("about:blank")
        return self.visit(self.find_page() + quote(self.trap.arm(attempt.text), safe="?#&=%:~/"))

    def try_stored(self, attempt: Attempt) -> list[str]:
        """Open the first page with this kept on the device; PATH and BLOCK stand for its own in the name."""
        address = self.find_page()
        if not self.engine.evaluate("return location.href").startswith(self.base):
            self.engine.open(address)
        name, value, block = map(json.dumps, (attempt.text, self.trap.arm(attempt.value), BLOCK))
        self.engine.evaluate(
            f"const name = {name}.replace('PATH', location.pathname).replace('BLOCK', {block});"
            f"localStorage.setItem(name, {value});"
        )
        try:
            return self.visit(address)
        finally:
            self.engine.evaluate("localStorage.clear();")

    def try_answer(self, number: int) -> list[str]:
        """Have the worker answer with the markup of this number; nothing of it may reach the page."""
        self.revive()
        if not self.parts:
            self.parts = set(self.engine.evaluate(_PARTS))
        knocks = self.trap.knocks
        self.ask(f"{MARKUP} {number}")
        time.sleep(_MOMENT)
        strange = set(self.engine.evaluate(_PARTS)) - self.parts
        wrong = self.look(self.find_page(), knocks)
        wrong += [f"the page took in {part}" for part in sorted(strange)]
        self.alive = self.alive and not wrong
        return wrong

    def try_worker(self, number: int) -> list[str]:
        """Run the Python of this number in the worker; it may find nothing."""
        self.revive()
        knocks = self.trap.knocks
        refused = self.ask(f"{PROBE} {number}")["refused"]
        wrong = self.look(self.find_page(), knocks)
        if refused and not refused.startswith(ENDED):
            wrong.append(f"Python found {refused}")
        self.alive = self.alive and not wrong
        return wrong

    def revive(self) -> None:
        """See to it that the first page is open with a calculator that answers; Python may be ended."""
        if self.alive:
            return
        self.engine.open("about:blank")
        self.engine.open(self.find_page())
        self.engine.wait_until(_SETTLED, _LONGEST)
        self.alive = True

    def ask(self, text: str) -> dict[str, Any]:
        """Type a text into the first figure; returns what the page then says."""
        self.engine.type_text(_INPUT, text)
        told: dict[str, Any] = self.engine.wait_until(_ANSWERED)
        self.alive = not told["ended"]
        # The next visit is to begin with the article's figures.
        self.engine.evaluate("localStorage.clear();")
        return told


def _cut(address: str) -> str:
    return address.partition("#")[0].partition("?")[0]
