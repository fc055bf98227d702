"""The installed copy in a real Chromium: saving, reading without a host, new releases, hosts of all kinds."""

import json
import re
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, expect

from build_scripts.environment.progress import Progress
from build_scripts.offline.saved_release import write_retired_worker
from build_scripts.site.building import build_site
from build_scripts.site.served import EDITIONS
from tests.browser.host import Host, find_free_port, open_host
from tests.browser.installed import (
    accept_release,
    copy_site,
    expect_line,
    expect_saved,
    expect_truth,
    find_numbers,
    list_release,
    list_saved,
    write_release,
)
from tests.browser.test_live import find_field, find_output, wait_for_theme, wait_until_live
from tests.browser.waiting import wait_over_reloads

ARTICLE = "wiring/servo/"
WIRE = "calculators/wire-gauge/"


def test_a_reader_who_opened_it_once_keeps_all_of_it(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    host.stop()
    page.goto(host.address + WIRE)  # a page never opened before
    block = wait_until_live(page)
    before = find_output(block, "drop").inner_text()
    find_field(block, "current").fill("1 A")
    expect(find_output(block, "drop")).not_to_have_text(before)
    page.locator(".sl-find input").press_sequentially("lantern")
    expect(page.locator(".sl-found a").first).to_contain_text("antern", timeout=20_000)
    page.reload()
    expect(find_field(wait_until_live(page), "current")).to_have_value("1 A")
    expect_line(page, "Saved for offline")
    expect_truth(page, host.folder, host.address)


def test_saved_pages_are_exchanged_in_place(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    page.reload()
    host.stop()
    page.evaluate("window.sameDocument = true")
    wait_for_theme(page)
    page.locator(".sl-contents a", has_text="The goose").first.evaluate("link => link.click()")
    expect(page.locator("h1")).to_contain_text("goose")
    assert page.evaluate("window.sameDocument === true")
    expect_line(page, "Saved for offline")


@pytest.mark.parametrize(
    "typed", ["light/string", "light/string/index.html", "light/string/?b.x=1#top", "light"]
)
def test_addresses_as_readers_type_them(reader: BrowserContext, host: Host, typed: str) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    host.stop()
    page.goto(host.address + typed)
    expect(page.locator("h1")).not_to_have_text("Not saved")
    assert page.evaluate("getComputedStyle(document.querySelector('.md-header')).position") == "sticky"


def test_a_page_that_does_not_exist_is_explained_without_a_host(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    page.goto(host.address + "nothing/")
    assert "404" in page.content()
    host.stop()
    page.goto(host.address + "nothing/")
    expect(page.locator("body")).to_contain_text("not part of the saved handbook")
    page.locator("a").click()
    expect(page.locator("h1")).to_contain_text("Handbook")


def test_a_repeat_visit_asks_for_nothing_but_the_worker(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.goto(host.address + ARTICLE)
    expect_saved(page, host.folder, host.address)
    page.close()
    host.forget()
    page = reader.new_page()
    page.goto(host.address + ARTICLE)
    wait_until_live(page, "wire-gauge")
    page.goto(host.address + WIRE)
    wait_until_live(page)
    expect_line(page, "Saved for offline")
    page.wait_for_timeout(3000)
    assert set(host.requests) <= {"service_worker.js"}


def test_an_update_fetches_what_changed(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    write_release(host.folder, 2)
    host.forget()
    page.reload()
    expect(page.locator(".sl-newer")).to_be_visible(timeout=30_000)
    changed = {"sound/channel/", "light/string/", "search/index.json"}
    assert set(host.saving) == changed
    assert set(host.requests) - changed == {"service_worker.js"}


def test_a_new_release_waits_for_the_reader_in_all_tabs(reader: BrowserContext, host: Host) -> None:
    write_release(host.folder, 1)
    first = reader.new_page()
    first.goto(host.address)
    expect_saved(first, host.folder, host.address)
    first.goto(host.address + WIRE)
    find_field(wait_until_live(first), "current").fill("7 A")
    write_release(host.folder, 2)
    second = reader.new_page()
    second.goto(host.address)
    expect(second.locator(".sl-newer")).to_be_visible(timeout=30_000)
    assert find_numbers(second, host.address) == {1}
    expect(first.locator(".sl-newer")).to_be_visible(timeout=30_000)
    first.evaluate("window.stillOld = true")
    accept_release(second)
    wait_over_reloads(first, "window.stillOld === undefined")
    assert find_numbers(second, host.address) == {2}
    expect(find_field(wait_until_live(first), "current")).to_have_value("7 A")
    expect_saved(first, host.folder, host.address)
    assert set(list_saved(first, host.address)) == list_release(host.folder, host.address)


def test_a_new_release_takes_over_when_all_pages_are_closed(reader: BrowserContext, host: Host) -> None:
    write_release(host.folder, 1)
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    write_release(host.folder, 2)
    page.reload()
    expect(page.locator(".sl-newer")).to_be_visible(timeout=30_000)
    page.get_by_role("button", name="Later").click()
    expect(page.locator(".sl-newer")).to_have_count(0)
    assert find_numbers(page, host.address) == {1}
    page.close()
    page = reader.new_page()
    page.wait_for_timeout(2000)  # the browser changes a moment after the last page is gone
    host.stop()
    assert find_numbers(page, host.address) == {2}


def test_saving_is_offered_first_where_data_is_to_be_saved(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.add_init_script("Object.defineProperty(navigator, 'connection', {value: {saveData: true}})")
    page.goto(host.address)
    summary = json.loads((host.folder / "release.json").read_text("utf-8"))
    expect_line(page, rf"yet \({summary['files']} files, {summary['bytes'] / 1e6:.1f} MB\)")
    page.wait_for_timeout(3000)
    assert not host.saving
    page.get_by_role("button", name="Save it").click()
    expect_saved(page, host.folder, host.address)


def test_the_browser_is_asked_to_keep_it(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.add_init_script("navigator.storage.persist = async () => (window.asked = true)")
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    expect_line(page, "agreed to keep it")
    assert page.evaluate("window.asked")


def test_a_browser_without_service_workers_says_so(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.add_init_script("delete Navigator.prototype.serviceWorker")
    page.goto(host.address)
    expect_line(page, "Not saved for offline: this browser saves no pages; in a private window that is usual")


def test_an_address_that_is_not_secure_says_so(browser: Browser, host: Host) -> None:
    # Not 127.0.0.1, which browsers trust, but a name that leads there.
    context = browser.new_context(proxy={"server": f"http://127.0.0.1:{host.port}"}, service_workers="allow")
    page = context.new_page()
    page.goto("http://handbook.example/")
    expect_line(page, "only from a secure address")
    context.close()


def test_a_worker_that_vanished_comes_back(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    page.evaluate("async () => { await (await navigator.serviceWorker.getRegistration()).unregister() }")
    page.close()
    page = reader.new_page()
    host.forget()
    page.goto(host.address)
    expect_line(page, "Not saved for offline yet")
    expect_saved(page, host.folder, host.address)
    assert not host.saving, "what was saved is fetched again"
    host.stop()
    page.reload()
    expect_line(page, "Saved for offline")


@pytest.mark.parametrize(
    "broken",
    [
        "self.addEventListener('fetch', (event) => event.respondWith(Promise.reject(new Error('broken'))));",
        "self.addEventListener('fetch', (event) => event.respondWith(new Response('broken')));",
        "this is no script",
    ],
)
def test_a_broken_worker_heals_on_the_next_visit(reader: BrowserContext, host: Host, broken: str) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    whole = (host.folder / "service_worker.js").read_text("utf-8")
    skip = "self.addEventListener('install', () => self.skipWaiting());"
    (host.folder / "service_worker.js").write_text(skip + broken, "utf-8")
    page.evaluate("async () => (await navigator.serviceWorker.getRegistration()).update().catch(() => {})")
    page.wait_for_timeout(1000)
    page.close()
    (host.folder / "service_worker.js").write_text(whole, "utf-8")
    for _visit in range(2):
        # The first may still be answered by the broken worker; the browser looks for a better one behind it.
        page = reader.new_page()
        with suppress(Error):
            page.goto(host.address)
        page.wait_for_timeout(2000)
        page.close()
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    host.stop()
    page.goto(host.address + ARTICLE)
    expect(page.locator("h1")).not_to_have_text("Not saved")


def test_the_publisher_can_switch_it_off_for_good(reader: BrowserContext, host: Host) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    write_retired_worker(host.folder)
    page.reload()
    wait_over_reloads(page, "navigator.serviceWorker.controller === null")
    page.goto(host.address)
    state = page.evaluate(
        "async () => [await caches.keys(), (await navigator.serviceWorker.getRegistrations()).length]"
    )
    assert state == [[], 0]


def test_a_handbook_built_with_it_off_saves_nothing(
    reader: BrowserContext, host: Host, small_handbook: Path, tmp_path: Path
) -> None:
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    off = tmp_path / "off"
    build_site(off, Progress(), address=host.address, edition=EDITIONS[False], root=small_handbook)
    host.folder = off
    page.reload()
    wait_over_reloads(page, "navigator.serviceWorker.controller === null")
    page.goto(host.address)
    expect_line(page, "the publisher of this handbook has switched it off")
    page.wait_for_timeout(3000)
    assert page.evaluate("async () => (await navigator.serviceWorker.getRegistrations()).length") == 0
    assert page.evaluate("async () => (await caches.keys()).length") == 0
    assert not (off / "manifest.json").exists()


WRONG_TYPES = {".wasm": "application/octet-stream", ".bin": "application/gzip", ".json": "text/plain"}


def test_a_host_with_wrong_types_no_compression_and_redirects(reader: BrowserContext, host: Host) -> None:
    host.types = WRONG_TYPES
    host.headers = {"Vary": "*", "Cache-Control": "no-store"}
    moved = host.folder / "moved" / "goose"
    moved.mkdir(parents=True)
    (moved / "index.html").write_bytes((host.folder / "goose" / "index.html").read_bytes())
    host.faults = {"goose/": "moved"}
    page = reader.new_page()
    page.goto(host.address)
    expect_saved(page, host.folder, host.address)
    host.stop()
    page.goto(host.address + "goose/")
    expect(page.locator("h1")).to_contain_text("goose")
    page.goto(host.address + WIRE)
    wait_until_live(page)
    assert page.evaluate("document.documentElement.dataset.handbookTier") == "snapshot"


def test_in_a_folder_of_a_host(browser: Browser, installed_site: Path, tmp_path: Path) -> None:
    site = copy_site(installed_site, tmp_path / "site")
    with open_host(site, find_free_port(), "/club/handbook/") as host:
        context = browser.new_context()
        page = context.new_page()
        page.goto(host.address + ARTICLE)
        expect_saved(page, host.folder, host.address)
        assert page.evaluate("async () => (await navigator.serviceWorker.ready).scope") == host.address
        host.stop()
        page.goto(host.address + WIRE)
        wait_until_live(page)
        context.close()


@pytest.mark.parametrize("clean", [False, True])
def test_without_directory_addresses(
    browser: Browser, small_handbook: Path, tmp_path: Path, clean: bool
) -> None:
    port = find_free_port()
    site = tmp_path / "site"
    edition = replace(EDITIONS[True], settings={"use_directory_urls": False})
    address = f"http://127.0.0.1:{port}/"
    build_site(site, Progress(), address=address, edition=edition, root=small_handbook)
    with open_host(site, port) as host:
        context = browser.new_context()
        page = context.new_page()
        page.goto(host.address)
        expect_saved(page, host.folder, host.address)
        host.stop()
        # Some hosts show such pages without their ending.
        page.goto(host.address + ("light/string" if clean else "light/string.html"))
        expect(page.locator("h1")).to_contain_text("Forty-eight")
        page.goto(host.address + "light/index.html")
        expect(page.locator("h1")).to_contain_text("Light")
        context.close()


def test_nothing_is_asked_of_another_origin(reader: BrowserContext, host: Host) -> None:
    asked: list[str] = []
    reader.on("request", lambda request: asked.append(request.url))
    page = reader.new_page()
    page.goto(host.address + ARTICLE)
    expect_saved(page, host.folder, host.address)
    page.reload()
    wait_until_live(page, "wire-gauge")
    assert len(asked) > 40
    assert [url for url in asked if not url.startswith((host.address, "data:", "blob:"))] == []


def test_the_web_manifest_and_its_icons_are_there(page: Page, host: Host) -> None:
    page.goto(host.address + ARTICLE)
    found = page.evaluate(
        """async () => {
          const address = document.querySelector('link[rel=manifest]').href;
          const manifest = await (await fetch(address)).json();
          const icons = manifest.icons.map(async ({src, sizes}) => {
            const image = new Image();
            image.src = new URL(src, address);
            await image.decode();
            return sizes === `${image.width}x${image.height}`;
          });
          return [manifest, await Promise.all(icons), new URL(manifest.start_url, address).href];
        }"""
    )
    manifest, icons, start = found
    assert all(icons)
    assert len(icons) == 3
    assert start == host.address
    assert manifest["display"] == "standalone"
    assert re.fullmatch(r"#[0-9a-f]{6}", manifest["theme_color"])
