"""Writes the script that carries what a page without a server cannot fetch: Python."""

import gzip
import json
import shutil
from base64 import b64encode
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


def _pack(path: Path) -> bytes:
    # As the release's other large files are already.
    data = path.read_bytes()
    return gzip.compress(data, 9, mtime=0) if path.suffix == ".wasm" else data


def _join(*parts: Path) -> str:
    return "\n".join(part.read_text("utf-8") for part in parts)
