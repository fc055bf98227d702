"""The browser's runtime as it is made: the same bytes again, a true manifest, a size that holds."""

import gzip
import hashlib
import io
import json
import marshal
import os
import platform
import shutil
import struct
import subprocess
import sys
import time
import zipfile
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from build_scripts.environment.progress import Progress
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.interpreter import trim_interpreter
from build_scripts.runtime.library import build_wheel, find_imported_names, list_slugs
from build_scripts.runtime.release import (
    KEPT_RELEASES,
    Release,
    compute_inputs,
    forget_old_releases,
    make_runtime,
)
from calculators import SLUGS
from tests.conftest import KEPT, ROOT, MakeRelease, take_interpreter

pytestmark = pytest.mark.prepared

MEGABYTE = 1_000_000


@pytest.fixture(scope="module")
def sources(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of what the wheel is built from, so that no other test's or author's change comes between."""
    return copy_sources(tmp_path_factory.mktemp("sources"))


@pytest.fixture(scope="module")
def two_makes(
    make_release: MakeRelease, sources: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Release, Release]:
    """The same release made twice from nothing, as in two checkouts: sources, Node and caches elsewhere."""
    here, there = (tmp_path_factory.mktemp("make") for _ in range(2))
    first = make_release(sources, here / "out", here / "cache")
    node = Path(shutil.copyfile(os.environ["HANDBOOK_NODE"], there / "node"))
    node.chmod(0o755)
    second = make_runtime(
        source_root=copy_sources(there / "sources"),
        node_modules=Path(os.environ["HANDBOOK_NODE_MODULES"]),
        node=node,
        out_dir=there / "out",
        cache_dir=there / "cache",
        progress=Progress(),
    )
    return first, second


def copy_sources(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copytree(
        ROOT / "calculators", folder / "calculators", ignore=shutil.ignore_patterns("__pycache__")
    )
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, folder / name)
    return folder


type Manifest = dict[str, Any]


def read_manifest(release: Release) -> Manifest:
    manifest: dict[str, dict[str, dict[str, object]]] = json.loads(
        (release.folder / "manifest.json").read_text()
    )
    return manifest


def open_library(release: Release) -> zipfile.ZipFile:
    return open_zip(release, "library.bin")


def open_zip(release: Release, name: str) -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO(gzip.decompress((release.folder / name).read_bytes())))


def test_wheel_has_the_same_bytes_again(sources: Path, tmp_path: Path) -> None:
    wheels = []
    for folder in (tmp_path / "one", tmp_path / "two"):
        folder.mkdir()
        wheels.append(build_wheel(sources, folder).read_bytes())
        for path in sources.rglob("*.py"):
            os.utime(path, (1_700_000_000, 1_700_000_000))
    assert wheels[0] == wheels[1]


@pytest.mark.parametrize("name", ["pyodide.asm.wasm", "library.bin", "snapshot.bin", "manifest.json"])
def test_release_has_the_same_bytes_again(two_makes: tuple[Release, Release], name: str) -> None:
    one, two = two_makes
    assert one.folder != two.folder
    assert (one.folder / name).read_bytes() == (two.folder / name).read_bytes()
    assert one.hash == two.hash


def test_manifest_tells_the_truth(runtime_release: Release) -> None:
    manifest = read_manifest(runtime_release)
    found = {path.name for path in runtime_release.folder.iterdir()} - {"manifest.json"}
    assert set(manifest["files"]) == found
    for name, file in manifest["files"].items():
        data = (runtime_release.folder / name).read_bytes()
        assert file["size"] == len(data), name
        assert file["sha256"] == hashlib.sha256(data).hexdigest(), name
        assert file["compressed"] == min(len(data), len(gzip.compress(data, 9, mtime=0))), name
    assert runtime_release.folder.name == runtime_release.hash == manifest["release"]


def test_hash_changes_with_every_file(
    make_release: MakeRelease, sources: Path, two_makes: tuple[Release, Release], tmp_path: Path
) -> None:
    other = copy_sources(tmp_path / "other")
    path = other / "calculators" / "answers.py"
    path.write_text(path.read_text("utf-8") + "\nANOTHER_RELEASE = 1\n", "utf-8")
    changed = make_release(other, tmp_path / "out", tmp_path / "cache")
    assert changed.hash != two_makes[0].hash
    before, after = read_manifest(two_makes[0]), read_manifest(changed)
    assert before["inputs"] != after["inputs"]
    differ = {name for name, file in after["files"].items() if file != before["files"][name]}
    assert differ == {"library.bin", "snapshot.bin"}


def sum_fetched(release: Release, slug: str) -> int:
    """The bytes that a page with this calculator fetches to compute, compressed as hosts do it."""
    files = read_manifest(release)["files"]
    listed = len(gzip.compress((release.folder / "manifest.json").read_bytes(), 9))
    others = {"licences.txt", "library.bin", *(name for name in files if name.startswith("part-"))}
    needed = files.keys() - others | {f"part-{slug}.bin"}
    return listed + sum(int(files[name]["compressed"]) for name in needed)


def sum_saved(release: Release) -> int:
    return sum(path.stat().st_size for path in release.folder.iterdir())


@pytest.mark.parametrize("slug", SLUGS)
def test_a_page_with_one_calculator_fetches_little(runtime_release: Release, slug: str) -> None:
    assert sum_fetched(runtime_release, slug) <= 6.9 * MEGABYTE, (
        "A page fetches too much to compute. What all calculators share is in every snapshot: move what only "
        "one uses into its own package, and look which modules of Python are imported for little."
    )


@pytest.mark.parametrize("slug", SLUGS)
def test_a_part_is_small(runtime_release: Release, slug: str) -> None:
    assert (runtime_release.folder / f"part-{slug}.bin").stat().st_size <= 150_000, (
        f"{slug} adds too much to the saved copy: say it in less code, or share what others use, too."
    )


def test_the_frozen_interpreter_leaves_room(runtime_release: Release) -> None:
    # See freeze.mjs: what of the memory is not empty. Of the 20 MB the stack takes almost five.
    data = gzip.decompress((runtime_release.folder / "snapshot.bin").read_bytes())
    count, kept, _ = struct.unpack_from("<3i", data, 64)
    lengths = struct.unpack_from(f"<{2 * count}i", data, 76)[1::2]
    assert kept + sum(lengths) <= 13.5 * 1024 * 1024, (
        "Little is left of the 20 MB of memory that the snapshot has to fit into: move what only one "
        "calculator uses into its own package."
    )


def test_twenty_calculators_more_add_nothing_to_another_page(
    make_release: MakeRelease, sources: Path, two_makes: tuple[Release, Release], tmp_path: Path
) -> None:
    many = copy_sources(tmp_path / "many")
    listed = many / "calculators" / "__init__.py"
    slugs = [f"made-up-{letter}" for letter in "abcdefghijklmnopqrst"]
    written = listed.read_text("utf-8")
    listed.write_text(written.replace("SLUGS = (", f"SLUGS = ({', '.join(map(repr, slugs))}, "), "utf-8")
    # As large as the largest there is.
    rooms = [many / "calculators" / slug.replace("-", "_") for slug in SLUGS]
    room = max(rooms, key=lambda room: sum(path.stat().st_size for path in room.iterdir()))
    own = room.name.replace("_", "-")
    for slug in slugs:
        made_up = many / "calculators" / slug.replace("-", "_")
        shutil.copytree(room, made_up)
        for path in made_up.glob("*.py"):
            text = path.read_text("utf-8").replace(room.name, made_up.name).replace(own, slug)
            path.write_text(text, "utf-8")
    few = two_makes[0]
    grown = make_release(many, tmp_path / "out", tmp_path / "cache")
    frozen = [(release.folder / "snapshot.bin").stat().st_size for release in (few, grown)]
    # A line in the manifest, with a hash.
    assert sum_fetched(grown, SLUGS[0]) - frozen[1] <= sum_fetched(few, SLUGS[0]) - frozen[0] + 20 * 60
    # Their names; and memory frozen anew packs to some kilobytes more or less. The part of one has a hundred.
    assert abs(frozen[1] - frozen[0]) <= 6_800 < (few.folder / f"part-{own}.bin").stat().st_size / 5
    assert sum_saved(grown) - sum_saved(few) <= 20 * 150_000
    assert {f"part-{slug}.bin" for slug in slugs} <= {path.name for path in grown.folder.iterdir()}


def test_a_part_holds_one_calculator_and_the_library_none(runtime_release: Release) -> None:
    shared = set(open_library(runtime_release).namelist())
    for slug in SLUGS:
        room = f"calculators/{slug.replace('-', '_')}"
        names = open_zip(runtime_release, f"part-{slug}.bin").namelist()
        assert f"{room}/calculator.pyc" in names
        assert all(name == "methods.bin" or name.startswith(f"{room}/") for name in names)
        assert not any(name.startswith(f"{room}/") for name in shared)


def test_interpreter_keeps_what_is_used_and_no_more(runtime_release: Release) -> None:
    exported = list_exports(runtime_release.folder / "pyodide.asm.wasm")
    # Of Pyodide's scripts, of worker.js, of freeze.mjs.
    assert {"malloc", "__wasm_call_ctors", "PyObject_CallOneArg", "emscripten_builtin_free"} <= set(exported)
    published = Path(os.environ["HANDBOOK_NODE_MODULES"]) / "pyodide" / "pyodide.asm.wasm"
    assert len(exported) < 300 < 9000 < len(list_exports(published))


def list_exports(interpreter: Path) -> list[str]:
    listing = (
        "const bytes = require('fs').readFileSync(process.argv[1]);"
        "const names = WebAssembly.Module.exports(new WebAssembly.Module(bytes)).map(({name}) => name);"
        "console.log(JSON.stringify(names));"
    )
    command = [os.environ["HANDBOOK_NODE"], "-e", listing, str(interpreter)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    names: list[str] = json.loads(done.stdout)
    return names


def test_kept_interpreter_that_was_changed_is_made_again(tmp_path: Path) -> None:
    made = [trim(tmp_path)]
    (kept,) = tmp_path.iterdir()
    started = time.perf_counter()
    assert trim(tmp_path) == made[0]
    assert time.perf_counter() - started < 2  # it takes several times as long to make
    kept.write_bytes(made[0][:-1])
    assert trim(tmp_path) == made[0] == kept.read_bytes()
    assert list(tmp_path.iterdir()) == [kept]


def trim(cache: Path) -> bytes:
    modules, node = Path(os.environ["HANDBOOK_NODE_MODULES"]), Path(os.environ["HANDBOOK_NODE"])
    return trim_interpreter(modules, node, ["malloc"], "", cache, Progress())


def test_library_holds_what_is_imported_and_no_more(runtime_release: Release) -> None:
    names = set(open_library(runtime_release).namelist())
    assert {"interpreter_start.pyc", "calculators/answers.pyc", "json/__init__.pyc", "traceback.pyc"} <= names
    assert not any(name.endswith(".py") for name in names)
    assert not any(name.startswith(("unittest/", "pydoc", "xmlrpc/", "ctypes/")) for name in names)
    tables = {path.relative_to(ROOT).as_posix() for path in (ROOT / "calculators").rglob("*.toml")}
    assert tables
    assert tables <= names


def test_licences_travel_along(runtime_release: Release) -> None:
    text = (runtime_release.folder / "licences.txt").read_text("utf-8")
    assert "Mozilla Public License Version 2.0" in text
    assert "PYTHON SOFTWARE FOUNDATION LICENSE VERSION 2" in text


def test_second_make_takes_the_first_ones_result(
    make_release: MakeRelease, sources: Path, two_makes: tuple[Release, Release]
) -> None:
    one = two_makes[0]
    out, cache = one.folder.parent, one.folder.parent.parent / "cache"
    before = {path: path.stat().st_mtime_ns for path in one.folder.iterdir()}
    started = time.perf_counter()
    assert make_release(sources, out, cache) == one
    assert time.perf_counter() - started < 2
    assert {path: path.stat().st_mtime_ns for path in one.folder.iterdir()} == before


@pytest.mark.parametrize("where", ["out", "cache", "both"])
@pytest.mark.parametrize("name", ["worker.js", "manifest.json", "library.bin"])
def test_a_kept_file_that_was_changed_is_never_handed_out(
    make_release: MakeRelease, runtime_release: Release, tmp_path: Path, where: str, name: str
) -> None:
    # What is kept for these calculators, in a place of its own.
    (kept,) = (
        path for path in (ROOT / ".cache" / "runtime-parts").iterdir() if holds(path, runtime_release.hash)
    )
    out, cache = tmp_path / "out", tmp_path / "cache"
    shutil.copytree(kept, cache / kept.name)
    shutil.copytree(kept, out / runtime_release.hash)
    for folder in (out / runtime_release.hash, cache / kept.name):
        if where == "both" or folder.is_relative_to(tmp_path / where):
            data = (folder / name).read_bytes()
            (folder / name).write_bytes(data[:-2] + b" " + data[-2:])
    made = make_release(ROOT, out, cache)
    assert made.folder == out / runtime_release.hash
    for path in runtime_release.folder.iterdir():
        assert (made.folder / path.name).read_bytes() == path.read_bytes(), path.name


def holds(kept: Path, release: str) -> bool:
    return (kept / "manifest.json").is_file() and read_manifest(Release("", kept))["release"] == release


def test_a_patch_of_python_is_no_input_and_a_minor_version_is(monkeypatch: pytest.MonkeyPatch) -> None:
    inputs = []
    for version in ((3, 13, 1), (3, 13, 99), (3, 14, 1)):
        with monkeypatch.context() as other:
            other.setattr(sys, "version_info", version)
            other.setattr(platform, "python_version", lambda version=version: ".".join(map(str, version)))
            inputs.append(compute_inputs(ROOT))
    assert inputs[0] == inputs[1] != inputs[2]


def test_a_draft_holds_what_the_release_does_but_for_the_snapshot(
    runtime_release: Release, tmp_path: Path
) -> None:
    take_interpreter(tmp_path / "cache")
    make = partial(
        make_runtime,
        source_root=ROOT,
        node_modules=Path(os.environ["HANDBOOK_NODE_MODULES"]),
        # Nothing is run in it.
        node=Path(sys.executable),
        out_dir=tmp_path / "out",
        cache_dir=tmp_path / "cache",
        progress=Progress(),
        draft=True,
    )
    draft = make()
    whole, less = read_manifest(runtime_release), read_manifest(draft)
    assert whole["files"].keys() - less["files"].keys() == {"snapshot.bin"}
    assert draft.hash == less["release"] != whole["release"]
    assert less["inputs"] == whole["inputs"]
    library, full = (read_zip(release, "library.bin") for release in (draft, runtime_release))
    own = [name for name in full if name.startswith("calculators/")]
    assert own == [name for name in library if name.startswith("calculators/")]
    assert [library[name] for name in own] == [full[name] for name in own]
    assert full.keys() < library.keys()
    for slug in SLUGS:
        name = f"part-{slug}.bin"
        part, other = (read_zip(release, name) for release in (draft, runtime_release))
        del part["methods.bin"], other["methods.bin"]  # needs a trial run, and only saves time
        assert part == other
    # Made once, taken from the cache from then on; and never for a release that is there already.
    made = {path: path.stat().st_mtime_ns for path in draft.folder.iterdir()}
    assert make() == draft
    assert {path: path.stat().st_mtime_ns for path in draft.folder.iterdir()} == made


def test_no_draft_is_made_where_the_release_is_kept(
    make_release: MakeRelease, runtime_release: Release, tmp_path: Path
) -> None:
    draft = make_runtime(
        source_root=ROOT,
        node_modules=Path(os.environ["HANDBOOK_NODE_MODULES"]),
        node=Path(os.environ["HANDBOOK_NODE"]),
        out_dir=tmp_path / "out",
        cache_dir=KEPT,
        progress=Progress(),
        draft=True,
    )
    assert draft.hash == runtime_release.hash


def test_a_draft_whose_list_of_calculators_fails_says_so(sources: Path, tmp_path: Path) -> None:
    broken = copy_sources(tmp_path / "broken")
    listed = broken / "calculators" / "__init__.py"
    listed.write_text(listed.read_text("utf-8") + "\nSLUGS[99]\n", "utf-8")
    with pytest.raises(RuntimeBuildError, match=r"^calculators/__init__\.py .*IndexError"):
        list_slugs(broken)
    assert list_slugs(sources) == list(SLUGS)


def read_zip(release: Release, name: str) -> dict[str, object]:
    """Read the files in it by name, compiled code as such: its bytes also tell which texts it shares."""
    files = {file: open_zip(release, name).read(file) for file in open_zip(release, name).namelist()}
    return {file: marshal.loads(data[16:]) if file.endswith(".pyc") else data for file, data in files.items()}


@pytest.mark.parametrize("kind", ["runtime-{:064x}", "draft-{:064x}", "{:016x}"])
def test_folders_that_no_make_has_left_in_the_cache_are_not_forgotten(tmp_path: Path, kind: str) -> None:
    names = [kind.format(number) for number in range(KEPT_RELEASES + 1)]
    for age, name in enumerate([*names, "runtime-notes"]):
        (tmp_path / name).mkdir()
        os.utime(tmp_path / name, (1_700_000_000 - age, 1_700_000_000 - age))
    forget_old_releases(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == [*names[:KEPT_RELEASES], "runtime-notes"]


def test_failed_make_leaves_nothing_half_made(
    make_release: MakeRelease, sources: Path, tmp_path: Path
) -> None:
    broken = copy_sources(tmp_path / "broken")
    answers = broken / "calculators" / "answers.py"
    answers.write_text(answers.read_text("utf-8") + "\nraise ValueError('spoilt on purpose')\n", "utf-8")
    with pytest.raises(RuntimeBuildError, match="spoilt on purpose"):
        make_release(broken, tmp_path / "out", tmp_path / "cache")
    assert [
        path.name
        for path in (tmp_path / "cache").iterdir()
        if not path.name.startswith(("interpreter-", "standard-library-"))
    ] == []
    assert not (tmp_path / "out").exists()


def test_missing_npm_package_is_named(tmp_path: Path) -> None:
    with pytest.raises(RuntimeBuildError, match=r"pyodide\.js is missing: install the npm packages"):
        make_runtime(ROOT, tmp_path, Path(sys.executable), tmp_path / "out", tmp_path / "cache", Progress())


def test_unusable_metadata_is_named(sources: Path, tmp_path: Path) -> None:
    broken = copy_sources(tmp_path / "broken")
    (broken / "pyproject.toml").write_text("[project]\nname = 'a'\n", "utf-8")
    with pytest.raises(RuntimeBuildError, match=r"pyproject\.toml: the calculators' wheel cannot be built"):
        build_wheel(broken, tmp_path)


def test_imports_are_found_wherever_they_stand(tmp_path: Path) -> None:
    wheel = tmp_path / "a.whl"
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("a/b.py", "import json\ndef f():\n    from decimal import Decimal\n")
        archive.writestr("a/__main__.py", "import argparse\n")
    assert find_imported_names(wheel) == ["decimal", "decimal.Decimal", "json"]
