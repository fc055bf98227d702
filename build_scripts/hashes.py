"""The SHA-256 of whole folders, on all cores: a build looks at some 40 MB of files."""

from concurrent.futures import ThreadPoolExecutor
from hashlib import file_digest
from pathlib import Path


def hash_files(folder: Path) -> dict[str, str]:
    """Return the SHA-256, in hexadecimal digits, of every file below `folder`, by its name in there."""
    paths = [path for path in folder.rglob("*") if path.is_file()]
    with ThreadPoolExecutor() as threads:
        hashes = threads.map(hash_file, paths)
        return {path.relative_to(folder).as_posix(): found for path, found in zip(paths, hashes, strict=True)}


def hash_file(path: Path) -> str:
    """Return the SHA-256 of one file in hexadecimal digits."""
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()
