"""Writes a folder as a ZIP whose bytes depend on nothing but names and contents of its files."""

import zipfile
from pathlib import Path

from build_scripts.runtime.library import FIRST_DATE

_UNIX = 3
_MODE = 0o100644 << 16


def write_archive(folder: Path, archive: Path) -> None:
    """Write all files below `folder` into `archive`, each below the folder's own name.

    In the order of their names, dated 1980, readable by all and writable by the owner, whatever they are
    here.
    """
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name in names:
            member = zipfile.ZipInfo(f"{folder.name}/{name}", FIRST_DATE)
            member.create_system = _UNIX
            member.external_attr = _MODE
            packed.writestr(member, (folder / name).read_bytes(), zipfile.ZIP_DEFLATED, 9)
