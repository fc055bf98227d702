"""Small handbooks for the attempts: the engine's own settings, and nothing of the club's articles."""

import re
import shutil
from base64 import b64decode
from collections.abc import Mapping
from pathlib import Path

import yaml

from build_scripts.checkout import ROOT
from build_scripts.generator import SETTINGS

CALCULATOR = """
``` calculator
wire-gauge: Feed
current = 3 A
```
"""
BLOCK = "c-feed"
"""The anchor of that block."""

_LEFT_TO_THE_CLUB = ("nav", "site_name", "site_description", "site_author", "copyright", "site_url", "extra")
_SETTING = re.compile(r"^(?P<name>[\w-]+):.*\n(?:(?:[ \t#-].*)?\n)*", re.MULTILINE)
_PICTURE = b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg=="
)
HOME = f"# Home\n{CALCULATOR}"
OTHER = "# Other\n\n## Part\n"
"""What links in articles lead to."""

_FILES = {"plug.png": _PICTURE, "sheet.toml": b"self.ran = 1\n"}
"""What attempts name: a picture, and a file that would run if it were taken for a script."""


def write_handbook(root: Path, articles: Mapping[str, str], added: str = "") -> None:
    """Write a handbook into `root` with these articles beside its own, by their names below docs/.

    It has this checkout's calculators, theme and settings; `added` stands behind calculators/answers.py.
    """
    copy_engine(root)
    with (root / "calculators" / "answers.py").open("a", encoding="utf-8", newline="\n") as answers:
        answers.write(added)
    write_settings(root, "")
    docs = root / "docs"
    docs.mkdir()
    for name, text in {"index.md": HOME, **articles}.items():
        (docs / name).write_text(text, "utf-8", newline="")
    for name, data in _FILES.items():
        (docs / name).write_bytes(data)


def copy_engine(root: Path) -> None:
    """Copy what every handbook is built from into `root`: calculators, theme, metadata and licence."""
    shutil.copytree(ROOT / "calculators", root / "calculators", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "build_scripts" / "theme", root / "build_scripts" / "theme")
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, root / name)


def write_settings(root: Path, settings: str) -> None:
    """Write this checkout's settings with `settings` in the place of those of the same names."""
    own = {"site_name": "Attempts", "site_url": "https://club.example/handbook/"}
    given = [found["name"] for found in _SETTING.finditer(f"{settings}\n")]
    kept = (
        found[0]
        for found in _SETTING.finditer((ROOT / SETTINGS).read_text("utf-8"))
        if found["name"] not in (*_LEFT_TO_THE_CLUB, *given)
    )
    written = [yaml.safe_dump({name: value}) for name, value in own.items() if name not in given]
    (root / SETTINGS).write_text("".join([*written, *kept, settings, "\n"]), "utf-8", newline="\n")
