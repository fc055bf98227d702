"""Reads everything in calculators/ and lets it pass only if it keeps the rules.

The terminal is used in a hurry: what has passed is remembered by the hash of all of it, and is not read as
syntax twice. One changed byte, and everything is checked again.
"""

import contextlib
import hashlib
import os
import sys
from collections.abc import Mapping

from build_scripts.errors import BuildError

PASSED = "calculators-passed"
"""The file in the cache with the hash of what has passed last."""


def check_calculators(folder: str, cache: str) -> None:
    """Make sure that all in `folder` keeps the rules; nothing of it is imported or run.

    Raises BuildError with what was found, with file and line, and what is allowed.
    """
    files = read_files(folder)
    digest = compute_digest(files)
    passed = os.path.join(cache, PASSED)
    with contextlib.suppress(OSError), open(passed, encoding="ascii", errors="replace") as file:
        if file.read() == digest:
            return
    # Imported late: reading syntax takes longer than all the rest of it.
    from build_scripts.house_rules.rules import find_problems

    problems = find_problems(files)
    if problems:
        told = "Nothing in calculators/ was run. DEVELOPERS.md, “Add a calculator”, says what it may use."
        raise BuildError("\n".join([*map(str, problems), told]))
    # A cache that cannot be written costs a second, not the answer.
    with contextlib.suppress(OSError):
        unfinished = f"{passed}.{os.getpid()}"
        with open(unfinished, "w", encoding="ascii") as file:
            file.write(digest)
        os.replace(unfinished, passed)


def read_files(folder: str) -> dict[str, bytes | None]:
    """Read all that lies below `folder`, by path from there; None for a link and the like."""
    if os.path.islink(folder):
        return {"": None}
    found: dict[str, bytes | None] = {}
    waiting = [""]
    while waiting:
        inside = waiting.pop()
        with os.scandir(os.path.join(folder, inside)) as entries:
            for entry in entries:
                path = inside + entry.name
                if entry.is_dir(follow_symlinks=False):
                    waiting.append(f"{path}/")
                elif not entry.is_file(follow_symlinks=False):
                    found[path] = None
                elif not is_compiled(path):
                    with open(entry.path, "rb") as file:
                        found[path] = file.read()
    return found


def is_compiled(path: str) -> bool:
    """Whether this is code compiled beside its source: the command has Python keep and seek it elsewhere."""
    return path.endswith(".pyc") and path.split("/")[-2:-1] == ["__pycache__"]


def compute_digest(files: Mapping[str, bytes | None]) -> str:
    """Compute the hash of these files and of what judges them: this Python and these rules."""
    digest = hashlib.sha256(sys.version.encode())
    rules = os.path.dirname(os.path.abspath(__file__))
    for judging in sorted(name for name in os.listdir(rules) if name.endswith(".py")):
        with open(os.path.join(rules, judging), "rb") as file:
            _add(digest, judging, file.read())
    for path in sorted(files):
        _add(digest, path, files[path])
    return digest.hexdigest()


def _add(digest: "hashlib._Hash", name: str, content: bytes | None) -> None:
    size = "none" if content is None else len(content)
    digest.update(f"{name}\0{size}\0".encode("utf-8", "surrogateescape"))
    digest.update(content or b"")
