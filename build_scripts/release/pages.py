"""The pages of a built site: read once, changed by one step after another, written once."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

type Pages = dict[str, str]
"""The text of every page, by its name below the site."""


@contextmanager
def open_pages(site: Path) -> Iterator[Pages]:
    """Give the pages of `site` to be changed for the length of the block, and write them at its end."""
    pages = {
        path.relative_to(site).as_posix(): path.read_text("utf-8") for path in sorted(site.rglob("*.html"))
    }
    yield pages
    for name, text in pages.items():
        (site / name).write_text(text, "utf-8", newline="\n")
