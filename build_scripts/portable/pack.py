"""Packs the handbook: a folder that opens by a double click on its index.html, and the same as one ZIP."""

import re
import unicodedata
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from build_scripts.checkout import CACHE, ROOT
from build_scripts.environment.lock import hold_lock
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.generator import read_site_name
from build_scripts.output import Place, describe_others, open_scratch
from build_scripts.portable.archive import write_archive
from build_scripts.portable.edition import PORTABLE
from build_scripts.site.building import build_folder


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

    What a former run has left there is replaced only when everything has gone well. The list of it lies
    beside both, so that readers get nothing but the handbook.

    Raises BuildError for what an author has to mend, and for a place that is taken by something else.
    """
    name = make_file_name(read_site_name(root))
    folder, archive = out / name, out / f"{name}.zip"
    place = Place(out, f".{name}-files.txt", (folder, archive), "--out")
    if archive.is_dir():
        raise BuildError(f"{archive} is a folder; move it away, or name another place with --out FOLDER")
    with (
        hold_lock(str(cache / f"packing-{name}.lock"), progress, "packing the handbook"),
        place.open(root),
        open_scratch(cache / f"packing-{name}") as unfinished,
    ):
        new, new_archive = unfinished / folder.name, unfinished / archive.name
        new.mkdir()
        build_folder(new, progress, edition=PORTABLE, root=root, cache=cache)
        with progress.show_step("packing the ZIP"):
            write_archive(new, new_archive)
            digest = sha256(new_archive.read_bytes()).hexdigest()
        sizes = [path.stat().st_size for path in new.rglob("*") if path.is_file()]
        if others := place.replace(unfinished):
            progress.say(describe_others(others))
    return Packed(folder, archive, len(sizes), sum(sizes), archive.stat().st_size, digest)


def make_file_name(title: str) -> str:
    """Return a name for files from the handbook's: small letters and digits of ASCII, joined by hyphens."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "handbook"
