"""Puts off what the theme does at every page load until the calculators have had their start.

The theme's script and its search index take the processor at the very moment when Python starts, and the
reader came for the figures. Both follow a little later; without calculators on the page, at once.
"""

import json
import re
from pathlib import Path
from urllib.parse import quote

_SEARCH_WORKER = re.compile(
    r'"search": "(?P<folders>(?:[^"]*/)?)assets/javascripts/workers/(?P<name>[^"/]+)"'
)
_SCRIPT = re.compile(r'<script src="(?P<address>[^"]*assets/javascripts/bundle\.[^"]*)"></script>')


def delay_theme_scripts(site: Path) -> None:
    """Let live.js run the theme's script, and search_later.js its search worker, in every page of `site`.

    Raises ValueError when the theme no longer names them in the way this relies on.
    """
    (later,) = (site / "assets").glob("search_later.*.js")
    for page in sorted(site.rglob("*.html")):
        text = page.read_text("utf-8")
        written, searches = _SEARCH_WORKER.subn(lambda found: _name_worker(found, later.name), text)
        written, scripts = _SCRIPT.subn(
            r'<script type="text/plain" data-later="\g<address>"></script>', written
        )
        if not searches or not scripts:
            raise ValueError(f"{page.relative_to(site)}: the theme's scripts are not where they were")
        page.write_text(written, "utf-8", newline="\n")


def _name_worker(found: re.Match[str], later: str) -> str:
    # Relative to the folder of search_later.js, wherever the site is served from.
    real = quote(f"javascripts/workers/{found['name']}", safe="")
    return f'"search": {json.dumps(found["folders"] + "assets/" + later + "?" + real)}'
