"""Takes the README's picture, a phone and a desk in front of the real pages, and draws the engine's icons.

python3 build_scripts/handbook.py picture
"""

import os
import sys
import tempfile
import threading
from base64 import b64encode
from pathlib import Path

from playwright.sync_api import Browser, expect, sync_playwright

from build_scripts.checkout import ROOT
from build_scripts.club import COLOUR, find_address
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.generator import read_settings
from build_scripts.preview import open_server
from build_scripts.release.icons import SIDES
from build_scripts.site.building import build_site
from build_scripts.site.served import EDITIONS

PICTURE = Path(__file__).with_name("handbook.png")
PHONE, DESK = (360, 740), (1180, 740)
ICONS = ROOT / "build_scripts" / "theme" / "assets" / "icons"
_BESIDE = """<!doctype html><style>
body { margin: 0; padding: 24px; display: flex; gap: 24px; background: #8a8178; }
img { border-radius: 14px; box-shadow: 0 4px 18px #0008; height: 740px; }
</style>"""


def main() -> int:
    """Build the site, take both pictures, put them side by side; returns the exit code."""
    with tempfile.TemporaryDirectory(prefix="handbook-picture-") as folder:
        site = Path(folder) / "site"
        try:
            page = find_address(read_settings(ROOT).pictured)
            build_site(site, Progress(), edition=EDITIONS[False])
        except BuildError as error:
            print(error, file=sys.stderr)
            return 1
        server = open_server(site, 0)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        address = f"http://127.0.0.1:{server.server_port}/{page}"
        with sync_playwright() as playwright:
            chromium = playwright.chromium.launch(
                executable_path=os.environ["HANDBOOK_CHROMIUM"], args=["--no-sandbox"]
            )
            # The phone shows a result, the desk the page from its head on.
            shown = [_take(chromium, address, PHONE, ".sl-verdict"), _take(chromium, address, DESK, "h1")]
            images = "".join(
                f'<img src="data:image/png;base64,{b64encode(data).decode()}">' for data in shown
            )
            beside = chromium.new_page(viewport={"width": PHONE[0] + DESK[0] + 72, "height": 788})
            beside.set_content(_BESIDE + images)
            beside.screenshot(path=PICTURE)
            _draw_icons(chromium)
            chromium.close()
        server.shutdown()
    print(f"Taken: {os.path.relpath(PICTURE)} and the icons in {os.path.relpath(ICONS)}")
    return 0


def _draw_icons(chromium: Browser) -> None:
    drawing = (ICONS / "icon.svg").read_text("utf-8")
    for name, (side, share) in SIDES.items():
        page = chromium.new_page(viewport={"width": side, "height": side})
        page.set_content(
            f"<style>body {{ margin: 0; background: {COLOUR} }} svg {{ display: block; width: {side}px; "
            f"transform: scale({share}) }}</style>{drawing}"
        )
        page.screenshot(path=ICONS / f"{name}.png")
        page.close()


def _take(chromium: Browser, address: str, size: tuple[int, int], first: str) -> bytes:
    page = chromium.new_page(viewport={"width": size[0], "height": size[1]}, color_scheme="light")
    page.goto(address)
    expect(page.locator(".sl-block").first).to_have_attribute("data-live", "yes", timeout=60_000)
    page.locator(first).first.evaluate(
        "element => scrollTo(0, element.getBoundingClientRect().top + scrollY - 90)"
    )
    page.wait_for_timeout(500)
    taken = page.screenshot()
    page.close()
    return taken


if __name__ == "__main__":
    sys.exit(main())
