"""Makes one release of the browser's runtime: every file under one hash, so that no two can be mixed.

The steps: wheel, compilation, a trial run in Node that shows what is imported, the trimmed library, the
snapshot, the manifest. The result is kept by the hash of all that it is made from; a second call copies it.

A draft is for the eyes of an author who waits: without trial run, snapshot and Node, and not compressed. Its
library holds all of the standard library, which is compiled once and kept, so only the calculators are left.
"""

import gzip
import hashlib
import io
import json
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from build_scripts.environment.progress import Progress
from build_scripts.hashes import hash_files
from build_scripts.lines import settle_line_ends
from build_scripts.materials.page import render_runtime_licences
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.exports import find_used_exports
from build_scripts.runtime.interpreter import INTERPRETER, OPTIMISER, trim_interpreter
from build_scripts.runtime.kept_file import keep_file
from build_scripts.runtime.library import (
    PACKAGE,
    build_wheel,
    compile_at_once,
    compile_library,
    compile_standard_library,
    find_imported_names,
    list_modules,
    list_slugs,
    list_tables,
    pack_library,
    read_files,
    read_package,
    read_sources,
    split_parts,
)
from build_scripts.runtime.node import HERE, NodeStep, run_node

WORKERS = tuple(HERE.parent / "browser" / name for name in ("files.js", "worker.js"))
MANIFEST = "manifest.json"
LIBRARY = "library.bin"
SNAPSHOT = "snapshot.bin"
PART = "part-{}.bin"
"""What belongs to one calculator alone, by its slug."""
LICENCES = "licences.txt"
START = HERE / "interpreter_start.py"
KEPT_RELEASES = 4
"""How many finished releases of a kind stay in the cache; each takes 15 MB."""
_HASH = re.compile(r"[0-9a-f]{16}")
_KINDS = (re.compile("runtime-[0-9a-f]{64}"), re.compile("draft-[0-9a-f]{64}"), _HASH)
_SMALL, _QUICK = 9, 0
"""How hard gzip tries: for readers, and not at all for a draft."""

NODE_LIMIT = 180.0
"""Seconds that Python in Node may take for one step: some fifty times what it needs on two cores."""

_ENDLESS = (
    "probably one of them never comes to an end, when it is imported, with its example or with its defaults: "
    "try each with “compute”"
)
TRACE = NodeStep("freeze.mjs", "trace the calculators", _ENDLESS)
FREEZE = NodeStep("freeze.mjs", "freeze the calculators", _ENDLESS)

LIBRARY_PATH = "/lib/python313.zip"
"""Where Pyodide puts its standard library and Python looks for it."""
PYODIDE_SCRIPTS = ("pyodide.js", "pyodide.asm.js")
PYODIDE_FILES = (*PYODIDE_SCRIPTS, INTERPRETER)
PACKAGES = ("binaryen", "pyodide")
"""The npm packages that a release is made with."""


@dataclass(frozen=True)
class Release:
    """One release of the runtime, in a folder that bears its name."""

    hash: str
    """SHA-256 of its manifest, which lists those of all its files, shortened to 16 characters."""

    folder: Path
    """Where its files are; the folder is called by the hash."""


def make_runtime(
    source_root: Path,
    node_modules: Path,
    node: Path,
    out_dir: Path,
    cache_dir: Path,
    progress: Progress,
    limit: float = NODE_LIMIT,
    *,
    draft: bool = False,
) -> Release:
    """Make the release for the calculators in `source_root` and put it into `out_dir/<hash>`.

    Args:
        source_root: folder of pyproject.toml and calculators/.
        node_modules: folder that holds the npm packages `pyodide` and `binaryen`.
        node: the Node program.
        out_dir: where the release's folder goes.
        cache_dir: where finished releases are kept between builds.
        progress: shows each long step.
        limit: seconds that a calculator's code may take in one of the steps.
        draft: whether a draft will do, where there is not yet the release itself.

    A kept file that is no longer what it was when it was made is never handed out: it is made again.

    Raises:
        RuntimeBuildError: a step failed, or took too long; says which and why.
    """
    pyodide = node_modules / "pyodide"
    needed = (*PYODIDE_FILES, "pyodide.mjs", "python_stdlib.zip", "pyodide-lock.json")
    for path in (*(pyodide / name for name in needed), node_modules / OPTIMISER):
        if not path.is_file():
            raise RuntimeBuildError(f"{path} is missing: install the npm packages of the handbook again.")
    inputs = compute_inputs(source_root)
    key = _compute_key(inputs, node)
    kept = cache_dir / f"runtime-{key}"
    draft = draft and not is_whole(kept)
    if draft:
        kept = cache_dir / f"draft-{key}"
    release = _read_hash(kept)
    if not (release and is_whole(out_dir / release)):
        if not is_whole(kept):
            cache_dir.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(dir=cache_dir, prefix="making-") as made:
                folder = Path(made) / "release"
                folder.mkdir()
                exports = _find_exports(pyodide)
                trimmed = trim_interpreter(node_modules, node, exports, _read_locked(), cache_dir, progress)
                if draft:
                    packed = _make_draft(source_root, pyodide, cache_dir, progress)
                    _write_files(pyodide, trimmed, inputs, packed, folder, _QUICK)
                else:
                    packed = _make_files(source_root, pyodide, node, trimmed, inputs, progress, limit)
                    with progress.show_step("packing the browser's Python"):
                        _write_files(pyodide, trimmed, inputs, packed, folder, _SMALL)
                _put(folder, kept)
            forget_old_releases(cache_dir)
        release = _read_hash(kept)
        out_dir.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=out_dir, prefix=".copying-") as made:
            _put(Path(shutil.copytree(kept, Path(made) / "release")), out_dir / release)
    # The oldest goes first, and this one is not.
    os.utime(out_dir / release)
    forget_old_releases(out_dir)
    return Release(release, out_dir / release)


def is_whole(release: Path) -> bool:
    """Return whether the release in this folder is byte for byte what it was when it was made."""
    try:
        text = (release / MANIFEST).read_text("utf-8")
        manifest = json.loads(text)
        listed = {name: file["sha256"] for name, file in manifest["files"].items()}
        found = hash_files(release)
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        return False
    del found[MANIFEST]
    return found == listed and text == render_manifest(manifest)


def render_manifest(described: Mapping[str, object]) -> str:
    """Return a release's manifest as its file holds it: what is `described`, and the hash over that."""
    rest = {name: value for name, value in described.items() if name != "release"}
    release = hashlib.sha256(json.dumps(rest, sort_keys=True).encode()).hexdigest()[:16]
    return json.dumps({**rest, "release": release}, indent=1, sort_keys=True) + "\n"


def _read_hash(release: Path) -> str:
    """Read the hash by which a release is called; "" where none can be read."""
    try:
        found = json.loads((release / MANIFEST).read_text("utf-8"))["release"]
    except (OSError, ValueError, LookupError, TypeError):
        return ""
    return found if isinstance(found, str) and _HASH.fullmatch(found) else ""


def compute_inputs(source_root: Path) -> str:
    """Compute the hash of everything that a release is made from.

    It is written into the release, and so leaves out where things are and what ends their lines: two
    checkouts make the same release.
    """
    digest = hashlib.sha256()
    sources = [source_root / "pyproject.toml"]
    sources += sorted(
        path
        for path in (source_root / PACKAGE).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    )
    for path in sources:
        _add(digest, path.relative_to(source_root).as_posix(), path)
    for path in sorted([*HERE.glob("*.py"), *HERE.glob("*.mjs"), *WORKERS]):
        _add(digest, path.name, path)
    digest.update(_write_licences().encode())
    digest.update(_read_locked().encode())
    # Its compiler writes what the browser runs, in a form that all patches of a minor version share.
    digest.update("{}.{}".format(*sys.version_info).encode())
    return digest.hexdigest()


def _read_locked() -> str:
    """Return the hashes against which npm has checked the packages: nothing of them has to be read again."""
    lock = json.loads((HERE / "package-lock.json").read_text("utf-8"))
    return " ".join(lock["packages"][f"node_modules/{name}"]["integrity"] for name in PACKAGES)


def _find_exports(pyodide: Path) -> list[str]:
    """List what of the interpreter's exports Pyodide's scripts and ours name."""
    own = (HERE / FREEZE.script, *WORKERS)
    scripts = "".join((pyodide / name).read_text("utf-8") for name in PYODIDE_SCRIPTS)
    return find_used_exports(scripts, "".join(path.read_text("utf-8") for path in own))


def _compute_key(inputs: str, node: Path) -> str:
    """Compute the hash by which this machine keeps a release: another Node or Python makes it anew."""
    program = node.resolve()
    made_by = f"{sys.version} {program} {program.stat().st_size} {program.stat().st_mtime_ns}"
    return hashlib.sha256(f"{inputs} {made_by}".encode()).hexdigest()


def _add(digest: "hashlib._Hash", name: str, path: Path) -> None:
    data = settle_line_ends(path.read_bytes())
    digest.update(f"{name}\0{len(data)}\0".encode())
    digest.update(data)


def _make_files(
    source_root: Path,
    pyodide: Path,
    node: Path,
    interpreter: bytes,
    inputs: str,
    progress: Progress,
    limit: float,
) -> dict[str, bytes]:
    """Make what depends on the calculators; return it by the names of the files."""
    settings = _read_settings(pyodide)
    with tempfile.TemporaryDirectory() as scratch_name:
        scratch = Path(scratch_name)
        library = scratch / "library.zip"
        trimmed = scratch / "pyodide"
        trimmed.mkdir()
        for name in (*PYODIDE_SCRIPTS, "pyodide.mjs", "package.json"):
            shutil.copyfile(pyodide / name, trimmed / name)
        (trimmed / INTERPRETER).write_bytes(interpreter)
        common = {"pyodide": str(trimmed.resolve()), "library": str(library), "settings": settings}
        with progress.show_step("finding out what the calculators import"):
            wheel = build_wheel(source_root, scratch)
            sources = read_sources(pyodide / "python_stdlib.zip", START, wheel)
            library.write_bytes(pack_library(sources, sources))
            modules = find_imported_names(wheel)
            options = {**common, "task": "trace", "modules": modules}
            traced = json.loads(run_node(node, TRACE, options, scratch, limit))
            imported = {origin.split(".zip/", 1)[1] for origin in traced["origins"]}
        with progress.show_step("compiling that and the calculators"):
            compiled = compile_library(sources, imported, wheel, scratch)
            files, parts = split_parts(compiled, traced["slugs"], traced["methods"])
            library.write_bytes(pack_library(files, files))
        with progress.show_step("freezing the interpreter with what all calculators share in its memory"):
            held = {"modules": list_modules(files), "tables": list_tables(files)}
            options = {**common, "task": "freeze", "inputs": inputs, **held}
            snapshot = run_node(node, FREEZE, options, scratch, limit)
            return {LIBRARY: library.read_bytes(), SNAPSHOT: snapshot, **_pack_parts(parts)}


def _make_draft(source_root: Path, pyodide: Path, cache_dir: Path, progress: Progress) -> dict[str, bytes]:
    def compile_all(scratch: Path) -> bytes:
        sources = read_files(pyodide / "python_stdlib.zip")
        with progress.show_step("compiling Python's own library (once; it is kept)"):
            files = compile_standard_library(sources, sources, scratch)
        return pack_library(files, files)

    standard = keep_file(cache_dir, "standard-library", (_read_locked(), sys.version), compile_all)
    start = {START.name: settle_line_ends(START.read_bytes())}
    compiled = compile_at_once(start | read_package(source_root))
    files, parts = split_parts(compiled, list_slugs(source_root), {})
    files |= read_files(io.BytesIO(standard))
    return {LIBRARY: pack_library(files, files), **_pack_parts(parts)}


def _pack_parts(parts: Mapping[str, dict[str, bytes]]) -> dict[str, bytes]:
    return {PART.format(slug): pack_library(part, part) for slug, part in parts.items()}


def _write_files(
    pyodide: Path, interpreter: bytes, inputs: str, packed: Mapping[str, bytes], folder: Path, level: int
) -> None:
    for name, data in packed.items():
        (folder / name).write_bytes(gzip.compress(data, level, mtime=0))
    for name in PYODIDE_SCRIPTS:
        shutil.copyfile(pyodide / name, folder / name)
    (folder / INTERPRETER).write_bytes(interpreter)
    for worker in WORKERS:
        (folder / worker.name).write_bytes(settle_line_ends(worker.read_bytes()))
    (folder / LICENCES).write_text(_write_licences(), "utf-8", newline="\n")
    described = {
        "files": describe_files(folder, level),
        "inputs": inputs,
        "settings": _read_settings(pyodide),
        "library_path": LIBRARY_PATH,
    }
    (folder / MANIFEST).write_text(render_manifest(described), "utf-8", newline="\n")


def _write_licences() -> str:
    # Those of the calculators' parts are the library's.
    return render_runtime_licences((*PYODIDE_FILES, LIBRARY, SNAPSHOT, *(path.name for path in WORKERS)))


def describe_files(folder: Path, level: int = _SMALL) -> dict[str, object]:
    """Describe each file of the release in `folder`: size, size compressed at this level, and hash."""
    files: dict[str, object] = {}
    for path in sorted(folder.iterdir()):
        data = path.read_bytes()
        files[path.name] = {
            "size": len(data),
            "compressed": min(len(data), len(gzip.compress(data, level, mtime=0))),
            "sha256": hashlib.sha256(data).hexdigest(),
        }
    return files


def _read_settings(pyodide: Path) -> dict[str, object]:
    """Make the settings for loadPyodide, the same in Node and in the browser: no package is ever loaded."""
    lock = json.loads((pyodide / "pyodide-lock.json").read_text("utf-8"))
    return {
        "env": {"HOME": "/home/pyodide", "PYTHONHASHSEED": "0"},
        "lockFileContents": {"info": lock["info"], "packages": {}},
    }


def forget_old_releases(cache_dir: Path) -> None:
    """Remove the oldest finished releases from the folder in which they are kept, and nothing else."""
    for kind in _KINDS:
        kept = [folder for folder in cache_dir.iterdir() if kind.fullmatch(folder.name)]
        kept.sort(key=lambda folder: folder.stat().st_mtime, reverse=True)
        for folder in kept[KEPT_RELEASES:]:
            shutil.rmtree(folder, ignore_errors=True)


def _put(folder: Path, target: Path) -> None:
    """Give a finished folder its final name; if another build was quicker, its equal is there already."""
    if not is_whole(target):
        shutil.rmtree(target, ignore_errors=True)
    try:
        folder.rename(target)
    except OSError:
        if not target.is_dir():
            raise
