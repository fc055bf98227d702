"""The installed copy in three real engines, with the host gone: read, search, compute, close, open again."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from build_scripts.engines.engine import NAMES, Engine, start_engine
from tests.browser.host import Host
from tests.browser.installed import write_release

WIRE = "calculators/wire-gauge/"
LINE = "return document.querySelector('.sl-keep')?.textContent;"
SAVED = (
    "return /^Saved for offline: (\\d+) of \\1 files/.test(document.querySelector('.sl-keep')?.textContent);"
)
LIVE = "return document.querySelector('.sl-block')?.dataset.live === 'yes';"
DROP = "return document.querySelector('[data-output=\"drop\"] dd').textContent;"
CURRENT = '[data-field="current"] input'
VALUE = f"return document.querySelector('{CURRENT}').value;"
FOUND = """
const found = document.querySelector('.sl-found a');
return found && found.textContent.includes('antern') ? found.href : '';
"""


@pytest.fixture(params=NAMES)
def engine(request: pytest.FixtureRequest) -> Iterator[Engine]:
    """Each of the three engines, with nothing saved yet."""
    with start_engine(request.param) as engine:
        yield engine


def test_a_copy_saved_once_outlives_host_and_browser(engine: Engine, host: Host) -> None:
    engine.open(host.address)
    engine.wait_until(SAVED, 120)
    host.stop()
    engine.open(host.address + WIRE)  # a page never opened before
    engine.wait_until(LIVE, 60)
    before = engine.evaluate(DROP)
    engine.type_text(CURRENT, "7 A")
    engine.wait_until(DROP.replace(";", f" !== {before!r};"))
    drop = engine.evaluate(DROP)
    engine.wait_until("return typeof document$ === 'object';")
    engine.type_text(".sl-find input", "lantern")
    page = engine.wait_until(FOUND, 30)
    assert page.startswith(host.address)
    engine.reload()
    engine.wait_until(LIVE, 60)
    assert engine.evaluate(VALUE) == "7 A"
    assert engine.evaluate("return document.documentElement.dataset.handbookTier;") == "snapshot"
    engine.restart()
    engine.open(host.address + WIRE)
    engine.wait_until(LIVE, 60)
    assert engine.evaluate(VALUE) == "7 A"
    engine.wait_until(DROP.replace(";", f" === {drop!r};"))
    engine.wait_until(SAVED)
    engine.open(host.address + "goose/")
    assert "goose" in engine.evaluate("return document.querySelector('h1').textContent;")


def test_a_new_release_waits_until_it_is_accepted(engine: Engine, host: Host) -> None:
    engine.open(host.address + "light/string/")
    engine.wait_until(SAVED, 120)
    write_release(host.folder, 2)
    engine.reload()
    engine.wait_until("return document.querySelector('.sl-newer') !== null;", 60)
    assert "Release 2" not in engine.evaluate("return document.querySelector('article').textContent;")
    engine.evaluate("document.querySelector('.sl-newer button').click();")
    engine.wait_until("return document.querySelector('article').textContent.includes('Release 2');", 60)
    host.stop()
    engine.open(host.address + "sound/channel/")
    assert "Release 2" in engine.evaluate("return document.querySelector('article').textContent;")


def test_the_page_is_killed_while_it_computes(engine: Engine, host: Host) -> None:
    engine.open(host.address + WIRE)
    engine.wait_until(SAVED, 120)
    engine.wait_until(LIVE, 60)
    engine.type_text(CURRENT, "3.5 A")
    engine.kill_page()
    host.stop()
    engine.open(host.address + WIRE)
    engine.wait_until(LIVE, 60)
    assert engine.evaluate(VALUE) == "3.5 A"
    engine.wait_until(SAVED)


def test_power_fails_while_it_is_being_saved(engine: Engine, host: Host) -> None:
    write_release(host.folder, 3)
    host.faults["runtime/" + find_runtime(host.folder) + "/snapshot.bin"] = "silent"
    engine.open(host.address + WIRE)
    engine.wait_until("return document.querySelector('.sl-keep progress') !== null;", 60)
    engine.kill()
    host.faults.clear()
    engine.restart()
    engine.open(host.address + WIRE)
    engine.wait_until(SAVED, 120)


def find_runtime(site: Path) -> str:
    """The name of the runtime's release in a built site."""
    (release,) = (site / "runtime").iterdir()
    return release.name
