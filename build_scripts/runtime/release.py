"""Makes one release of the browser's runtime: every file under one hash, so that no two can be mixed.

The steps: wheel, compilation, a trial run in Node that shows what is imported, the trimmed library, the
snapshot, the manifest. The result is kept by the hash of all that it is made from; a second call copies it.
"""

import gzip
import hashlib
import json
import platform
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from build_scripts.environment.progress import Progress
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.exports import find_used_exports
from build_scripts.runtime.library import (
    PACKAGE,
    build_wheel,
    compile_library,
    find_imported_names,
    pack_library,
    read_sources,
)

HERE = Path(__file__).parent
WORKERS = tuple(HERE.parent / "browser" / name for name in ("files.js", "worker.js"))
MANIFEST = "manifest.json"
LIBRARY = "library.bin"
SNAPSHOT = "snapshot.bin"
LICENCES = "licences.txt"
KEPT_RELEASES = 4
"""How many finished releases stay in the cache; each takes 15 MB."""

LIBRARY_PATH = "/lib/python313.zip"
"""Where Pyodide puts its standard library and Python looks for it."""
PYODIDE_SCRIPTS = ("pyodide.js", "pyodide.asm.js")
PYODIDE_FILES = (*PYODIDE_SCRIPTS, "pyodide.asm.wasm")


@dataclass(frozen=True)
class Release:
    """One release of the runtime, in a folder that bears its name."""

    hash: str
    """SHA-256 over all its files, shortened to 16 characters."""

    folder: Path
    """Where its files are; the folder is called by the hash."""


def make_runtime(
    source_root: Path, node_modules: Path, node: Path, out_dir: Path, cache_dir: Path, progress: Progress
) -> Release:
    """Make the release for the calculators in `source_root` and put it into `out_dir/<hash>`.

    Args:
        source_root: folder of pyproject.toml and calculators/.
        node_modules: folder that holds the npm package `pyodide`.
        node: the Node program.
        out_dir: where the release's folder goes.
        cache_dir: where finished releases are kept between builds.
        progress: shows each long step.

    Raises:
        RuntimeBuildError: a step failed; says which and why.
    """
    pyodide = node_modules / "pyodide"
    for needed in (*PYODIDE_FILES, "pyodide.mjs", "python_stdlib.zip", "pyodide-lock.json"):
        if not (pyodide / needed).is_file():
            raise RuntimeBuildError(
                f"{pyodide / needed} is missing: install the npm packages of the handbook again."
            )
    inputs = compute_inputs(source_root)
    kept = cache_dir / f"runtime-{_compute_key(inputs, node)}"
    if not kept.is_dir():
        cache_dir.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=cache_dir, prefix="making-") as made:
            folder = Path(made) / "release"
            folder.mkdir()
            _make_files(source_root, pyodide, node, inputs, folder, progress)
            _move(folder, kept)
        _forget_old_releases(cache_dir)
    release: str = json.loads((kept / MANIFEST).read_text("utf-8"))["release"]
    target = out_dir / release
    if not target.is_dir():
        out_dir.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=out_dir, prefix=".copying-") as made:
            _move(Path(shutil.copytree(kept, Path(made) / "release")), target)
    return Release(release, target)


def compute_inputs(source_root: Path) -> str:
    """Compute the hash of everything that a release is made from.

    It is written into the release, and so leaves out where things are: two checkouts make the same release.
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
    for path in sorted([*HERE.glob("*.py"), *HERE.glob("*.mjs"), HERE / LICENCES, *WORKERS]):
        _add(digest, path.name, path)
    # npm has checked the package against this hash: nothing of its 20 MB has to be read again.
    lock = json.loads((HERE / "package-lock.json").read_text("utf-8"))
    digest.update(lock["packages"]["node_modules/pyodide"]["integrity"].encode())
    digest.update(platform.python_version().encode())
    return digest.hexdigest()


def _compute_key(inputs: str, node: Path) -> str:
    """Compute the hash by which this machine keeps a release: another Node or Python makes it anew."""
    program = node.resolve()
    made_by = f"{sys.version} {program} {program.stat().st_size} {program.stat().st_mtime_ns}"
    return hashlib.sha256(f"{inputs} {made_by}".encode()).hexdigest()


def _add(digest: "hashlib._Hash", name: str, path: Path) -> None:
    data = path.read_bytes()
    digest.update(f"{name}\0{len(data)}\0".encode())
    digest.update(data)


def _make_files(
    source_root: Path, pyodide: Path, node: Path, inputs: str, folder: Path, progress: Progress
) -> None:
    settings = _read_settings(pyodide)
    exports = find_used_exports("".join((pyodide / name).read_text("utf-8") for name in PYODIDE_SCRIPTS))
    with tempfile.TemporaryDirectory() as scratch_name:
        scratch = Path(scratch_name)
        library = scratch / "library.zip"
        common = {"pyodide": str(pyodide.resolve()), "library": str(library), "settings": settings}
        with progress.show_step("finding out what the calculators import"):
            wheel = build_wheel(source_root, scratch)
            sources = read_sources(pyodide / "python_stdlib.zip", HERE / "interpreter_start.py", wheel)
            library.write_bytes(pack_library(sources, sources))
            modules = find_imported_names(wheel)
            traced = _run_node(node, {**common, "task": "trace", "modules": modules}, scratch)
            imported = {origin.split(".zip/", 1)[1] for origin in json.loads(traced)}
        with progress.show_step("compiling that and the calculators"):
            files = compile_library(sources, imported, wheel, scratch)
            trimmed = pack_library(files, files)
        with progress.show_step("freezing the interpreter with the calculators in its memory"):
            library.write_bytes(trimmed)
            freezing: dict[str, object] = {**common, "task": "freeze", "inputs": inputs, "exports": exports}
            snapshot = _run_node(node, freezing, scratch)
    with progress.show_step("packing the browser's Python"):
        _pack_files(pyodide, folder, trimmed, snapshot)
        manifest = describe_files(folder) | {
            "inputs": inputs,
            "settings": settings,
            "exports": exports,
            "library_path": LIBRARY_PATH,
        }
        (folder / MANIFEST).write_text(json.dumps(manifest, indent=1, sort_keys=True) + "\n", "utf-8")


def _pack_files(pyodide: Path, folder: Path, library: bytes, snapshot: bytes) -> None:
    (folder / LIBRARY).write_bytes(gzip.compress(library, 9, mtime=0))
    (folder / SNAPSHOT).write_bytes(gzip.compress(snapshot, 9, mtime=0))
    for name in PYODIDE_FILES:
        shutil.copyfile(pyodide / name, folder / name)
    for worker in WORKERS:
        shutil.copyfile(worker, folder / worker.name)
    shutil.copyfile(HERE / LICENCES, folder / LICENCES)


def describe_files(folder: Path) -> dict[str, object]:
    """Describe the release in `folder`: its hash, and of each file size, compressed size and hash."""
    files = {}
    for path in sorted(folder.iterdir()):
        data = path.read_bytes()
        files[path.name] = {
            "size": len(data),
            "compressed": min(len(data), len(gzip.compress(data, 9, mtime=0))),
            "sha256": hashlib.sha256(data).hexdigest(),
        }
    lines = "".join(f"{name} {file['sha256']}\n" for name, file in files.items())
    return {"release": hashlib.sha256(lines.encode()).hexdigest()[:16], "files": files}


def _read_settings(pyodide: Path) -> dict[str, object]:
    """Make the settings for loadPyodide, the same in Node and in the browser: no package is ever loaded."""
    lock = json.loads((pyodide / "pyodide-lock.json").read_text("utf-8"))
    return {
        "env": {"HOME": "/home/pyodide", "PYTHONHASHSEED": "0"},
        "lockFileContents": {"info": lock["info"], "packages": {}},
    }


def _run_node(node: Path, options: dict[str, object], scratch: Path) -> bytes:
    output = scratch / "output"
    description = scratch / "options.json"
    description.write_text(json.dumps({**options, "output": str(output)}), "utf-8")
    done = subprocess.run(
        [str(node), str(HERE / "freeze.mjs"), str(description)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    if done.returncode:
        # Pyodide itself may print lines of its script, which are a million characters long.
        lines = [line for line in done.stderr.splitlines() if line.strip() and len(line) < 500]
        raise RuntimeBuildError(f"Python in Node could not {options['task']}:\n" + "\n".join(lines[-30:]))
    return output.read_bytes()


def _forget_old_releases(cache_dir: Path) -> None:
    kept = sorted(cache_dir.glob("runtime-*"), key=lambda folder: folder.stat().st_mtime, reverse=True)
    for folder in kept[KEPT_RELEASES:]:
        shutil.rmtree(folder, ignore_errors=True)


def _move(folder: Path, target: Path) -> None:
    """Give a finished folder its final name; if another build was quicker, its equal is there already."""
    try:
        folder.rename(target)
    except OSError:
        if not target.is_dir():
            raise
