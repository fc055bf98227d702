"""Small handbooks in place of the club's own articles: that of tests/handbook, and those that tests write."""

import shutil
from collections.abc import Mapping
from pathlib import Path

from build_scripts.attempts.handbooks import copy_engine

ROOT = Path(__file__).resolve().parent.parent
PAGES = Path("build_scripts", "pages")
SOURCE = Path(__file__).with_name("handbook")


def write_small_handbook(root: Path) -> Path:
    """Write that of tests/handbook into `root`, with this checkout's engine and its pages; returns `root`."""
    copy_engine(root)
    shutil.copytree(ROOT / PAGES, root / PAGES)
    shutil.copytree(SOURCE, root, dirs_exist_ok=True)
    return root


def write_handbook(root: Path, files: Mapping[str, str]) -> Path:
    """Write one of these files, by their paths from `root`, without the engine's pages; returns `root`."""
    copy_engine(root)
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return root
