"""What is the club's own in a handbook besides its articles: the settings below `extra:` in mkdocs.yml.

A club that sets nothing has the engine's own icon and colour, and its name in short is made of its name.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from build_scripts.authoring.files import ARTICLE, find_served_place

COLOUR = "#5d4037"
"""The ground of the engine's own icon."""

SMALLEST_ICON = 512
"""In pixels: the largest that phones ask for."""

_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_ROOM = 12


@dataclass(frozen=True)
class Club:
    """A club's settings, as they have passed the check."""

    colour: str = COLOUR
    """Behind the icon, and round the page where a phone shows it."""

    short_name: str = ""
    """Below the icon on a home screen; without one, as many words of the handbook's name as fit there."""

    icon: str = ""
    """A square picture below docs/, from which all icons are made; without one, the engine's own."""

    pictured: str = "calculators/index.md"
    """The article in the README's picture."""

    measured: str = "calculators/index.md"
    """The article that is visited, and then changed, to measure what a browser asks of a host."""


def read_club(extra: Mapping[str, Any]) -> Club:
    """Return what stands below `extra:`."""
    return Club(**{name: extra[name] for name in Club.__dataclass_fields__ if name in extra})


def check_club(extra: Mapping[str, Any], docs: Path, pages: Path) -> Iterator[tuple[str, str]]:
    """Yield each setting that is wrong, with a sentence; articles lie in `docs`, the engine's in `pages`."""
    given = {name: extra[name] for name in Club.__dataclass_fields__ if name in extra}
    for name, value in given.items():
        if not isinstance(value, str):
            # YAML takes what follows “#” for a comment.
            yield name, f"{name}: this is not a text; write it between quotation marks"
        elif name == "colour" and not _COLOUR.fullmatch(value):
            yield name, f"colour: “{value}” is no colour; write “#” and six of 0-9 and a-f: “{COLOUR}”"
        elif name == "icon" and (words := _check_icon(docs, value)):
            yield name, f"icon: “{value}” {words}"
        elif name in ("pictured", "measured") and not _is_article(value, docs, pages):
            yield name, f"{name}: “{value}” is no article; write its file as seen from docs/"


def _check_icon(docs: Path, name: str) -> str:
    """Return what is wrong with the icon's picture, or ""."""
    # Imported late: most handbooks have the engine's icon.
    from PIL import Image, UnidentifiedImageError

    path = docs / name
    if not name.endswith(".png") or not path.resolve().is_relative_to(docs.resolve()) or not path.is_file():
        return "is no .png file below docs/; put it there, and write its name as seen from there"
    try:
        with Image.open(path) as picture:
            width, height = picture.size
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError):
        return "cannot be read; save the picture anew"
    if width != height or width < SMALLEST_ICON:
        return (
            f"is {width} × {height} pixels; an icon is square, with sides of {SMALLEST_ICON} pixels or more"
        )
    return ""


def _is_article(name: str, docs: Path, pages: Path) -> bool:
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or path.suffix != ARTICLE:
        return False
    return any((folder / name).is_file() for folder in (docs, pages))


def find_address(article: str) -> str:
    """Return the address of an article's page below a site, as a host serves it."""
    return find_served_place(PurePosixPath(article)).as_posix().removesuffix("index.html")


def shorten(name: str, room: int = _ROOM) -> str:
    """Return as many whole words of `name` as fit below an icon, at least the first."""
    words = name.split()
    while len(words) > 1 and len(" ".join(words)) > room:
        words.pop()
    return " ".join(words)
