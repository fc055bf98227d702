"""The folder that a build writes: what it may replace, and how it is replaced whole."""

import shutil
from pathlib import Path

from build_scripts.errors import BuildError

_SOURCES = (".git", "build_scripts", "calculators", "docs", "tests")


def check_place(place: Path, mark: str, root: Path, option: str) -> None:
    """Make sure that the folder `place` may be replaced; nothing is changed.

    `mark` is a file that every earlier build has; `root` holds the sources; `option` names another place.

    Raises BuildError for a file, for the sources, and for a folder with anything else in it.
    """
    advice = f"name another place with {option} FOLDER"
    for above in (place, *place.parents):
        if above.exists() and not above.is_dir():
            raise BuildError(f"{above} is a file; {advice}")
    if root.is_relative_to(place) or any(place.is_relative_to(root / name) for name in _SOURCES):
        raise BuildError(f"{place} holds the handbook's sources or lies among them; {advice}")
    if place.is_dir() and any(place.iterdir()) and not (place / mark).is_file():
        raise BuildError(
            f"{place} is not an earlier build of the handbook and would be replaced; "
            f"move it away, or {advice}"
        )


def replace_folder(new: Path, old: Path) -> None:
    """Put the finished folder `new` in the place of `old`, which stays whole until then."""
    former = old.with_name(f".{old.name}.former")
    shutil.rmtree(former, ignore_errors=True)
    if old.exists():
        old.rename(former)
    new.rename(old)
    shutil.rmtree(former, ignore_errors=True)
