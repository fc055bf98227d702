"""Lists the files of one whole release and writes the service worker that keeps them on the reader's device.

Works on a folder of built pages and knows nothing of what made it. What changes between two releases is what
a reader's device downloads again, so nothing in a page may change that its article did not change.
"""

import json
import re
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path

from build_scripts.output import LIST

HERE = Path(__file__).parent
WORKER = "service_worker.js"
SUMMARY = "release.json"
COMMON, APACHE, NGINX = HEADER_FILES = ("_headers", ".htaccess", "headers.nginx.conf")
"""What hosts read (see release/host_headers.py) and no page asks for."""

LIBRARY = ("core", "routing", "strategies", "precaching")
"""The parts of Workbox, each after those it needs."""

NAMED_BY_CONTENT = re.compile(r"^runtime/[0-9a-f]{16}/|^assets/.*\.[0-9a-f]{8,12}\.(?:min\.)?(?:js|css)$")
"""The files, as seen from the site, whose names change with their content."""

_BUILD_DATE = re.compile(r"\s*<lastmod>[^<]*</lastmod>")
TYPES = {
    ".avif": "image/avif",
    ".bin": "application/octet-stream",
    ".css": "text/css; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
    ".gif": "image/gif",
    ".gz": "application/gzip",
    ".html": "text/html; charset=utf-8",
    ".jpeg": "image/jpeg",
    ".jpg": "image/jpeg",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".toml": "text/plain; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".wasm": "application/wasm",
    ".webp": "image/webp",
    ".xml": "application/xml",
}
"""The media types of what a site holds, by the ending of the name."""


@dataclass(frozen=True)
class SavedFile:
    """One file of a release, as the service worker's list has it."""

    url: str
    """Relative to the site; a folder's page by the folder, as hosts and links do."""

    revision: str | None
    """Changes with the content; None where the name itself does."""

    sha256: str
    """In hexadecimal digits."""

    size: int
    """In bytes, as stored."""

    type: str
    """The media type it is stored with, whatever a host says."""


def write_service_worker(site: Path, node_modules: Path) -> None:
    """Write the list of all that a reader may need, and the service worker that saves it, into `site`."""
    _forget_build_dates(site)
    files = list_release(site)
    own = (HERE / WORKER).read_text("utf-8")
    parts = [
        (node_modules / f"workbox-{part}/build/workbox-{part}.prod.js").read_text("utf-8") for part in LIBRARY
    ]
    library = "\n".join(re.sub(r"//# sourceMappingURL=.*", "", part) for part in parts)
    # The worker's own words belong to the release: a mended worker is announced as well.
    lines = [f"{file.url} {file.sha256}\n" for file in files] + [library, own]
    release = sha256("".join(lines).encode()).hexdigest()[:16]
    described = {"release": release, "files": [asdict(file) for file in files]}
    licence = f"/* Holds Workbox:\n{(node_modules / 'workbox-core/LICENSE').read_text('utf-8')}*/\n"
    listed = f"self.handbookRelease = {json.dumps(described, separators=(',', ':'))};\n"
    (site / WORKER).write_text(licence + listed + library + own, "utf-8", newline="\n")
    summary = {"release": release, "files": len(files), "bytes": sum(file.size for file in files)}
    (site / SUMMARY).write_text(json.dumps(summary) + "\n", "utf-8", newline="\n")


def write_retired_worker(site: Path) -> None:
    """Write, in the service worker's place, the one that takes saved copies away again."""
    _forget_build_dates(site)
    (site / WORKER).write_text((HERE / "retired_worker.js").read_text("utf-8"), "utf-8", newline="\n")


def list_release(site: Path) -> list[SavedFile]:
    """List all files below `site` that a page may ask for, the small ones first."""
    names = {path.relative_to(site).as_posix(): path for path in site.rglob("*") if path.is_file()}
    known = read_known_hashes(site)
    files = [_describe(path, name, known.get(name)) for name, path in names.items() if _is_needed(name)]
    # The small ones first: a saving that is broken off then leaves the most behind.
    return sorted(files, key=lambda file: (file.size, file.url))


def read_known_hashes(site: Path) -> dict[str, str]:
    """Read the hashes of the runtime's files from its own list: they are most of what there is to hash."""
    known: dict[str, str] = {}
    for manifest in site.glob("runtime/*/manifest.json"):
        folder = manifest.parent.relative_to(site).as_posix()
        files = json.loads(manifest.read_text("utf-8"))["files"]
        known |= {f"{folder}/{name}": file["sha256"] for name, file in files.items()}
    return known


def _describe(path: Path, name: str, known: str | None) -> SavedFile:
    digest = known or sha256(path.read_bytes()).hexdigest()
    # “index.html” is the folder's page; many hosts redirect from it, none to it.
    url = name.removesuffix("index.html") if path.name == "index.html" else name
    return SavedFile(
        url=url or "./",
        revision=None if NAMED_BY_CONTENT.search(name) else digest[:16],
        sha256=digest,
        size=path.stat().st_size,
        type=TYPES.get(path.suffix, "application/octet-stream"),
    )


def _is_needed(name: str) -> bool:
    unneeded = (WORKER, SUMMARY, LIST, "404.html", "sitemap.xml.gz", *HEADER_FILES)
    return name not in unneeded and not name.endswith(".map")


def _forget_build_dates(site: Path) -> None:
    # The generator writes the day of the build beside every page, and a new day would be a new release.
    sitemap = site / "sitemap.xml"
    if sitemap.is_file():
        sitemap.write_text(_BUILD_DATE.sub("", sitemap.read_text("utf-8")), "utf-8", newline="\n")
        (site / "sitemap.xml.gz").unlink(missing_ok=True)
