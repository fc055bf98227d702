"""What goes wrong while a copy is saved and used: nothing is mixed or lost, and the line is true."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from build_scripts.offline.saved_release import WORKER
from tests.browser.host import Host, name_release
from tests.browser.installed import (
    accept_release,
    expect_line,
    expect_saved,
    expect_truth,
    find_numbers,
    list_release,
    list_saved,
    write_release,
)
from tests.browser.test_live import find_field, wait_until_live
from tests.browser.waiting import wait_over_reloads, wait_until

WIRE = "calculators/wire-gauge/"
SPOILT = "light/string/"
ALL_SAVED = r"Saved for offline: (\d+) of \1 files"


@pytest.fixture
def stopping(host: Host, request: pytest.FixtureRequest) -> int:
    """After how many files the host will be gone; the browser's own cache answers for none of them."""
    host.headers = {"Cache-Control": "no-store"}
    host.stop_after_saving = files = int(request.param)
    return files


@pytest.fixture
def typed(reader: BrowserContext, host: Host) -> Page:
    """A page on which a reader has typed a figure, before anything is saved."""
    write_release(host.folder, 1)
    page = reader.new_page()
    page.goto(host.address + WIRE)
    find_field(wait_until_live(page), "current").fill("7 A")
    return page


def ask_for_repair(page: Page, address: str, times: int = 1) -> None:
    """Tell the worker to repair what is saved, so many times at once, and wait until it has."""
    page.evaluate(
        """async ([name, times]) => {
          const repaired = new Promise((resolve) => {
            new BroadcastChannel(name).onmessage = ({data}) => data.repaired && resolve();
          });
          const {active} = await navigator.serviceWorker.getRegistration();
          for (let time = 0; time < times; time++) active.postMessage("repair");
          await repaired;
        }""",
        [f"handbook {address}", times],
    )


def expect_nothing_lost(page: Page, host: Host, releases: set[int]) -> None:
    """What was typed is there again, all that names a release names the same one, and the line is true."""
    page.goto(host.address + WIRE)
    expect(find_field(wait_until_live(page), "current")).to_have_value("7 A")
    seen = find_numbers(page, host.address)
    assert len(seen) == 1
    assert seen <= releases


@pytest.mark.parametrize("stopping", [0, 3, 20, 40, 47], indirect=True)
def test_the_host_is_gone_in_the_middle_of_saving(stopping: int, typed: Page, host: Host) -> None:
    expect_line(typed, "Not saved for offline: .*connection")
    expect_truth(typed, host.folder, host.address)
    expect(find_field(typed.locator(".sl-block").first, "current")).to_have_value("7 A")
    saved = {key.partition("?")[0].removeprefix(host.address) for key in list_saved(typed, host.address)}
    assert len(saved) <= stopping
    host.stop_after_saving = None
    host.forget()
    host.start()
    typed.get_by_role("button", name=re.compile("Go on saving|Save it")).click()
    expect_saved(typed, host.folder, host.address)
    assert saved.isdisjoint(host.saving), "what was saved before is fetched again"
    expect_nothing_lost(typed, host, {1})


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("404", "light/string/ could not be fetched: the server answered 404"),
        ("500", "light/string/ could not be fetched: the server answered 500"),
        ("truncated", r"light/string/ arrived with \d+ bytes in place of \d+"),
        ("broken off", "light/string/ did not arrive whole: the connection was lost"),
        ("altered", "light/string/ arrived altered"),
        ("endless", r"light/string/ is longer than the \d+ bytes it should have"),
        ("silent", "light/string/ did not arrive whole: nothing more arrived within 3 s"),
    ],
)
def test_one_file_does_not_arrive_as_it_should(
    reader: BrowserContext, host: Host, fault: str, words: str
) -> None:
    worker = host.folder / WORKER
    # A test does not wait for half a minute.
    worker.write_text(worker.read_text("utf-8").replace("QUIET = 30_000", "QUIET = 3_000"), "utf-8")
    host.faults[SPOILT] = fault
    page = reader.new_page()
    page.goto(host.address + WIRE)
    find_field(wait_until_live(page), "current").fill("7 A")
    expect_line(page, f"Not saved for offline: {words}")
    expect_truth(page, host.folder, host.address)
    host.faults.clear()
    page.get_by_role("button", name="Go on saving").click()
    expect_saved(page, host.folder, host.address)
    host.stop()
    page.goto(host.address + SPOILT)
    expect(page.locator("h1")).to_contain_text("Forty-eight")
    page.goto(host.address + WIRE)
    expect(find_field(wait_until_live(page), "current")).to_have_value("7 A")


def test_one_file_of_a_new_release_does_not_arrive(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    write_release(host.folder, 2)
    host.faults[SPOILT] = "altered"
    typed.reload()
    expect_line(typed, ALL_SAVED + ".*No newer release could be fetched: light/string/ arrived altered")
    assert typed.locator(".sl-newer").count() == 0
    expect_nothing_lost(typed, host, {1})
    host.faults.clear()
    typed.reload()
    expect(typed.locator(".sl-newer")).to_be_visible(timeout=30_000)
    expect_nothing_lost(typed, host, {1})


def test_there_is_no_room(typed: Page, host: Host) -> None:
    session = typed.context.new_cdp_session(typed)
    origin = host.address.removesuffix("/")
    session.send("Storage.overrideQuotaForOrigin", {"origin": origin, "quotaSize": 4_000_000})
    expect_line(typed, "Not saved for offline: there is no room left for it")
    expect_truth(typed, host.folder, host.address)
    expect_nothing_lost(typed, host, {1})
    session.send("Storage.overrideQuotaForOrigin", {"origin": origin})
    expect_saved(typed, host.folder, host.address)


def delete_saved(page: Page, address: str, part: str) -> None:
    """Remove one file from the browser's cache, as a browser short of room may."""
    page.evaluate(
        """async ([name, part]) => {
          const cache = await caches.open(name);
          for (const key of await cache.keys()) if (key.url.includes(part)) await cache.delete(key);
        }""",
        [f"handbook {address}", part],
    )


def test_a_saved_file_vanishes(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    delete_saved(typed, host.address, SPOILT)
    host.stop()
    typed.goto(host.address + SPOILT)
    expect(typed.locator("body")).to_contain_text("missing from the copy saved on this device")
    typed.goto(host.address + WIRE)
    expect_line(typed, r"Saved for offline: (\d+) of (?!\1)\d+ files")
    expect_truth(typed, host.folder, host.address)
    host.forget()
    host.start()
    typed.reload()
    expect_saved(typed, host.folder, host.address)
    assert host.saving == [SPOILT]
    expect_nothing_lost(typed, host, {1})


def test_a_vanished_file_is_fetched_when_it_is_asked_for(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    delete_saved(typed, host.address, SPOILT)
    typed.goto(host.address + SPOILT)
    expect(typed.locator("h1")).to_contain_text("Forty-eight")
    assert any(SPOILT in key for key in list_saved(typed, host.address))
    # Where the host has another release by now, the page is not mixed into this one.
    delete_saved(typed, host.address, SPOILT)
    write_release(host.folder, 2)
    typed.goto(host.address + SPOILT)
    expect(typed.locator("body")).to_contain_text("missing from the copy saved on this device")


def test_a_hole_is_told_without_a_connection_and_mended_with_one(
    reader: BrowserContext, typed: Page, host: Host
) -> None:
    expect_saved(typed, host.folder, host.address)
    reader.set_offline(True)
    delete_saved(typed, host.address, SPOILT)
    typed.reload()
    expect_line(typed, "Files are missing: there is no connection")
    reader.set_offline(False)
    expect_saved(typed, host.folder, host.address)


def test_all_saved_files_vanish(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    typed.evaluate("async () => { for (const name of await caches.keys()) await caches.delete(name); }")
    typed.reload()
    wait_until_live(typed)
    expect_saved(typed, host.folder, host.address)
    host.stop()
    expect_nothing_lost(typed, host, {1})


def test_ten_releases_in_a_row(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    for number in range(2, 12):
        write_release(host.folder, number)
        typed.goto(host.address + WIRE)
        expect(typed.locator(".sl-newer")).to_be_visible(timeout=30_000)
        # The bar may be that of a release passed over; the newest follows it.
        name = f"{host.address}release/{name_release(host.folder)}"
        there = f"caches.open('handbook lists {host.address}').then(lists => lists.match('{name}'))"
        installed = "navigator.serviceWorker.getRegistration().then(registration => !registration.installing)"
        wait_over_reloads(typed, there)
        wait_over_reloads(typed, installed)
        if number % 3 == 0:
            continue  # passed over: a reader need not take every one
        accept_release(typed)
        expect_saved(typed, host.folder, host.address)
        expect_nothing_lost(typed, host, {number})
    wait_until(typed, "navigator.serviceWorker.controller !== null")
    assert set(list_saved(typed, host.address)) == list_release(host.folder, host.address)
    names = typed.evaluate("async () => (await caches.keys()).sort()")
    assert names == [f"handbook {host.address}", f"handbook lists {host.address}"]


@pytest.mark.parametrize("year", [1995, 2095])
def test_the_clock_is_far_off(reader: BrowserContext, host: Host, year: int) -> None:
    write_release(host.folder, 1)
    wrong = f"""{{
      const Real = Date;
      const off = Real.UTC({year}, 0) - Real.now();
      self.Date = class extends Real {{
        constructor(...parts) {{ parts.length ? super(...parts) : super(Real.now() + off); }}
        static now() {{ return Real.now() + off; }}
      }};
    }}\n"""
    # The reader's clock is wrong in the worker and on the page, and what the host says of time helps nobody.
    worker = host.folder / WORKER
    worker.write_text(wrong + worker.read_text("utf-8"), "utf-8")
    host.headers = {
        "Expires": "Thu, 01 Jan 1970 00:00:00 GMT",
        "Last-Modified": "Thu, 01 Jan 2099 00:00:00 GMT",
    }
    reader.add_init_script(wrong)
    page = reader.new_page()
    page.goto(host.address + WIRE)
    assert page.evaluate("new Date().getFullYear()") in (year - 1, year)
    find_field(wait_until_live(page), "current").fill("7 A")
    expect_saved(page, host.folder, host.address)
    # Nobody looks for a newer one while it is being written.
    page.goto("about:blank")
    write_release(host.folder, 2)
    worker.write_text(wrong + worker.read_text("utf-8"), "utf-8")
    page.goto(host.address + WIRE)
    accept_release(page)
    expect_saved(page, host.folder, host.address)
    host.stop()
    expect_nothing_lost(page, host, {2})


@pytest.mark.parametrize("fault", ["404", "500", "silent"])
def test_the_worker_cannot_be_reached_for_a_month(typed: Page, host: Host, fault: str) -> None:
    expect_saved(typed, host.folder, host.address)
    host.faults[WORKER] = fault
    write_release(host.folder, 2)
    for week in range(1, 5):
        typed.clock.set_fixed_time(datetime.now(UTC) + timedelta(weeks=week))
        expect_nothing_lost(typed, host, {1})
        expect_line(typed, ALL_SAVED)
    host.faults.clear()
    typed.goto(host.address)
    expect(typed.locator(".sl-newer")).to_be_visible(timeout=60_000)


def test_trying_again_fetches_the_newer_release(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    write_release(host.folder, 2)
    host.faults[SPOILT] = "altered"
    typed.reload()
    expect_line(typed, "No newer release could be fetched: light/string/ arrived altered")
    host.faults.clear()
    typed.get_by_role("button", name="Try again").click()
    expect(typed.locator(".sl-newer")).to_be_visible(timeout=30_000)


def test_taking_over_while_a_third_release_is_being_saved(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    write_release(host.folder, 2)
    typed.reload()
    expect(typed.locator(".sl-newer")).to_be_visible(timeout=30_000)
    second = list_release(host.folder, host.address)
    write_release(host.folder, 3)
    host.faults["search/index.json"] = "silent"
    typed.evaluate("navigator.serviceWorker.getRegistration().then((found) => { found.update(); })")
    wait_over_reloads(typed, "navigator.serviceWorker.getRegistration().then((found) => found.installing)")
    # The bar waits for the third; the second takes over all the same when it is told to.
    typed.evaluate("window.before = true")
    # Past the bar, and so with the reminders that a page gives its browser (see offline.js).
    typed.evaluate(
        """async () => {
          (await navigator.serviceWorker.getRegistration()).waiting.postMessage('take over');
          setInterval(() => {
            const {href} = document.querySelector('link[rel=icon]');
            document.body.append(Object.assign(document.createElement('iframe'), {src: href, hidden: true}));
          }, 2000);
        }"""
    )
    wait_over_reloads(typed, "window.before === undefined && document.readyState === 'complete'")
    assert second <= set(list_saved(typed, host.address))
    host.faults.clear()
    typed.wait_for_timeout(500)
    typed.reload()
    expect(typed.locator(".sl-newer")).to_be_visible(timeout=60_000)
    accept_release(typed)
    expect_saved(typed, host.folder, host.address)
    host.stop()
    expect_nothing_lost(typed, host, {3})


def test_a_change_is_not_forgotten_while_files_are_asked_for(typed: Page, host: Host) -> None:
    """Chromium forgets it: it ends the old worker to make room, and a file asked for starts it again."""
    expect_saved(typed, host.folder, host.address)
    write_release(host.folder, 2)
    typed.reload()
    expect(typed.locator(".sl-newer")).to_be_visible(timeout=30_000)
    typed.evaluate(
        """file => {
          const ask = async () => {
            for (const end = performance.now() + 1500; performance.now() < end; ) await fetch(file);
          };
          setTimeout(ask);
        }""",
        f"{host.address}assets/icons/icon-192.png",
    )
    accept_release(typed)
    host.stop()
    expect_nothing_lost(typed, host, {2})


def test_a_page_loaded_past_the_worker_changes_as_well(
    reader: BrowserContext, typed: Page, host: Host
) -> None:
    expect_saved(typed, host.folder, host.address)
    typed.reload()  # this one keeps the old release answering
    write_release(host.folder, 2)
    page = reader.new_page()
    page.goto(host.address + WIRE)
    reader.new_cdp_session(page).send("Page.reload", {"ignoreCache": True})
    wait_over_reloads(page, "navigator.serviceWorker.controller === null")
    accept_release(page)
    assert page.evaluate("navigator.serviceWorker.controller !== null")
    expect_nothing_lost(typed, host, {2})


def test_a_release_with_a_hole_is_not_changed_to(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    write_release(host.folder, 2)
    typed.reload()
    change = typed.get_by_role("button", name="Change to it now")
    expect(change).to_be_visible(timeout=30_000)
    name = f"handbook {host.address}"
    saved = typed.evaluate_handle(
        """async (name) => {
          const cache = await caches.open(name);
          const [, key] = (await cache.keys()).filter(({ url }) => url.includes("light/string/"));
          const saved = [key, await cache.match(key)];
          await cache.delete(key);
          return saved;
        }""",
        name,
    )
    host.stop()
    change.click()
    expect_line(typed, ALL_SAVED + ".*No newer release could be fetched: light/string/ could not be fetched")
    expect(change).to_have_count(0)
    # As soon as it is whole again, it is offered again.
    saved.evaluate("async ([key, saved], name) => (await caches.open(name)).put(key, saved)", name)
    typed.reload()
    accept_release(typed)
    expect_nothing_lost(typed, host, {2})


def test_a_damaged_file_is_repaired(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    typed.evaluate(
        """async (name) => {
          const cache = await caches.open(name);
          const key = (await cache.keys()).find(({url}) => url.includes('light/string/'));
          await cache.put(key, new Response('<h1>damaged</h1>', {headers: {'Content-Type': 'text/html'}}));
        }""",
        f"handbook {host.address}",
    )
    host.forget()
    typed.get_by_role("button", name="Check and repair").click()
    expect(typed.get_by_role("button", name="Checked")).to_be_visible(timeout=30_000)
    expect_saved(typed, host.folder, host.address)
    typed.goto(host.address + SPOILT)
    expect(typed.locator("h1")).to_contain_text("Forty-eight")
    assert host.saving == [SPOILT]


def test_two_repairs_at_once_fetch_once(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    delete_saved(typed, host.address, SPOILT)
    host.forget()
    ask_for_repair(typed, host.address, times=2)
    typed.wait_for_timeout(2000)  # a second one would come a moment later
    assert host.saving == [SPOILT]
    expect_saved(typed, host.folder, host.address)


def test_a_spoilt_copy_in_the_browsers_own_cache_is_passed_by(reader: BrowserContext, host: Host) -> None:
    (style,) = (host.folder / "assets").glob("style.*.css")
    whole = style.read_bytes()
    style.write_bytes(whole + b"/* longer than it should be */")
    host.headers = {"Cache-Control": "max-age=31536000, immutable"}
    page = reader.new_page()
    page.goto(host.address)
    style.write_bytes(whole)
    expect_saved(page, host.folder, host.address)


def test_a_look_for_a_new_release_that_fails_is_told(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    host.stop()
    typed.get_by_role("button", name="Check and repair").click()
    expect_line(typed, ALL_SAVED + ".*No newer release could be fetched")
    # A repair that finds all in order, started by another page, says nothing about newer releases.
    ask_for_repair(typed, host.address)
    typed.wait_for_timeout(1000)  # the line would be drawn anew at once
    expect_line(typed, ALL_SAVED + ".*No newer release could be fetched", timeout=1)


def test_a_snapshot_that_does_not_match(typed: Page, host: Host) -> None:
    expect_saved(typed, host.folder, host.address)
    typed.evaluate(
        """async (name) => {
          const cache = await caches.open(name);
          const key = (await cache.keys()).find(({url}) => url.endsWith('snapshot.bin'));
          const bytes = new Uint8Array(await (await cache.match(key)).arrayBuffer());
          bytes[bytes.length >> 1] ^= 1;
          await cache.put(key, new Response(bytes));
        }""",
        f"handbook {host.address}",
    )
    host.stop()
    expect_nothing_lost(typed, host, {1})
    typed.goto(host.address + WIRE)
    wait_until_live(typed)
    assert typed.evaluate("document.documentElement.dataset.handbookTier") == "base"
