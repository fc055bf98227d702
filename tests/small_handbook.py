"""The small handbook that tests build, in the place of the club's own articles: tests/handbook."""

import shutil
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SOURCE = Path(__file__).with_name("handbook")
ENGINE = ("calculators", "build_scripts/pages", "build_scripts/theme")
"""What of the engine a handbook is made with, besides the code that makes it."""


def write_small_handbook(root: Path) -> Path:
    """Write it into `root` with this checkout's calculators, pages and theme; returns `root`."""
    unwanted = shutil.ignore_patterns("__pycache__")
    for name in ENGINE:
        shutil.copytree(ROOT / name, root / name, ignore=unwanted)
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, root / name)
    shutil.copytree(SOURCE, root, dirs_exist_ok=True)
    return root
