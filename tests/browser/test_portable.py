"""The portable edition in three real engines, opened from a folder: no server, the same results."""

import json
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest
from playwright.sync_api import ConsoleMessage, Page, Request, expect

from build_scripts.engines.engine import Engine
from build_scripts.environment.progress import Progress
from build_scripts.portable.pack import Packed, pack_handbook
from calculators.answers import answer
from tests.browser.waiting import wait_until
from tests.conftest import ROOT
from tests.small_handbook import SOURCE, write_handbook

WIRE = "calculators/wire-gauge.html"
STARTED = "return Boolean(document.querySelector('.sl-block[data-live], .sl-failed'));"
TOLD = "return document.querySelector('.sl-status').textContent;"
TIER = "return document.documentElement.dataset.handbookTier ?? null;"
SEARCH = ".sl-find input"

# Stands before every other script of a page: notes what the console is told, what throws, what is refused.
OBSERVE = """{
  const seen = (self.seen = []);
  const told = console.error;
  console.error = (...words) => (seen.push(words.join(" ")), told(...words));
  addEventListener("error", ({ message, target }) => seen.push(message ?? `not loaded: ${target.src}`), true);
  addEventListener("unhandledrejection", ({ reason }) => seen.push(String(reason)));
  addEventListener("securitypolicyviolation", ({ blockedURI, violatedDirective }) =>
    seen.push(`refused: ${violatedDirective} ${blockedURI}`));
}
"""

# The result of the first block, as the page shows it and as `html` has it, apart from which folds are open.
COMPARE = """
const built = new DOMParser().parseFromString(HTML, "text/html");
const read = (tree) => tree.querySelector(".sl-result").textContent.replace(/\\s+/g, " ").trim();
return [read(document), read(built)];
"""

# What is shown of each output, in the first block and in a fragment.
OUTPUTS = """
const fresh = new DOMParser().parseFromString(HTML, "text/html");
const read = (tree) => [...tree.querySelectorAll("[data-output]")].map((each) => each.textContent);
const [shown, expected] = [read(document.querySelector(".sl-result")), read(fresh)];
return expected.length > 0 && JSON.stringify(shown) === JSON.stringify(expected);
"""

FIELDS = """
const fields = document.querySelector(".sl-block").querySelectorAll("[data-field]");
return Object.fromEntries([...fields].map((field) => [
  field.dataset.field, field.querySelector("input, select, textarea").value]));
"""


def copy_edition(packed: Packed, place: Path) -> Path:
    """Copy the packed folder, with its pages under observation, to a place with an awkward name."""
    folder = Path(shutil.copytree(packed.folder, place / "stick #1, 100 % für alle" / packed.folder.name))
    script = folder / "assets" / "carried.js"
    script.write_text(OBSERVE + script.read_text("utf-8"), "utf-8")
    return folder


@pytest.fixture(scope="module")
def edition(packed: Packed, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The portable edition on a memory stick; not to be changed."""
    return copy_edition(packed, tmp_path_factory.mktemp("stick"))


@pytest.fixture
def spoilt(packed: Packed, tmp_path: Path) -> Path:
    """The same, for a test to spoil."""
    return copy_edition(packed, tmp_path)


def find_script(folder: Path) -> Path:
    """The script that carries the release."""
    (script,) = folder.glob("runtime/*/release.js")
    return script


def write_string(text: str) -> str:
    return json.dumps(text)


def open_live(engine: Engine, page: Path) -> None:
    engine.open(page.as_uri())
    engine.wait_until(STARTED, 60)


def test_a_link_leads_to_a_calculator_that_computes_what_was_built(engine: Engine, edition: Path) -> None:
    engine.open((edition / "index.html").as_uri())
    # A section of the contents is filled when it is opened.
    engine.wait_until(
        "for (const fold of document.querySelectorAll('nav details')) fold.open = true;"
        """return document.querySelector('nav a[href$="wire-gauge.html"]') !== null;"""
    )
    engine.evaluate("document.querySelector('nav a[href$=\"wire-gauge.html\"]').click();")
    engine.wait_until(STARTED, 60)
    assert engine.evaluate("return location.href;") == (edition / WIRE).as_uri()
    assert engine.evaluate(TOLD) == "Live: change any figure."
    assert engine.evaluate(TIER) == "snapshot"
    html = (edition / WIRE).read_text("utf-8")
    shown, built = engine.evaluate(COMPARE.replace("HTML", write_string(html)))
    assert built
    assert shown == built
    assert engine.evaluate("return self.seen;") == []


def test_a_typed_figure_is_computed_and_kept(engine: Engine, edition: Path) -> None:
    open_live(engine, edition / WIRE)
    name = engine.evaluate("return document.querySelector('[data-field=\"length\"] input').id;")
    engine.type_text(f"#{name}", "7.5 m")
    fields = engine.evaluate(FIELDS)
    assert fields["length"] == "7.5 m"
    question = {"calculator": "wire-gauge", "fields": fields, "units": "metric", "form": "html"}
    fragment = "".join(json.loads(answer(json.dumps(question)))["result"].values())
    computed = OUTPUTS.replace("HTML", write_string(fragment))
    engine.wait_until(computed)
    assert engine.evaluate(TOLD).startswith("Live. 1 of the figures is your own")
    # Once by the address, which names the figure when the typing has ended, once without.
    named = "[...new URLSearchParams(location.search).values()].includes('7.5 m')"
    engine.wait_until(f"return {named};")
    engine.reload()
    engine.wait_until(STARTED, 60)
    assert engine.evaluate(FIELDS) == fields
    open_live(engine, edition / WIRE)
    assert engine.evaluate(FIELDS) == fields
    engine.wait_until(computed)
    assert engine.evaluate("return self.seen;") == []


def test_search_finds_an_article(engine: Engine, edition: Path) -> None:
    engine.open((edition / "wiring" / "index.html").as_uri())
    engine.wait_until("return typeof document$ === 'object';")
    engine.type_text(SEARCH, "shaker")
    link = "document.querySelector('.sl-found a')"
    engine.wait_until(f"return {link}?.getAttribute('href').includes('sound/channel.html') ?? false;")
    engine.evaluate(f"{link}.click();")
    engine.wait_until("return location.pathname.endsWith('/sound/channel.html') && Boolean(self.seen);")
    assert engine.evaluate("return self.seen;") == []


def test_a_spoilt_snapshot_leaves_the_base_tier(engine: Engine, spoilt: Path) -> None:
    script = find_script(spoilt)
    text = script.read_text("ascii")
    place = text.index('"snapshot.bin": "') + 2_000_000
    # 24 bits of zeros, or of ones where there were zeros already.
    script.write_text(
        text[:place] + ("////" if text[place : place + 4] == "AAAA" else "AAAA") + text[place + 4 :]
    )
    open_live(engine, spoilt / WIRE)
    assert engine.evaluate(TIER) == "base"
    shown, built = engine.evaluate(COMPARE.replace("HTML", write_string((spoilt / WIRE).read_text("utf-8"))))
    assert shown == built


@pytest.mark.parametrize("damage", ["missing", "cut off", "altered"])
def test_a_damaged_release_leaves_the_built_result_and_says_so(
    engine: Engine, spoilt: Path, damage: str
) -> None:
    script = find_script(spoilt)
    text = script.read_text("ascii")
    reason = "the script that carries Python is missing or damaged; unpack or copy the handbook again"
    if damage == "missing":
        script.unlink()
    elif damage == "cut off":
        script.write_text(text[:-1_000_000])
    else:
        script.write_text(text.replace('"pyodide.asm.wasm": "', '"pyodide.asm.wasm": "AAAA'))
        reason = "A file of the runtime is damaged or did not arrive whole."
    open_live(engine, spoilt / WIRE)
    told = engine.evaluate(TOLD)
    assert told.startswith(f"Live figures could not start: {reason}")
    assert "Try again" in told
    shown, built = engine.evaluate(COMPARE.replace("HTML", write_string((spoilt / WIRE).read_text("utf-8"))))
    assert shown == built
    # The reader mends the folder and presses the button.
    script.write_text(text)
    engine.evaluate("document.querySelector('.sl-status button').click();")
    engine.wait_until("return Boolean(document.querySelector('.sl-block[data-live]'));", 60)
    assert engine.evaluate(TIER) == "snapshot"


class _Listener(BaseHTTPRequestHandler):
    def do_GET(self) -> None:  # the base class calls it so
        self.server.asked.append(self.path)  # type: ignore[attr-defined]
        self.send_response(200)
        self.send_header("Access-Control-Allow-Origin", "*")
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:
        return


@contextmanager
def listen() -> Iterator[tuple[str, list[str]]]:
    """A host that answers everything and notes what was asked of it."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Listener)
    asked: list[str] = []
    server.asked = asked  # type: ignore[attr-defined]
    thread = Thread(target=server.serve_forever, args=(0.05,))
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/", asked
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def test_the_policy_lets_nothing_out_of_the_folder(engine: Engine, edition: Path) -> None:
    attempts = """
    const load = (tag, properties) => new Promise((settle) => {
      const element = document.createElement(tag);
      element.onload = () => settle(`${tag} loaded`);
      element.onerror = () => settle("refused");
      setTimeout(settle, 3000, "refused"); // not every engine says so
      document.head.append(Object.assign(element, properties));
    }).catch(() => "refused");
    const own = document.querySelector("script[src$='carried.js']").src;
    return [
      await fetch(HOST + "fetched").then(() => "fetched", () => "refused"),
      await load("script", { src: HOST + "script.js" }),
      await load("img", { src: HOST + "picture.png" }),
      await load("link", { rel: "stylesheet", href: HOST + "style.css" }),
      await load("script", { src: URL.createObjectURL(new Blob(["self.seen.push('ran')"])) }),
      await load("script", { src: own }),
    ];
    """
    with listen() as (address, asked):
        # The host is there: a page of its own may ask it.
        engine.open(f"{address}page")
        assert "/page" in asked
        asked.clear()
        engine.open((edition / "index.html").as_uri())
        outcome = engine.evaluate(attempts.replace("HOST", write_string(address)))
        assert outcome == ["refused"] * 5 + ["script loaded"]
        # Some ask late for the picture of the page that was open before.
        assert set(asked) <= {"/favicon.ico"}
        refused = engine.evaluate("return self.seen;")
        assert not [told for told in refused if told == "ran"]


def test_every_page_of_chromium_asks_for_files_alone_and_complains_of_nothing(
    page: Page, edition: Path
) -> None:
    asked: list[str] = []
    complaints: list[str] = []

    def note_request(request: Request) -> None:
        if not request.url.startswith(("file:", "data:", "blob:")):
            asked.append(request.url)

    def note_message(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            complaints.append(message.text)

    page.context.on("request", note_request)
    page.on("console", note_message)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    for path in sorted(edition.rglob("*.html")):
        page.goto(path.as_uri())
        wait_until(page, "window.document$ !== undefined")
        if page.locator(".sl-block").count():
            expect(page.locator(".sl-block").first).to_have_attribute("data-live", "yes", timeout=60_000)
    page.set_viewport_size({"width": 1280, "height": 900})
    page.locator(SEARCH).click()
    page.keyboard.type("shaker")
    expect(page.locator(".sl-found a").first).to_be_visible(timeout=20_000)
    assert not asked
    assert not complaints


def test_search_in_another_language_finds_without_accents_and_endings(page: Page, tmp_path: Path) -> None:
    home = "# Werkstatt\n\nDie Häuser stehen am Hafen.\n"
    settings = (SOURCE / "mkdocs.yml").read_text("utf-8").replace("language: en", "language: de")
    settings = re.sub(r"^nav:\n(?: .*\n)+", "", settings, flags=re.MULTILINE)
    root = write_handbook(tmp_path / "handbook", {"mkdocs.yml": settings, "docs/index.md": home})
    folder = pack_handbook(tmp_path / "out", Progress(), root=root, cache=ROOT / ".cache").folder
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto((folder / "index.html").as_uri())
    wait_until(page, "window.document$ !== undefined")
    page.locator(SEARCH).click()
    page.keyboard.type("haus")
    expect(page.locator(".sl-found a").first).to_be_visible(timeout=20_000)
