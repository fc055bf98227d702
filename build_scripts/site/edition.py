"""What editions of the handbook have in common, and what each does in its own way."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from build_scripts.authoring.fence import Embedding, PlaceholderError, fill_placeholders
from build_scripts.errors import BuildError
from build_scripts.release.pages import Pages
from build_scripts.runtime.release import Release


@dataclass(frozen=True)
class Parts:
    """What a site is made of besides the pages that the generator has written."""

    runtime: Release
    blocks: Mapping[Embedding, str]
    """The HTML of every block."""

    templates: Sequence[Path]
    """The folders of the theme."""

    scripts: Sequence[str]
    """The scripts that the pages ask for besides the theme's own, by their names below the site."""

    root: Path
    """What the sources lie in: mkdocs.yml and docs/."""

    installed: bool
    """Whether readers' browsers are to save the site for offline use."""

    cache: Path
    """What is kept between builds."""

    found: Mapping[str, object]
    """What can be found in the pages, and by which words."""

    contents: object
    """All pages in the order of the navigation, as JSON has them."""


@dataclass(frozen=True)
class Edition:
    """What the edition that a host serves and the portable one do differently; everything else is common."""

    finish: Callable[[Path, Parts], None]
    """The steps after the generator, on the folder that it has written."""

    settings: Mapping[str, Any] = field(default_factory=dict)
    """Settings of the generator, in place of those in mkdocs.yml."""

    scripts: Mapping[str, str] = field(default_factory=dict)
    """What theme/main.html asks for by `handbook.<name>`; `{runtime}` stands for the release's folder."""


def fill_pages(pages: Pages, blocks: Mapping[Embedding, str]) -> None:
    """Put the computed blocks into the places that the pages hold for them.

    Raises BuildError that names the page for a block that cannot be put in.
    """
    for name, text in pages.items():
        try:
            pages[name] = fill_placeholders(text, blocks)
        except PlaceholderError as error:
            raise BuildError(f"{name}: {error} (this page is made from the article of that name)") from None
