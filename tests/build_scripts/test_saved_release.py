"""The list of a release and its service worker: what is in it, and what a change changes."""

import hashlib
import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

from build_scripts.club import Club, shorten
from build_scripts.environment.progress import Progress
from build_scripts.offline.saved_release import (
    HEADER_FILES,
    list_release,
    write_retired_worker,
    write_service_worker,
)
from build_scripts.offline.web_manifest import write_web_manifest
from build_scripts.output import LIST
from build_scripts.site.building import build_site
from tests.conftest import ROOT
from tests.small_handbook import write_small_handbook

pytestmark = pytest.mark.prepared


def find_modules() -> Path:
    return Path(os.environ["HANDBOOK_NODE_MODULES"])


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The small handbook, and the same with one sentence more in one article, built on another day."""
    sources = write_small_handbook(tmp_path_factory.mktemp("sources") / "handbook")
    sites = tmp_path_factory.mktemp("sites")
    days = pytest.MonkeyPatch()
    for name, day in (("before", "1700000000"), ("after", "1800000000")):
        days.setenv("SOURCE_DATE_EPOCH", day)
        build_site(sites / name, Progress(), root=sources, cache=ROOT / ".cache")
        article = sources / "docs" / "sound" / "channel.md"
        article.write_text(article.read_text("utf-8") + "\nOne sentence more.\n", "utf-8")
    days.undo()
    return sites / "before", sites / "after"


def hash_files(site: Path) -> dict[str, str]:
    return {
        path.relative_to(site).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in site.rglob("*")
        if path.is_file()
    }


def read_list(site: Path) -> dict[str, object]:
    text = (site / "service_worker.js").read_text("utf-8")
    listed: dict[str, object] = json.loads(text.split("self.handbookRelease = ", 1)[1].split(";\n", 1)[0])
    return listed


def test_one_changed_article_changes_its_page_the_index_and_the_worker(built: tuple[Path, Path]) -> None:
    before, after = map(hash_files, built)
    changed = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    assert changed == {
        "sound/channel/index.html",
        "search/index.json",
        "service_worker.js",
        "release.json",
        LIST,
    }
    assert read_list(built[0])["release"] != read_list(built[1])["release"]


def test_the_list_has_every_file_that_a_page_names(built: tuple[Path, Path]) -> None:
    site = built[0]
    listed = {file.url for file in list_release(site)}
    pages = {
        path.relative_to(site).as_posix().removesuffix("index.html") or "./"
        for path in site.rglob("index.html")
    }
    assert pages <= listed
    files = {path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()}
    left_out = {
        name for name in files if name.removesuffix("index.html") not in listed and name != "index.html"
    }
    unneeded = {"404.html", "release.json", "service_worker.js", LIST, *HEADER_FILES}
    assert {name for name in left_out if not name.endswith(".map") and "/lunr/" not in name} == unneeded


def test_hashes_and_sizes_are_those_of_the_files(built: tuple[Path, Path]) -> None:
    for file in list_release(built[0]):
        path = built[0] / file.url
        data = (path / "index.html" if path.is_dir() else path).read_bytes()
        assert (file.size, file.sha256) == (len(data), hashlib.sha256(data).hexdigest())


def test_a_name_that_holds_its_content_needs_no_revision(built: tuple[Path, Path]) -> None:
    files = {file.url: file.revision for file in list_release(built[0])}
    assert files["light/string/"] is not None
    assert files["assets/icons/icon-192.png"] is not None
    assert all(revision is None for url, revision in files.items() if url.startswith("runtime/"))
    assert [url for url in files if url.startswith("assets/style.") and files[url] is None]


def test_the_summary_says_how_much_it_is(built: tuple[Path, Path]) -> None:
    summary = json.loads((built[0] / "release.json").read_text("utf-8"))
    files = list_release(built[0])
    assert summary["files"] == len(files)
    assert summary["bytes"] == sum(file.size for file in files)
    assert summary["release"] == read_list(built[0])["release"]


@pytest.mark.parametrize("worker", ["service_worker.js", "retired"])
def test_the_written_worker_is_a_script(built: tuple[Path, Path], tmp_path: Path, worker: str) -> None:
    script = built[0] / "service_worker.js"
    if worker == "retired":
        write_retired_worker(tmp_path)
        script = tmp_path / "service_worker.js"
    done = subprocess.run(
        [os.environ["HANDBOOK_NODE"], "--check", str(script)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_a_worker_that_is_mended_is_a_new_release(
    built: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = Path(shutil.copytree(built[0], tmp_path / "site"))
    before = read_list(site)["release"]
    write_service_worker(site, find_modules())
    assert read_list(site)["release"] == before
    here = Path(shutil.copytree(ROOT / "build_scripts" / "offline", tmp_path / "offline"))
    (here / "service_worker.js").write_text("// mended", "utf-8")
    monkeypatch.setattr("build_scripts.offline.saved_release.HERE", here)
    write_service_worker(site, find_modules())
    assert read_list(site)["release"] != before


def test_the_web_manifest_names_icons_that_are_there(built: tuple[Path, Path]) -> None:
    manifest = json.loads((built[0] / "manifest.json").read_text("utf-8"))
    for icon in manifest["icons"]:
        assert (built[0] / icon["src"]).is_file()
    assert not [
        value for value in (manifest["start_url"], manifest["scope"]) if value.startswith(("/", "http"))
    ]


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Ropewalk Workshop Handbook", "Ropewalk"),
        ("Our Handbook", "Our Handbook"),
        ("Kraftfahrzeugzubehör", "Kraftfahrzeugzubehör"),
    ],
)
def test_the_name_below_an_icon(tmp_path: Path, name: str, short: str) -> None:
    assert shorten(name) == short
    write_web_manifest(tmp_path, name, "", "en", Club())
    assert json.loads((tmp_path / "manifest.json").read_text("utf-8"))["short_name"] == short
