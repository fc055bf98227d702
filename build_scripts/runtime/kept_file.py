"""What takes long to make and depends on no calculator: kept from build to build, by what it is made from."""

import hashlib
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path


def keep_file(cache_dir: Path, kind: str, made_from: Iterable[str], make: Callable[[Path], bytes]) -> bytes:
    """Return the file of this kind that is kept in `cache_dir`, or what `make` makes in an empty folder.

    One that was changed since it was made is made again; one that was made from something else is forgotten.
    """
    key = hashlib.sha256("\0".join(made_from).encode()).hexdigest()[:32]
    for kept in cache_dir.glob(f"{kind}-{key}-*"):
        data = kept.read_bytes()
        if kept.name == _name(kind, key, data):
            return data
    with tempfile.TemporaryDirectory(dir=cache_dir, prefix="making-") as scratch:
        data = make(Path(scratch))
        whole = Path(scratch) / "whole"
        whole.write_bytes(data)
        for kept in cache_dir.glob(f"{kind}-*"):
            kept.unlink(missing_ok=True)
        whole.replace(cache_dir / _name(kind, key, data))
    return data


def _name(kind: str, key: str, data: bytes) -> str:
    return f"{kind}-{key}-{hashlib.sha256(data).hexdigest()}"
