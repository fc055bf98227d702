"""What would have slipped through every check is stopped by the page's own policy, in three real engines."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest
from playwright.sync_api import Page

from build_scripts.engines.engine import Engine
from build_scripts.environment.progress import Progress
from build_scripts.portable.edition import PORTABLE
from build_scripts.site.building import build_site
from build_scripts.site.edition import Edition, Parts
from build_scripts.site.served import SERVED
from tests.conftest import ServeFolder, open_server

HOSTILE = {
    "handler": '<img src="x" onerror="self.ran = true">',
    "event": '<details open ontoggle="self.ran = true"><summary>x</summary></details>',
    "link": '<a id="evil" href="javascript:self.ran = true">x</a>',
    "frame": '<iframe srcdoc="<script>parent.ran = true</script>"></iframe>',
    "script": "<script>self.ran = true</script>",
    "file": '<script src="https://evil.example/x.js"></script>',
    "base": '<base href="https://evil.example/">',
    "picture": '<img src="https://evil.example/x.png">',
    "style": '<p style="background:url(https://evil.example/x.png)">x</p>',
    "form": '<form id="asks" action="https://evil.example/"><input name="a"></form>',
}

# What a stranger may have published, and the page names: it runs if anything does.
UPLOADED = "self.document ? (self.ran = document.currentScript?.outerHTML ?? 'module') : postMessage('ran');"
INTEGRITY = f"sha256-{b64encode(sha256(UPLOADED.encode()).digest()).decode()}"
OWN_FILES = {
    "file": '<script src="uploaded.js"></script>',
    "table": '<script src="notes.toml"></script>',
    "file that knows its hash": f'<script src="uploaded.js" integrity="{INTEGRITY}"></script>',
    "module": '<script type="module" src="uploaded.js"></script>',
    "late": '<script defer src="uploaded.js"></script><script async src="notes.toml"></script>',
    "picture's script": '<svg><script href="uploaded.js"></script></svg>',
    "held": '<script type="text/plain" data-src="uploaded.js" data-theme="uploaded.js"></script>',
    "put off": '<script type="text/plain" data-later="uploaded.js"></script>',
    "base": '<base href="/elsewhere/">',
    "style": "<style>body { --slipped: yes; }</style>",
    "aligned": '<p id="styled" style="--slipped: yes">x</p>',
}
PAGE = "wiring/index.html"
SLIPPED = """
await new Promise(settle => setTimeout(settle, 1000));
const read = element => getComputedStyle(element).getPropertyValue("--slipped");
const styled = document.querySelector("#styled");
return [self.ran ?? null, document.baseURI === location.href, read(document.body), read(styled)];
"""
READY = "return typeof document$ === 'object';"

# What a script could be talked into, in a page of the handbook.
TALKED_INTO = """
const attempt = (act) => { try { return act() ?? "done"; } catch { return "refused"; } };
const named = (name) => {
  const made = document.createElement("script");
  name(made);
  return made.src.startsWith(location.origin) ? "done" : "refused";
};
const holder = document.createElement("div");
const address = new URL("uploaded.js", location.href).href;
holder.innerHTML = WRITTEN;
return [
  attempt(() => named((made) => { made.src = address; })),
  attempt(() => named((made) => { made.setAttribute("src", address); })),
  attempt(() => named((made) => { made.src = document.querySelector("script[src*='live.']").src; })),
  await new Promise((settle) => {
    const worker = attempt(() => new Worker(address));
    worker.onmessage = () => settle("done");
    worker.onerror = () => settle("refused");
    if (worker === "refused") settle(worker);
  }),
  attempt(() => { setTimeout("self.ran = 'text'"); }),
  attempt(() => { trustedTypes.createPolicy("default", {createScriptURL: text => text}); }),
  attempt(() => { trustedTypes.createPolicy("other", {createScriptURL: text => text}); }),
  holder.innerHTML,
];
"""
MARKUP = (
    '<p class="a" id="b" style="color:red" onclick="self.ran = 1">One<mark>two</mark></p>'
    "<img src=x onerror='self.ran = 1'><script>self.ran = 1</script><form><input></form>"
    "<svg><a href='javascript:1'>x</a></svg><math><style><img src=x></style></math>"
    "<iframe srcdoc='x'></iframe>"
)


def spoil(edition: Edition, page: str, slips: dict[str, str]) -> Edition:
    """An edition that is finished as always; then into a page is written what every check is to keep out."""

    def finish(folder: Path, parts: Parts) -> None:
        edition.finish(folder, parts)
        path = folder / page
        for name in ("uploaded.js", "notes.toml"):
            path.with_name(name).write_text(UPLOADED, "utf-8")
        text = path.read_text("utf-8")
        assert text.count("</article>") == 1
        path.write_text(text.replace("</article>", "".join(slips.values()) + "</article>"), "utf-8")

    return replace(edition, finish=finish)


@pytest.fixture(scope="module")
def build_spoilt(small_handbook: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[Edition], Path]:
    def build(edition: Edition) -> Path:
        site = tmp_path_factory.mktemp("spoilt") / "site"
        build_site(site, Progress(), edition=edition, root=small_handbook)
        return site

    return build


@pytest.fixture(scope="module")
def spoilt_site(build_spoilt: Callable[[Edition], Path]) -> Path:
    return build_spoilt(spoil(SERVED, PAGE, HOSTILE))


@pytest.fixture(scope="module")
def site_with_uploads(build_spoilt: Callable[[Edition], Path]) -> Path:
    return build_spoilt(spoil(SERVED, PAGE, OWN_FILES))


@pytest.fixture(scope="module")
def portable_with_uploads(build_spoilt: Callable[[Edition], Path]) -> Path:
    return build_spoilt(spoil(PORTABLE, PAGE, OWN_FILES))


def test_nothing_runs_and_nothing_is_asked_of_another_host(
    page: Page, spoilt_site: Path, serve_folder: ServeFolder
) -> None:
    address = serve_folder(spoilt_site)
    asked: list[str] = []
    refused: dict[str, str | None] = {}
    stopped: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("requestfailed", lambda request: refused.update({request.url: request.failure}))
    page.on("console", lambda message: stopped.append(message.text))
    page.goto(f"{address}wiring/")
    page.evaluate("document.querySelector('#evil').click()")
    page.evaluate("document.querySelector('#asks').submit()")
    page.wait_for_timeout(1000)
    assert page.evaluate("self.ran") is None
    assert page.url == f"{address}wiring/"
    foreign = {url for url in asked if not url.startswith((address, "data:", "about:"))}
    # The browser names them as asked for, and the policy as what has kept them from leaving it.
    assert {refused.get(url) for url in foreign} == {"csp"}, refused
    # The policy is what has stopped them: Chromium says so for each.
    told = "\n".join(stopped)
    assert told.count("Content Security Policy") >= len(HOSTILE) - 1, told


def test_the_same_words_run_where_no_policy_is(
    page: Page, spoilt_site: Path, serve_folder: ServeFolder, tmp_path: Path
) -> None:
    text = (spoilt_site / PAGE).read_text("utf-8")
    assert text.count("Content-Security-Policy") == 1
    (tmp_path / "index.html").write_text(text.replace("Content-Security-Policy", "X-Nothing"), "utf-8")
    page.goto(serve_folder(tmp_path))
    page.wait_for_function("self.ran === true")


def test_no_file_of_the_site_is_a_script_because_it_is_there(engine: Engine, site_with_uploads: Path) -> None:
    with open_server(site_with_uploads) as address:
        engine.open(f"{address}wiring/")
        engine.wait_until(READY)
        assert engine.evaluate(SLIPPED) == [None, True, "", ""]


def test_no_file_of_the_folder_is_a_script_because_it_is_there(
    engine: Engine, portable_with_uploads: Path
) -> None:
    engine.open((portable_with_uploads / PAGE).as_uri())
    engine.wait_until(READY)
    assert engine.evaluate(SLIPPED) == [None, True, "", ""]


def test_a_page_exchanged_in_place_brings_no_script(
    engine: Engine, small_handbook: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "site"
    folder.mkdir()
    with open_server(folder) as address:
        # The theme itself stumbles over a picture's script.
        slips = {name: slip for name, slip in {**OWN_FILES, **HOSTILE}.items() if name != "picture's script"}
        build_site(
            folder, Progress(), address=address, edition=spoil(SERVED, PAGE, slips), root=small_handbook
        )
        # As of a newer release: other scripts, and a policy that knows them.
        page = folder / PAGE
        page.write_text(
            re.sub(r"(assets/live\.)\w+|(sha256-)\w+", r"\1\g<2>0123", page.read_text("utf-8")), "utf-8"
        )
        engine.open(f"{address}goose/")
        engine.wait_until(READY)
        engine.evaluate("window.before = true;")
        # A section of the contents is filled when it is opened.
        engine.wait_until(
            "for (const fold of document.querySelectorAll('nav details')) fold.open = true;"
            """document.querySelector('nav a[href$="/wiring/"]')?.click();"""
            "return location.pathname.endsWith('/wiring/');"
        )
        engine.wait_until("return document.querySelector('#styled') !== null;")
        assert engine.evaluate(SLIPPED) == [None, True, "", ""]
        assert engine.evaluate("return window.before;") is True


def test_no_script_of_the_page_can_be_talked_into_more(engine: Engine, site_with_uploads: Path) -> None:
    with open_server(site_with_uploads) as address:
        engine.open(f"{address}wiring/")
        engine.wait_until(READY)
        outcome = engine.evaluate(TALKED_INTO.replace("WRITTEN", json.dumps(MARKUP)))
        assert outcome == [
            "refused",
            "refused",
            "done",
            *["refused"] * 4,
            '<p class="a">One<mark>two</mark></p>',
        ]
        assert engine.evaluate(SLIPPED)[0] is None
