"""The library that the browser's Python imports from: the calculators and the standard library, compiled.

Compiling is done by `pyodide py-compile`; then only what is really imported is kept. What belongs to one
calculator alone is a part of its own beside the library. The same sources give the same bytes: files are in
the order of their names, dated 1980, and no compiled file dates its source.
"""

import ast
import io
import marshal
import os
import subprocess
import sys
import zipfile
from base64 import b64decode, b64encode
from collections.abc import Iterable, Mapping, Sequence
from importlib.util import MAGIC_NUMBER
from pathlib import Path, PurePosixPath
from typing import BinaryIO

from pyproject_hooks import quiet_subprocess_runner

from build_scripts.lines import settle_line_ends
from build_scripts.runtime.errors import RuntimeBuildError

FIRST_DATE = (1980, 1, 1, 0, 0, 0)
"""The first day a zip file can name."""

PACKAGE = "calculators"

METHODS = "methods.bin"
"""The compiled methods in the part of a calculator."""

NO_METHODS = b64encode(marshal.dumps({}))

REPRODUCIBLE = {"SOURCE_DATE_EPOCH": "315532800", "PYTHONHASHSEED": "0"}
"""Environment under which a build or a compilation gives the same bytes again (1980-01-01 in seconds)."""

_HEADER = 16
_UNCHECKED_HASH = (0b01).to_bytes(4, "little") + bytes(8)


def build_wheel(source_root: Path, folder: Path) -> Path:
    """Build the calculators' pure wheel into `folder` and return its path; its texts have settled line ends.

    Uses the build backend of this environment, without isolation and without network.

    Raises:
        RuntimeBuildError: pyproject.toml cannot be built; says why.
    """
    # Imported here: all other builds take the runtime from the cache and need not wait for it.
    from build import BuildBackendException, BuildException, ProjectBuilder

    def run_quietly(
        cmd: Sequence[str], cwd: str | None = None, extra_environ: Mapping[str, str] | None = None
    ) -> None:
        quiet_subprocess_runner(cmd, cwd, {**(extra_environ or {}), **REPRODUCIBLE})

    try:
        builder = ProjectBuilder(source_root, runner=run_quietly)
        wheel = Path(builder.build("wheel", folder))
    except (BuildException, BuildBackendException, subprocess.CalledProcessError, OSError) as error:
        output = getattr(error, "output", None)
        detail = output.decode(errors="replace").strip().splitlines()[-1:] if output else [str(error)]
        raise RuntimeBuildError(
            f"{source_root / 'pyproject.toml'}: the calculators' wheel cannot be built: {' '.join(detail)}"
        ) from error
    files = {name: settle_line_ends(data) for name, data in read_files(wheel).items()}
    wheel.write_bytes(pack_library(files, files))
    return wheel


def find_imported_names(wheel: Path) -> list[str]:
    """List every module name that the wheel's sources import anywhere, even inside a function never run yet.

    The terminal's entry (`__main__`) is left out: it never runs in the browser.
    """
    names: set[str] = set()
    with zipfile.ZipFile(wheel) as archive:
        for member in archive.namelist():
            if not member.endswith(".py") or member.endswith("__main__.py"):
                continue
            for node in ast.walk(ast.parse(archive.read(member), member)):
                if isinstance(node, ast.Import):
                    names.update(alias.name for alias in node.names)
                elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                    names.add(node.module)
                    names.update(f"{node.module}.{alias.name}" for alias in node.names if alias.name != "*")
    return sorted(names)


def read_sources(standard_library: Path, start: Path, wheel: Path) -> dict[str, bytes]:
    """Read all that the browser's Python could import, uncompiled, by name."""
    return (
        read_files(standard_library)
        | {start.name: settle_line_ends(start.read_bytes())}
        | _keep_package(read_files(wheel))
    )


def compile_library(
    sources: dict[str, bytes], imported: Iterable[str], wheel: Path, folder: Path
) -> dict[str, bytes]:
    """Compile what is imported of the standard library, and the wheel; return their files by name.

    The standard library is compiled without its documentation strings (about a tenth of the snapshot); the
    calculators keep theirs.
    """
    own = _keep_package(sources)
    library = compile_standard_library(sources, [name for name in imported if name not in own], folder)
    before = set(folder.glob("*.whl"))
    _run_py_compile(wheel, {})
    compiled_wheel = (set(folder.glob("*.whl")) - before).pop()
    return library | _strip_source_dates(_keep_package(read_files(compiled_wheel)))


def compile_standard_library(
    sources: dict[str, bytes], names: Iterable[str], folder: Path
) -> dict[str, bytes]:
    """Compile these files of the standard library in an empty `folder`; return them by name."""
    library = folder / "standard_library.zip"
    library.write_bytes(pack_library(sources, names))
    _run_py_compile(library, {"PYTHONOPTIMIZE": "2"})
    return _strip_source_dates(read_files(library))


def compile_at_once(sources: Mapping[str, bytes]) -> dict[str, bytes]:
    """Compile modules in this process, which takes a tenth of the time, and keep other files as they are."""
    files = {name: data for name, data in sources.items() if not name.endswith(".py")}
    for name in sources.keys() - files.keys():
        code = compile(sources[name], name, "exec", dont_inherit=True)
        files[f"{name}c"] = MAGIC_NUMBER + _UNCHECKED_HASH + marshal.dumps(code)
    return files


def read_package(source_root: Path) -> dict[str, bytes]:
    """Read what the wheel holds of the calculators, by name, without building it."""
    files = (path for path in sorted((source_root / PACKAGE).rglob("*")) if path.suffix in (".py", ".toml"))
    return _keep_package(
        {path.relative_to(source_root).as_posix(): settle_line_ends(path.read_bytes()) for path in files}
    )


def list_slugs(source_root: Path) -> list[str]:
    """List the calculators in `source_root`, which need not be those of this process.

    Raises:
        RuntimeBuildError: their list cannot be imported; says why.
    """
    command = [sys.executable, "-P", "-c", "from calculators import SLUGS; print(*SLUGS)"]
    variables = {**os.environ, "PYTHONPATH": str(source_root)}
    done = subprocess.run(command, env=variables, capture_output=True, text=True, check=False)
    if done.returncode:
        told = done.stderr.strip().splitlines()[-1:]
        raise RuntimeBuildError(f"calculators/__init__.py cannot be imported: {' '.join(told)}")
    return done.stdout.split()


def _keep_package(files: dict[str, bytes]) -> dict[str, bytes]:
    """Return the files of the calculators; the terminal's entry never runs in the browser."""
    return {
        name: data
        for name, data in files.items()
        if name.startswith(f"{PACKAGE}/") and not name.startswith(f"{PACKAGE}/__main__.")
    }


def split_parts(
    files: Mapping[str, bytes], slugs: Iterable[str], methods: Mapping[str, str]
) -> tuple[dict[str, bytes], dict[str, dict[str, bytes]]]:
    """Split the library's files into those that all calculators share, and those of each, by its slug.

    `methods` are those of the classes (see interpreter_start.py), in base64, by the calculators' packages.
    """
    shared = dict(files)
    parts: dict[str, dict[str, bytes]] = {}
    for slug in slugs:
        room = slug.replace("-", "_")
        place = f"{PACKAGE}/{room}"
        own = [name for name in shared if name.startswith((f"{place}/", f"{place}."))]
        parts[slug] = {name: shared.pop(name) for name in own}
        parts[slug][METHODS] = b64decode(methods.get(f"{PACKAGE}.{room}", NO_METHODS))
    return shared, parts


def list_modules(files: Iterable[str]) -> list[str]:
    """List the modules that compiled files of these names hold."""
    stems = sorted(name.removesuffix(".pyc") for name in files if name.endswith(".pyc"))
    return [stem.removesuffix("/__init__").replace("/", ".") for stem in stems]


def list_tables(files: Iterable[str]) -> list[str]:
    """List the tables of parts and materials among files of these names."""
    return sorted(
        PurePosixPath(name).stem
        for name in files
        if name.startswith(f"{PACKAGE}/parts/") and name.endswith(".toml")
    )


def pack_library(files: dict[str, bytes], names: Iterable[str]) -> bytes:
    """Zip the named files in the order of their names, uncompressed: the zip is compressed as a whole."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(names):
            member = zipfile.ZipInfo(name, FIRST_DATE)
            member.external_attr = 0o644 << 16
            archive.writestr(member, files[name])
    return buffer.getvalue()


def _run_py_compile(archive: Path, environment: dict[str, str]) -> None:
    command = [sys.executable, "-m", "pyodide_cli", "py-compile", "--silent", "--keep", str(archive)]
    variables = {**os.environ, **REPRODUCIBLE, **environment}
    done = subprocess.run(command, env=variables, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeBuildError(f"pyodide py-compile cannot compile {archive.name}: {done.stderr.strip()}")


def read_files(archive: Path | BinaryIO) -> dict[str, bytes]:
    """Read the files in a zip or wheel, by name."""
    with zipfile.ZipFile(archive) as source:
        return {name: source.read(name) for name in source.namelist() if not name.endswith("/")}


def _strip_source_dates(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Mark compiled files as not to be checked against a source (PEP 552): there is none in the browser."""
    return {
        name: data[:4] + _UNCHECKED_HASH + data[_HEADER:] if name.endswith(".pyc") else data
        for name, data in files.items()
    }
