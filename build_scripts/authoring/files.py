"""What may lie among the articles: kinds of files, their names and sizes, and that they are what they say."""

import re
from collections.abc import Iterator, Mapping
from pathlib import Path

ARTICLE = ".md"
_STARTS: Mapping[str, re.Pattern[bytes]] = {
    ".png": re.compile(rb"\x89PNG\r\n\x1a\n"),
    ".jpg": re.compile(rb"\xff\xd8\xff"),
    ".jpeg": re.compile(rb"\xff\xd8\xff"),
    ".webp": re.compile(rb"RIFF.{4}WEBP", re.DOTALL),
    ".avif": re.compile(rb".{4}ftypavi[fs]", re.DOTALL),
    ".gif": re.compile(rb"GIF8[79]a"),
    ".pdf": re.compile(rb"%PDF-"),
    # Tables are text, and text has no zero bytes.
    ".toml": re.compile(rb"[^\x00]*\Z"),
    ".csv": re.compile(rb"[^\x00]*\Z"),
}
FILE_ENDINGS = (ARTICLE, *_STARTS)
"""What may lie beside the articles: nothing that a browser would run or take for a page."""

HIGHEST_SIZE = 2_000_000
"""In bytes: every file is saved on every reader's device."""

_START_LENGTH = 64
# A page without a title is called after its file, and every name becomes an address.
_NAME = re.compile(r"[^\W_][\w.-]*")


def list_files(folder: Path) -> Iterator[Path]:
    """Yield everything below `folder` in order, links as such, without what is hidden and never published."""
    for path in sorted(folder.rglob("*")):
        if not any(part.startswith(".") for part in path.relative_to(folder).parts):
            yield path


def check_file(path: Path) -> str:
    """Return what is wrong with a file or folder as such, as a sentence, or ""."""
    if not _NAME.fullmatch(path.name):
        return (
            "this name becomes an address; use letters, digits, “-”, “_” and “.” only, such as tail-lift.md"
        )
    if path.is_symlink():
        return "this is a link to another place, whose files would be published; put the file itself here"
    if path.is_dir():
        return ""
    if not path.is_file():
        return "this is neither a file nor a folder; remove it"
    allowed = ", ".join(FILE_ENDINGS)
    if path.suffix not in FILE_ENDINGS:
        if path.suffix.lower() in FILE_ENDINGS:
            return f"endings are in small letters; call this file {path.stem}{path.suffix.lower()}"
        return f"files of this kind may not lie among the articles; allowed: {allowed}"
    size = path.stat().st_size
    if size > HIGHEST_SIZE:
        return (
            f"this file has {size / 1e6:.1f} MB, and every reader's device keeps a copy; "
            f"allowed: {HIGHEST_SIZE / 1e6:.0f} MB; make the picture smaller, about 1200 pixels wide"
        )
    if (start := _STARTS.get(path.suffix)) is not None:
        with path.open("rb") as file:
            if not start.match(file.read(_START_LENGTH)):
                return (
                    f"this is not what a file ending in {path.suffix} holds; save it anew, or name it rightly"
                )
    return ""
