"""Keeps what one build has found out for the next, as long as what it was made by is the same."""

import json
import os
import sys
from collections.abc import Collection, Iterable
from hashlib import sha256
from pathlib import Path
from typing import Any


def read_kept(file: Path, made_by: str) -> Any:
    """Return what was kept in `file`, or None if that was made by something else or cannot be read."""
    try:
        kept = json.loads(file.read_text("utf-8"))
        return kept["kept"] if kept["made_by"] == made_by else None
    except (OSError, ValueError, KeyError, TypeError):
        # Whatever is wrong with it, it can be made again.
        return None


def keep(file: Path, made_by: str, value: Any) -> None:
    """Keep `value`, which JSON can hold, and nothing else, in `file`."""
    file.parent.mkdir(parents=True, exist_ok=True)
    # Another build may write at the same time: the file is exchanged whole.
    unfinished = file.with_name(f"{file.name}.{os.getpid()}")
    unfinished.write_text(json.dumps({"made_by": made_by, "kept": value}), "utf-8")
    unfinished.replace(file)


def hash_sources(folders: Iterable[Path], endings: Collection[str]) -> str:
    """Return the SHA-256 of all files in these folders with one of the endings, and of the Python that runs.

    That is named by the environment's folder too, whose name changes with all that is installed in it.
    """
    digest = sha256(f"{sys.version}\0{sys.prefix}\0".encode())
    for folder in folders:
        for path in sorted(path for path in folder.rglob("*") if path.suffix in endings):
            data = path.read_bytes()
            digest.update(f"{path.relative_to(folder).as_posix()}\0{len(data)}\0".encode())
            digest.update(data)
    return digest.hexdigest()
