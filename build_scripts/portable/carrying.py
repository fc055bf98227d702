"""Writes the scripts that carry what a page without a server cannot fetch: Python, the search, its index."""

import gzip
import json
import shutil
from base64 import b64encode
from collections.abc import Mapping
from pathlib import Path

from build_scripts.runtime.interpreter import INTERPRETER
from build_scripts.runtime.release import LIBRARY, LICENCES, MANIFEST, PART, SNAPSHOT

CARRIED_SOURCE = Path(__file__).parent.parent / "browser" / "carried.js"

FILES = (MANIFEST, INTERPRETER, SNAPSHOT, LIBRARY, PART.format("*"))
"""Patterns of what files.js hands over."""

WORKER_PARTS = {"files.js": ("files.js",), "worker.js": ("pyodide.js", "pyodide.asm.js", "worker.js")}
"""The parts of each worker's text in their order: Pyodide's scripts stand before the one that needs them."""


def carry_release(release: Path, script: Path) -> None:
    """Write the script that carries the release in the folder `release`, and the licences beside it."""
    texts = {name: _join(*(release / part for part in parts)) for name, parts in WORKER_PARTS.items()}
    found = [path for pattern in FILES for path in sorted(release.glob(pattern))]
    files = {path.name: b64encode(_pack(path)).decode() for path in found}
    script.parent.mkdir(parents=True)
    script.write_text(
        "// Carries one release of the calculators' Python (see carried.js); licences.txt is beside it.\n"
        f"handbookCarried.add({json.dumps(texts)});\nhandbookCarried.release = {json.dumps(files)};\n",
        "utf-8",
        newline="\n",
    )
    shutil.copyfile(release / LICENCES, script.with_name(LICENCES))


def carry_search(site: Path, script: Path) -> None:
    """Write carried.js as `script`, with the text of the theme's search worker behind it."""
    theme = site / "assets" / "javascripts"
    (worker,) = (theme / "workers").glob("search.*.js")
    index = json.loads((site / "search" / "search_index.json").read_text("utf-8"))
    text = render_imports(_read_stemmers(theme / "lunr", index["config"]["lang"])) + worker.read_text("utf-8")
    added = f"handbookCarried.add({json.dumps({worker.name: text})});\n"
    script.write_text(CARRIED_SOURCE.read_text("utf-8") + added, "utf-8", newline="\n")


def carry_index(search: Path) -> Path:
    """Turn the index of the search into the script that the theme asks for where there is no server."""
    index = search / "search_index.json"
    script = index.with_suffix(".js")
    script.write_text(f"var __index = {index.read_text('utf-8')};\n", "utf-8", newline="\n")
    index.unlink()
    return script


def render_imports(scripts: Mapping[str, str]) -> str:
    """Return the text that stands before a worker which imports these scripts by name; empty for none."""
    if not scripts:
        return ""
    held = ",\n".join(f"{json.dumps(name)}() {{\n{text}\n}}" for name, text in scripts.items())
    return (
        f"const held = {{\n{held}\n}};\nself.importScripts = (...addresses) => "
        'addresses.forEach((address) => held[address.split("/").at(-1)].call(self));\n'
    )


def _read_stemmers(lunr: Path, languages: list[str]) -> dict[str, str]:
    """Read the scripts that the theme's search worker imports for these languages; English needs none."""
    names = {
        "lunr.stemmer.support.min.js",
        "lunr.multi.min.js",
        *(f"lunr.{language}.min.js" for language in languages),
        *(["tinyseg.js"] if "ja" in languages else []),
        *(["wordcut.js"] if {"hi", "th"} & set(languages) else []),
    }
    if set(languages) == {"en"}:
        return {}
    return {path.name: path.read_text("utf-8") for path in sorted(lunr.rglob("*.js")) if path.name in names}


def _pack(path: Path) -> bytes:
    # As the release's other large files are already.
    data = path.read_bytes()
    return gzip.compress(data, 9, mtime=0) if path.suffix == ".wasm" else data


def _join(*parts: Path) -> str:
    return "\n".join(part.read_text("utf-8") for part in parts)
