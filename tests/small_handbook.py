"""A small handbook of a test's own: the engine of this checkout, and nothing of a club's articles."""

from collections.abc import Mapping
from pathlib import Path

from build_scripts.attempts.handbooks import copy_engine


def write_handbook(root: Path, files: Mapping[str, str]) -> Path:
    """Write one into `root` with these files, by their paths from there; returns `root`."""
    copy_engine(root)
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return root
