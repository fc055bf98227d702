"""What may lie among the articles: kinds of files, their names and sizes, and that they are what they say."""

import ntpath
import re
import unicodedata
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath

from build_scripts.authoring.signs import find_unwanted_sign

ARTICLE = ".md"
DOCS = "docs"
"""Where the club's articles lie in a checkout."""

PAGES = "build_scripts/pages"
"""Where the engine's own pages lie in it: published beside the articles, at the same addresses."""

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

OWN_NAMES = frozenset(
    {
        "404.html",
        "_headers",
        "assets",
        "bill.cdx.json",
        "headers.nginx.conf",
        "made-of",
        "made-of.html",
        "manifest.json",
        "release.json",
        "runtime",
        "search",
        "service_worker.js",
        "sitemap.xml",
        "sitemap.xml.gz",
    }
)
"""What a build itself writes at the top of a site, in small letters."""

HIGHEST_SIZE = 2_000_000
"""In bytes: every file is saved on every reader's device."""

# What cameras and programs make and browsers do not show.
_UNSHOWN: Mapping[str, re.Pattern[bytes]] = {
    "HEIC": re.compile(rb".{4}ftyp(?:he[iv][a-z]|mif1|msf1)", re.DOTALL),
    "TIFF": re.compile(rb"II\*\x00|MM\x00\*"),
    "Photoshop": re.compile(rb"8BPS"),
    "JPEG 2000": re.compile(rb"\x00\x00\x00\x0cjP  "),
    "JPEG XL": re.compile(rb"\xff\x0a|\x00\x00\x00\x0cJXL "),
}
_UNSHOWN_ENDINGS = frozenset(
    {".arw", ".bmp", ".cr2", ".cr3", ".dng", ".heic", ".heif", ".hif", ".jp2", ".jxl", ".nef", ".orf"}
    | {".psd", ".raf", ".raw", ".rw2", ".tif", ".tiff", ".xcf"}
)
_SAVE_AS = "save it as .jpg (a photograph) or .png (a drawing)"
_START_LENGTH = 64
_FOLDER_PAGES = ("index", "README")
# A page without a title is called after its file, and every name becomes an address.
_NAME = re.compile(r"[^\W_][\w.-]*")


def list_homes(root: Path) -> list[Path]:
    """Return the folders below `root` that articles lie in: the club's, then the engine's if there is one."""
    return [root / DOCS, *(home for home in [root / PAGES] if home.is_dir())]


def find_home(root: Path, article: str) -> Path:
    """Return which of them an article lies in, the club's where neither has it."""
    return next((home for home in list_homes(root) if (home / article).is_file()), root / DOCS)


def list_files(folder: Path) -> Iterator[Path]:
    """Yield everything below `folder` in order, links as such, without what is hidden and never published."""
    for path in sorted(folder.rglob("*")):
        if not any(part.startswith(".") for part in path.relative_to(folder).parts):
            yield path


def find_collisions(folder: Path) -> Iterator[tuple[Path, str]]:
    """Yield files below `folder` whose place in a site is taken, each with a sentence.

    In both editions, and as machines see it that take capitals for small letters.
    """
    # A README comes last, so that it is named and not the index beside it.
    paths = sorted(list_files(folder), key=lambda path: (path.stem == "README", path))
    own = [path for path in paths if path.parent == folder and _is_own_place(path)]
    for path in own:
        yield path, f"“{path.stem}” is where the handbook puts files of its own; give it another name"
    told = set(own)
    for find_place in find_served_place, find_portable_place:
        taken: dict[str, str] = {}
        for path in paths:
            if path.is_dir() or told.intersection((path, *path.parents)):
                continue
            name = path.relative_to(folder).as_posix()
            place = find_place(PurePosixPath(name))
            claims = {_fold(place): name, **{_fold(part): f"{part}/" for part in list(place.parents)[:-1]}}
            other = next((taken[key] for key, claim in claims.items() if taken.get(key, claim) != claim), "")
            if other:
                told.add(path)
                yield path, f"this page would have the same address as {other}; give it another name"
            else:
                taken |= claims


def _is_own_place(path: Path) -> bool:
    names = {path.name} if path.is_dir() or path.suffix != ARTICLE else {path.stem, f"{path.stem}.html"}
    return any(name.casefold() in OWN_NAMES for name in names)


def find_served_place(path: PurePosixPath) -> PurePosixPath:
    """Return where a host serves the file: an article is the page of a folder of its name."""
    if path.suffix != ARTICLE:
        return path
    return (path.parent if path.stem in _FOLDER_PAGES else path.with_suffix("")) / "index.html"


def find_portable_place(path: PurePosixPath) -> PurePosixPath:
    """Return where the file stands in the portable edition: an article is a file of its name."""
    if path.suffix != ARTICLE:
        return path
    return path.parent / "index.html" if path.stem in _FOLDER_PAGES else path.with_suffix(".html")


def _fold(place: PurePosixPath) -> str:
    return unicodedata.normalize("NFC", str(place)).casefold()


def check_file(path: Path) -> str:
    """Return what is wrong with a file or folder as such, as a sentence, or ""."""
    if words := find_unwanted_sign(path.name):
        return f"in the name of this file, {words}"
    if not _NAME.fullmatch(path.name):
        return (
            "this name becomes an address; use letters, digits, “-”, “_” and “.” only, such as tail-lift.md"
        )
    # An article's page is a folder of its name without the ending.
    if ntpath.isreserved(path.name) or ntpath.isreserved(path.stem):
        return "Windows can have no file of this name; give it another, such as tail-lift.md"
    if path.is_symlink():
        return "this is a link to another place, whose files would be published; put the file itself here"
    if (path.name if path.is_dir() else path.stem).lower().endswith(".html"):
        return "this name becomes that of a folder, and “.html” is how pages end; give it another, without it"
    if path.is_dir():
        return ""
    if not path.is_file():
        return "this is neither a file nor a folder; remove it"
    if path.suffix not in FILE_ENDINGS:
        return _refuse_ending(path)
    size = path.stat().st_size
    if size > HIGHEST_SIZE:
        return (
            f"this file has {size / 1e6:.1f} MB, and every reader's device keeps a copy; "
            f"allowed: {HIGHEST_SIZE / 1e6:.0f} MB; make the picture smaller, about 1200 pixels wide"
        )
    if (start := _STARTS.get(path.suffix)) is not None:
        with path.open("rb") as file:
            begin = file.read(_START_LENGTH)
        if not start.match(begin):
            return _refuse_content(path.suffix, begin)
    return ""


def _refuse_ending(path: Path) -> str:
    ending = path.suffix.lower()
    if ending in FILE_ENDINGS:
        return f"endings are in small letters; call this file {path.stem}{ending}"
    if ending in _UNSHOWN_ENDINGS:
        return f"browsers cannot show a picture of this kind; {_SAVE_AS}"
    allowed = ", ".join(FILE_ENDINGS)
    advice = "; save the drawing as .png, because an .svg may hold scripts" if ending == ".svg" else ""
    return f"files of this kind may not lie among the articles; allowed: {allowed}{advice}"


def _refuse_content(ending: str, begin: bytes) -> str:
    wrong = f"this is not what a file ending in {ending} holds"
    for kind, start in _UNSHOWN.items():
        if start.match(begin):
            return f"{wrong} but a {kind} picture, which browsers cannot show; {_SAVE_AS}"
    return f"{wrong}; save it anew, or name it rightly"
