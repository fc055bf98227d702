"""Puts off what the theme does at every page load until the calculators have had their start.

The theme's script and its search index take the processor at the very moment when Python starts, and the
reader came for the figures. Both follow a little later; without calculators on the page, at once.
"""

import json
import re
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from build_scripts.errors import BuildError
from build_scripts.release.pages import Pages

_SEARCH_WORKER = re.compile(
    r'"search": "(?P<folders>(?:[^"]*/)?)assets/javascripts/workers/(?P<name>[^"/]+)"'
)
# The handbook's script stands in the head, the theme's at the end of the page.
_SCRIPTS = re.compile(
    r'(?P<own><script src="[^"]*assets/live\.[^"]*")(?P<between>.*)'
    r'<script src="(?P<theme>[^"]*assets/javascripts/bundle\.[^"]*)"></script>',
    re.DOTALL,
)


def delay_theme_scripts(pages: Pages) -> None:
    """Let live.js run the theme's script in every page: it is named where the handbook's own is asked for.

    Raises BuildError when the theme no longer names it in the way this relies on.
    """
    _replace(pages, _SCRIPTS, r'\g<own> data-theme="\g<theme>"\g<between>')


def delay_search(pages: Pages, site: Path) -> None:
    """Let search_later.js, which is among the files of `site`, run the theme's search worker in every page.

    Raises BuildError when the theme no longer names it in the way this relies on.
    """
    (later,) = (site / "assets").glob("search_later.*.js")
    _replace(pages, _SEARCH_WORKER, lambda found: _name_worker(found, later.name))


def _replace(pages: Pages, what: re.Pattern[str], by: str | Callable[[re.Match[str]], str]) -> None:
    for name, text in pages.items():
        pages[name], count = what.subn(by, text)
        if not count:
            raise BuildError(f"{name}: the theme's scripts are not where they were")


def _name_worker(found: re.Match[str], later: str) -> str:
    # Relative to the folder of search_later.js, wherever the site is served from.
    real = quote(f"javascripts/workers/{found['name']}", safe="")
    return f'"search": {json.dumps(found["folders"] + "assets/" + later + "?" + real)}'
