"""Packs the handbook: a folder that opens by a double click on its index.html, and the same as one ZIP."""

import re
import shutil
import unicodedata
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from build_scripts.environment.progress import Progress
from build_scripts.portable.archive import write_archive
from build_scripts.portable.edition import PORTABLE, WORKERS
from build_scripts.site import CACHE, ROOT, BuildError, build_site, read_site_name, replace_folder


@dataclass(frozen=True)
class Packed:
    """What packing has made, and how large it is."""

    folder: Path
    archive: Path
    files: int
    unpacked: int
    """Bytes of all files in the folder."""
    packed: int
    """Bytes of the ZIP."""
    sha256: str
    """SHA-256 of the ZIP: two runs on the same sources give the same."""


def pack_handbook(out: Path, progress: Progress, *, root: Path = ROOT, cache: Path = CACHE) -> Packed:
    """Write folder and ZIP, called after the handbook, into the folder `out`.

    What a former run has left there is replaced only when everything has gone well.

    Raises BuildError for what an author has to mend, and for a place that is taken by something else.
    """
    name = make_file_name(read_site_name(root))
    folder, archive = out / name, out / f"{name}.zip"
    _check_place(out, folder, archive)
    unfinished = out / f".{name}.packing"
    shutil.rmtree(unfinished, ignore_errors=True)
    try:
        unfinished.mkdir(parents=True)
        new, new_archive = unfinished / name, unfinished / archive.name
        build_site(new, progress, edition=PORTABLE, root=root, cache=cache)
        with progress.show_step("packing the ZIP"):
            write_archive(new, new_archive)
            digest = sha256(new_archive.read_bytes()).hexdigest()
        sizes = [path.stat().st_size for path in new.rglob("*") if path.is_file()]
        replace_folder(new, folder)
        new_archive.replace(archive)
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    return Packed(folder, archive, len(sizes), sum(sizes), archive.stat().st_size, digest)


def make_file_name(title: str) -> str:
    """Return a name for files from the handbook's: small letters and digits of ASCII, joined by hyphens."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "handbook"


def _check_place(out: Path, folder: Path, archive: Path) -> None:
    for place in (out, *out.parents):
        if place.exists() and not place.is_dir():
            raise BuildError(f"{place} is a file; name a folder for the portable edition with --out FOLDER")
    if archive.is_dir():
        raise BuildError(f"{archive} is a folder; move it away, or name another place with --out FOLDER")
    # A folder of the reader's own that happens to bear the name is not ours to replace.
    taken = folder.exists() and not (folder.is_dir() and not any(folder.iterdir()))
    if taken and not (folder / WORKERS).is_file():
        raise BuildError(
            f"{folder} is not a packed handbook and would be replaced; "
            "move it away, or name another place with --out FOLDER"
        )
