"""The portable edition as it is packed: the same bytes again, whole, nothing foreign; mistakes told."""

from __future__ import annotations

import gzip
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import zipfile
from base64 import b64decode
from hashlib import sha256
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest

from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.generator import read_site_name
from build_scripts.portable.__main__ import describe, main
from build_scripts.portable.archive import write_archive
from build_scripts.portable.pack import Packed, make_file_name, pack_handbook
from build_scripts.runtime.release import Release
from tests.build_scripts.built_lists import write_list
from tests.conftest import ROOT
from tests.small_handbook import write_small_handbook

pytestmark = pytest.mark.prepared

NAMING = {
    *("href", "src", "data-src", "data-theme", "data-rows", "data-carried"),
    *("action", "poster", "srcset", "data"),
}
POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">')
LOADING = {"script", "img", "link", "source", "iframe", "video", "audio", "embed", "object", "input"}


class Page(HTMLParser):
    """The addresses that a page names, by (element, attribute), its anchors, and the theme's settings."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path
        self.addresses: list[tuple[str, str, str]] = []
        self.anchors = {"", "__skip"}
        self.settings: dict[str, Any] = {}
        self._in_settings = False
        self.feed(path.read_text("utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in NAMING:
                self.addresses.append((tag, name, value or ""))
            elif name == "id":
                self.anchors.add(value or "")
        self._in_settings = ("id", "__config") in attrs

    def handle_data(self, data: str) -> None:
        if self._in_settings and data.strip():
            self.settings = json.loads(data)


@pytest.fixture(scope="module")
def pages(packed: Packed) -> dict[Path, Page]:
    return {path.resolve(): Page(path) for path in sorted(packed.folder.rglob("*.html"))}


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """What the handbook is made from, in another place and with other times."""
    root = tmp_path / "another checkout"
    write_small_handbook(root)
    for path in root.rglob("*"):
        os.utime(path, (1_700_000_000, 1_700_000_000))
    return root


def pack(checkout: Path, out: Path) -> Packed:
    # The runtime of the same calculators comes from the cache of this checkout.
    return pack_handbook(out, Progress(), root=checkout, cache=ROOT / ".cache")


def list_files(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def hash_files(folder: Path) -> dict[str, str]:
    return {name: sha256((folder / name).read_bytes()).hexdigest() for name in list_files(folder)}


def read_release_script(packed: Packed) -> tuple[dict[str, str], dict[str, str]]:
    """The texts of the workers and the files that the release's script carries."""
    (script,) = packed.folder.glob("runtime/*/release.js")
    found = re.fullmatch(
        r"// .*\nhandbookCarried\.add\((\{.*\})\);\nhandbookCarried\.release = (\{.*\});\n",
        script.read_text("utf-8"),
    )
    assert found is not None
    return json.loads(found[1]), json.loads(found[2])


def test_another_checkout_gives_the_same_bytes(packed: Packed, checkout: Path, tmp_path: Path) -> None:
    again = pack(checkout, tmp_path / "out")
    assert hash_files(again.folder) == hash_files(packed.folder)
    assert again.sha256 == packed.sha256 == sha256(packed.archive.read_bytes()).hexdigest()
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        f".{packed.folder.name}-files.txt",
        packed.folder.name,
        packed.archive.name,
    ]


def test_the_archive_is_the_folder(packed: Packed) -> None:
    with zipfile.ZipFile(packed.archive) as archive:
        members = archive.infolist()
        names = [member.filename for member in members]
        inside = {name: sha256(archive.read(name)).hexdigest() for name in names}
    assert names == sorted(names)
    assert inside == {
        f"{packed.folder.name}/{name}": found for name, found in hash_files(packed.folder).items()
    }
    assert {member.date_time for member in members} == {(1980, 1, 1, 0, 0, 0)}
    assert {member.external_attr >> 16 for member in members} == {0o100644}
    assert packed.files == len(names)
    assert packed.unpacked == sum(member.file_size for member in members)
    assert packed.packed == packed.archive.stat().st_size


def test_times_and_permissions_of_files_do_not_reach_the_archive(tmp_path: Path) -> None:
    archives = []
    for place, mode in (("one", 0o600), ("two", 0o755)):
        folder = tmp_path / place / "folder"
        (folder / "deep").mkdir(parents=True)
        for name in (
            ("b.html", "a.html", "deep/c.html") if mode == 0o600 else ("deep/c.html", "a.html", "b.html")
        ):
            (folder / name).write_text(name * 100, "utf-8")
            (folder / name).chmod(mode)
            os.utime(folder / name, (mode * 1_000_000, mode * 1_000_000))
        write_archive(folder, tmp_path / place / "folder.zip")
        archives.append((tmp_path / place / "folder.zip").read_bytes())
    assert archives[0] == archives[1]


def test_every_link_leads_to_a_file_and_its_anchor(packed: Packed, pages: dict[Path, Page]) -> None:
    checked = 0
    for path, page in pages.items():
        for tag, name, address in page.addresses:
            split = urlsplit(address)
            if split.scheme:
                continue
            checked += 1
            assert not split.netloc, f"{path}: {address} leads to another host"
            target = (path.parent / unquote(split.path)).resolve() if split.path else path
            assert target.is_file(), f"{path}: <{tag} {name}> {address} leads to no file"
            assert target.is_relative_to(packed.folder.resolve()), (
                f"{path}: {address} leads out of the folder"
            )
            if tag == "a" and target in pages:
                anchor = unquote(split.fragment)
                assert anchor in pages[target].anchors, f"{path}: {address} leads to no anchor"
    assert checked > 20 * len(pages)


def test_links_in_the_index_of_the_search_lead_to_files(packed: Packed) -> None:
    text = (packed.folder / "search" / "index.js").read_text("utf-8")
    index = json.loads(text.removeprefix("self.handbookIndex = ").removesuffix(";\n"))["index"]
    locations = {place["url"].partition("#")[0] for place in index["storedFields"].values()}
    pages = {path.relative_to(packed.folder).as_posix() for path in packed.folder.rglob("*.html")}
    # Texts of licences are found by a link, not among the articles.
    assert locations == pages - {"made-of.html"}


def test_no_page_loads_anything_from_elsewhere(packed: Packed, pages: dict[Path, Page]) -> None:
    for path, page in pages.items():
        for tag, _, address in page.addresses:
            if tag in LOADING:
                assert urlsplit(address).scheme in ("", "data"), f"{path}: <{tag}> {address}"
    for path in packed.folder.rglob("*.css"):
        for address in re.findall(
            r"url\(\s*['\"]?([^'\")]+)|@import\s+['\"]([^'\"]+)", path.read_text("utf-8")
        ):
            assert urlsplit("".join(address)).scheme in ("", "data"), f"{path}: {address}"


def test_every_page_has_the_policy_of_an_edition_without_a_server(pages: dict[Path, Page]) -> None:
    assert pages
    for path in pages:
        rules, within = (
            {name: set(values) for name, *values in (part.split() for part in unescape(content).split("; "))}
            for content in POLICY.findall(path.read_text("utf-8"))
        )
        assert rules["default-src"] == rules["connect-src"] == rules["form-action"] == {"'none'"}
        assert rules["worker-src"] == within["worker-src"] == {"blob:"}
        # What runs has a hash, or is run by what has one, and is a file of the folder in any case.
        for policy, more in ((rules, "'strict-dynamic'"), (within, "'self'")):
            scripts = {value for value in policy["script-src"] if not value.startswith("'sha256-")}
            assert scripts == {more, "'wasm-unsafe-eval'"}
        assert {value for value in rules["style-src"] if not value.startswith("'sha256-")} == {"'self'"}
        for name in set(rules) - {"script-src", "style-src", "require-trusted-types-for", "trusted-types"}:
            assert rules[name] <= {"'self'", "'none'", "data:", "blob:"}, name
            assert "blob:" not in rules[name] or name == "worker-src"


def test_the_release_is_carried_once_and_whole(packed: Packed, runtime_release: Release) -> None:
    texts, files = read_release_script(packed)
    (folder,) = (packed.folder / "runtime").iterdir()
    assert folder.name == runtime_release.hash
    assert sorted(path.name for path in folder.iterdir()) == ["licences.txt", "release.js"]
    carried = {name: b64decode(text) for name, text in files.items()}
    carried["pyodide.asm.wasm"] = gzip.decompress(carried["pyodide.asm.wasm"])
    for name, data in carried.items():
        assert data == (runtime_release.folder / name).read_bytes(), name
    scripts = {path.name: path.read_text("utf-8") for path in runtime_release.folder.glob("*.js")}
    assert texts == {
        "files.js": scripts["files.js"],
        "worker.js": "\n".join(scripts[name] for name in ("pyodide.js", "pyodide.asm.js", "worker.js")),
    }
    parts = {*carried, *scripts, "licences.txt"}
    assert parts == {path.name for path in runtime_release.folder.iterdir()}


def test_every_page_knows_where_python_is_and_loads_it_not_by_itself(
    packed: Packed, pages: dict[Path, Page]
) -> None:
    for path, page in pages.items():
        # live.js asks for it when a calculator comes into the page, and is told where it is.
        assert not [
            address for tag, name, address in page.addresses if name == "src" and "runtime/" in address
        ]
        (carried,) = [address for _, name, address in page.addresses if name == "data-carried"]
        assert (path.parent / carried).is_file()


def test_what_only_a_host_serves_is_left_out(packed: Packed) -> None:
    names = list_files(packed.folder)
    unwanted = re.compile(r"404|sitemap|\.map$|/lunr/|/workers/|search/index\.json|service_worker")
    assert not [name for name in names if unwanted.search(name)]
    assert "index.html" in names


def test_the_archive_is_hardly_larger_than_what_a_browser_fetches(packed: Packed) -> None:
    # Base64 adds a third, which the ZIP takes away again: 9 MB are promised for the runtime over the network.
    assert packed.packed < 10_000_000


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Ropewalk Workshop Handbook", "ropewalk-workshop-handbook"),
        ("  Größe & Maße: 2. Teil ", "groe-mae-2-teil"),
        ("../..\\evil", "evil"),
        ("手引き", "handbook"),
    ],
)
def test_files_are_called_after_the_handbook(title: str, name: str) -> None:
    assert make_file_name(title) == name


# --- What can go wrong: a sentence, and the former output whole ---


@pytest.fixture
def former(checkout: Path, tmp_path: Path) -> Packed:
    """A former run's output, marked so that a change would be seen."""
    made = pack(checkout, tmp_path / "out")
    (made.folder / "index.html").write_text("former", "utf-8")
    made.archive.write_text("former", "utf-8")
    write_list(made.folder.parent, f".{made.folder.name}-files.txt")
    return made


def check_former(former: Packed) -> None:
    assert (former.folder / "index.html").read_text("utf-8") == "former"
    assert former.archive.read_text("utf-8") == "former"
    assert sorted(path.name for path in former.folder.parent.iterdir()) == [
        f".{former.folder.name}-files.txt",
        former.folder.name,
        former.archive.name,
    ]


def test_a_former_output_is_replaced(former: Packed, checkout: Path, packed: Packed) -> None:
    pack(checkout, former.folder.parent)
    assert hash_files(former.folder) == hash_files(packed.folder)
    assert sha256(former.archive.read_bytes()).hexdigest() == packed.sha256


def test_a_mistake_in_an_article_leaves_the_former_output(former: Packed, checkout: Path) -> None:
    (checkout / "docs" / "index.md").write_text(
        "# Home\n\n``` calculator\nwire-gauge: A\ncurrent = 5 m\n```\n"
    )
    with pytest.raises(BuildError, match=r"docs/index\.md:5: "):
        pack(checkout, former.folder.parent)
    check_former(former)


def test_an_interrupted_run_leaves_the_former_output(packed: Packed, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    # The command packs this checkout's own handbook.
    name = make_file_name(read_site_name(ROOT))
    folder = Path(shutil.copytree(packed.folder, out / name))
    (folder / "index.html").write_text("former", "utf-8")
    archive = out / f"{name}.zip"
    archive.write_text("former", "utf-8")
    write_list(out, f".{folder.name}-files.txt")
    command = [sys.executable, "-P", "-m", "build_scripts.portable", "pack", "--out", str(out)]
    with subprocess.Popen(
        command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if line.startswith("packing the ZIP"):
                process.send_signal(signal.SIGINT)
                break
        told = process.stderr.read()
    assert process.returncode == 130  # 128 and the signal's number, as shells say it
    assert told.endswith("Stopped. What was packed before is as it was.\n")
    check_former(Packed(folder, archive, 0, 0, 0, ""))


def test_an_out_that_is_a_file_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("mine", "utf-8")
    for out in (tmp_path / "file", tmp_path / "file" / "below"):
        assert main(["pack", "--out", str(out)]) == 1
        told = capsys.readouterr().err
        assert told == f"{tmp_path / 'file'} is a file; name another place with --out FOLDER\n"
    assert (tmp_path / "file").read_text("utf-8") == "mine"


def test_a_folder_of_the_readers_own_is_not_replaced(
    small_handbook: Path, tmp_path: Path, packed: Packed
) -> None:
    mine = tmp_path / packed.folder.name
    mine.mkdir()
    (mine / "notes.txt").write_text("mine", "utf-8")
    with pytest.raises(
        BuildError,
        match=r"is not an earlier build of the handbook and would be replaced: the list .*; move it",
    ):
        pack_handbook(tmp_path, Progress(), root=small_handbook)
    assert list_files(tmp_path) == [f"{mine.name}/notes.txt"]
    assert (mine / "notes.txt").read_text("utf-8") == "mine"


def test_a_file_of_the_archives_name_is_not_replaced(
    small_handbook: Path, tmp_path: Path, packed: Packed
) -> None:
    mine = tmp_path / packed.archive.name
    mine.write_text("mine", "utf-8")
    with pytest.raises(
        BuildError, match=r"\.zip is not an earlier build of the handbook and would be replaced"
    ):
        pack_handbook(tmp_path, Progress(), root=small_handbook)
    assert list_files(tmp_path) == [mine.name]
    assert mine.read_text("utf-8") == "mine"


def test_an_archive_that_was_changed_since_is_not_replaced(former: Packed, checkout: Path) -> None:
    former.archive.write_text("mine", "utf-8")
    with pytest.raises(
        BuildError, match=rf"has left it: {re.escape(former.archive.name)}; nothing was changed"
    ):
        pack(checkout, former.folder.parent)
    assert former.archive.read_text("utf-8") == "mine"
    assert (former.folder / "index.html").read_text("utf-8") == "former"


def test_files_beside_folder_and_archive_stay(former: Packed, checkout: Path) -> None:
    out = former.folder.parent
    mine = ["letter.txt", f"{former.folder.name}/notes.txt", f".{former.folder.name}.packing/notes.txt"]
    for name in mine:
        (out / name).parent.mkdir(exist_ok=True)
        (out / name).write_text("mine", "utf-8")
    made = pack(checkout, out)
    assert [name for name in mine if (out / name).read_text("utf-8") == "mine"] == mine
    with zipfile.ZipFile(made.archive) as archive:
        assert not [name for name in archive.namelist() if "notes" in name or "files.txt" in name]


def test_a_folder_in_the_place_of_the_archive_is_refused(
    small_handbook: Path, tmp_path: Path, packed: Packed
) -> None:
    (tmp_path / packed.archive.name).mkdir()
    with pytest.raises(BuildError, match=r"\.zip is a folder; move it away"):
        pack_handbook(tmp_path, Progress(), root=small_handbook)


def test_settings_that_cannot_be_read_are_named(checkout: Path, tmp_path: Path) -> None:
    (checkout / "mkdocs.yml").write_text("site_name: [\n", "utf-8")
    with pytest.raises(BuildError, match=r"^mkdocs\.yml: "):
        pack(checkout, tmp_path / "out")


def test_the_command_says_how_large_it_is(packed: Packed) -> None:
    told = describe(packed)
    assert f"{packed.archive.stat().st_size / 1e6:.1f} MB" in told
    sizes = [(packed.folder / name).stat().st_size for name in list_files(packed.folder)]
    assert f"unpacked {sum(sizes) / 1e6:.1f} MB in {len(sizes)} files" in told
    assert packed.sha256 in told
    assert "index.html" in told
