"""Programs of the machine: found by name, tried out, and remembered so that a second start need not ask."""

from __future__ import annotations

import json
import os
import shutil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from build_scripts.environment.places import Places


def find_on_path(names: Iterable[str]) -> list[str]:
    """Every program of these names in every folder of PATH: the first one may be a shim that does not run."""
    folders = os.environ.get("PATH", os.defpath).split(os.pathsep)
    found: list[str] = []
    for name in names:
        for folder in folders:
            program = shutil.which(name, path=folder) if folder else None
            if program and program not in found:
                found.append(program)
    return found


def find_working(candidates: Iterable[str], works: Callable[[str], bool]) -> str | None:
    """The first candidate that is there and works."""
    return next((path for path in candidates if os.path.isfile(path) and works(path)), None)


def find_remembered(places: Places, role: str) -> str | None:
    """The program that was tried out for this role before, unless it has gone or changed since."""
    try:
        with open(_find_record(places, role), encoding="utf-8") as file:
            record = json.load(file)
    except (OSError, ValueError):
        return None
    path = record.get("path", "")
    return path if _describe(path) == record.get("state") else None


def remember_program(places: Places, role: str, path: str) -> str:
    """Note the program that works for this role, and return it."""
    record = _find_record(places, role)
    os.makedirs(os.path.dirname(record), exist_ok=True)
    with open(record, "w", encoding="utf-8") as file:
        json.dump({"path": path, "state": _describe(path)}, file)
    return path


def _find_record(places: Places, role: str) -> str:
    return os.path.join(places.cache, "programs", role + ".json")


def _describe(path: str) -> list[int] | None:
    try:
        status = os.stat(path)
    except OSError:
        return None
    return [status.st_size, status.st_mtime_ns]
