"""Fixtures of the browser tests: a real Chromium, a page of it, and a release with a window."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright

from build_scripts.engines.engine import NAMES, Engine, start_engine
from build_scripts.environment.progress import Progress
from build_scripts.runtime.release import Release
from build_scripts.site.building import build_site
from tests.browser.host import Host, find_free_port, open_host
from tests.browser.hostile import build_hostile
from tests.browser.installed import copy_site
from tests.conftest import ROOT, MakeRelease, open_server

ARGUMENTS = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

PROBE = '''

_answer = answer
_answered: list[str] = []


def answer(question: str) -> str:
    """Run the Python that a test sends, count the answers given, or answer as the calculators do."""
    asked = json.loads(question)
    if "count" in asked:
        return json.dumps(len(_answered))
    if "probe" not in asked:
        _answered.append(question)
        return _answer(question)
    scope: dict[str, object] = {}
    exec(asked["probe"], scope)
    return json.dumps(scope["found"])
'''
"""Behind calculators/answers.py: a window into the worker, in the tests' own release only."""


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """The one that drives all browsers of a run."""
    with sync_playwright() as playwright:
        yield playwright


def launch(playwright: Playwright, *arguments: str) -> Browser:
    """Start the Chromium that the handbook's command found."""
    executable = os.environ["HANDBOOK_CHROMIUM"]
    return playwright.chromium.launch(executable_path=executable, args=[*ARGUMENTS, *arguments])


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    """A real Chromium."""
    browser = launch(playwright)
    yield browser
    browser.close()


@pytest.fixture
def chromium_without_webassembly(playwright: Playwright) -> Iterator[Browser]:
    """A real Chromium without WebAssembly, as its owner gets one by locking down compilation of scripts."""
    browser = launch(playwright, "--js-flags=--jitless")
    yield browser
    browser.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page with nothing in its caches."""
    context = browser.new_context()
    yield context.new_page()
    context.close()


@pytest.fixture(scope="session")
def probing_release(make_release: MakeRelease, tmp_path_factory: pytest.TempPathFactory) -> Release:
    """The calculators' release with a window (see PROBE) into its worker."""
    sources = tmp_path_factory.mktemp("probing")
    unwanted = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "calculators", sources / "calculators", ignore=unwanted)
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, sources / name)
    answers = sources / "calculators" / "answers.py"
    answers.write_text(answers.read_text("utf-8") + PROBE, "utf-8")
    return make_release(sources, sources / "out", ROOT / ".cache" / "runtime-parts")


@pytest.fixture
def copy_release(probing_release: Release, tmp_path: Path) -> Callable[[], Path]:
    """Copy the probing release into a folder to be spoilt and served: `runtime/<hash>` in the test's own."""

    def copy() -> Path:
        return Path(shutil.copytree(probing_release.folder, tmp_path / "runtime" / probing_release.hash))

    return copy


@pytest.fixture(scope="session")
def site_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the small handbook is, once `site_address` has built it."""
    return tmp_path_factory.mktemp("built") / "site"


@pytest.fixture(scope="session")
def site_address(small_handbook: Path, site_folder: Path) -> Iterator[str]:
    """The small handbook, built as the command builds it and served at the address it was built for."""
    site_folder.mkdir()
    with open_server(site_folder) as address:
        build_site(site_folder, Progress(), address=address, root=small_handbook)
        yield address


@pytest.fixture(scope="session")
def hostile_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the handbook of a stranger is, once `hostile_site` has built it."""
    return tmp_path_factory.mktemp("hostile") / "site"


@pytest.fixture(scope="session")
def hostile_site(hostile_folder: Path) -> Iterator[str]:
    """The handbook of a stranger (see hostile.py), served at the address it was built for."""
    hostile_folder.mkdir()
    root = hostile_folder.with_name("handbook")
    root.mkdir()
    with open_server(hostile_folder) as address:
        build_hostile(root, hostile_folder, address)
        yield address


@pytest.fixture(scope="session")
def site_pages(site_folder: Path, site_address: str) -> list[str]:
    """The addresses of all pages below the site's own, as a reader types them."""
    pages = [page.parent.relative_to(site_folder).as_posix() for page in site_folder.rglob("index.html")]
    return sorted("" if page == "." else f"{page}/" for page in pages)


@pytest.fixture(scope="session")
def site_without_snapshot(site_folder: Path, site_address: str) -> Iterator[str]:
    """The handbook on a host that refuses the snapshot."""
    with open_server(site_folder, refused=frozenset({"snapshot.bin"})) as address:
        yield address


@pytest.fixture(scope="session")
def site_without_interpreter(site_folder: Path, site_address: str) -> Iterator[str]:
    """The handbook on a host that refuses Python itself."""
    with open_server(site_folder, refused=frozenset({"pyodide.asm.wasm"})) as address:
        yield address


@pytest.fixture(scope="session")
def runtime_addresses(site_folder: Path, site_address: str, site_without_snapshot: str) -> dict[str, str]:
    """Where the release of the runtime is, by the tier that it starts in."""
    (release,) = (site_folder / "runtime").iterdir()
    place = f"runtime/{release.name}/"
    return {"snapshot": site_address + place, "base": site_without_snapshot + place}


@pytest.fixture(scope="session")
def installed_port() -> int:
    """The port that the handbook of `installed_site` is built for."""
    return find_free_port()


@pytest.fixture(scope="session")
def installed_site(
    small_handbook: Path, installed_port: int, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """The handbook, built for a host of its own; not to be changed."""
    site = tmp_path_factory.mktemp("installed") / "site"
    address = f"http://127.0.0.1:{installed_port}/"
    build_site(site, Progress(), address=address, root=small_handbook)
    return site


@pytest.fixture
def host(installed_site: Path, installed_port: int, tmp_path: Path) -> Iterator[Host]:
    """A host of the handbook, which a test may change, spoil and stop."""
    with open_host(copy_site(installed_site, tmp_path / "site"), installed_port) as host:
        yield host


@pytest.fixture
def reader(browser: Browser) -> Iterator[BrowserContext]:
    """A reader's browser with nothing in it."""
    context = browser.new_context()
    yield context
    context.close()


@pytest.fixture(scope="module", params=NAMES)
def engine(request: pytest.FixtureRequest) -> Iterator[Engine]:
    """Each of the three engines, with a profile that a module's tests share and nobody else has used."""
    with start_engine(request.param) as engine:
        yield engine
