"""The list that a build leaves of its files, as the next build reads it."""

from hashlib import sha256
from pathlib import Path

from build_scripts.output import LIST

HEAD = "# What a build of the handbook has written here; the next one replaces and removes nothing else.\n"


def write_list(folder: Path, list_name: str = LIST) -> None:
    """Write it for all that lies in the folder now."""
    (folder / list_name).unlink(missing_ok=True)
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    rows = [f"{sha256((folder / name).read_bytes()).hexdigest()}  {name}\n" for name in names]
    (folder / list_name).write_text(HEAD + "".join(rows), "utf-8")
