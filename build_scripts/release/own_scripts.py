"""The handbook's own scripts: which files they are, their hashes, and the two that stand in every page.

What lies among the articles is published as well: a file is no script of the handbook's because it is a file
of the site.
"""

import re
from base64 import b64encode
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path

from build_scripts.errors import BuildError
from build_scripts.release.pages import Pages

BROWSER_FILES = Path(__file__).parent.parent / "browser"
GUARD, RUNNER = INLINE = ("guard.js", "held_scripts.js")
"""What stands in pages themselves."""

THEME_SCRIPT = "assets/javascripts/bundle.*.min.js"

# Written by theme/main.html.
_PLACE = re.compile(r'<script data-site="([^"]*)"></script>')
_SCRIPT = re.compile(r'<script src="([^"]*)"([^>]*?)(?: async)?></script>')
_FOR_DEVELOPERS = re.compile(r"^\s*//.*\n|^\s+", re.MULTILINE)


def hash_script(text: bytes) -> str:
    """Return its hash as a policy and the attribute `integrity` have it."""
    return f"sha256-{b64encode(sha256(text).digest()).decode()}"


def find_scripts(site: Path, patterns: Iterable[str]) -> dict[str, str]:
    """Return the hashes of those files of `site` that the patterns name, by their names."""
    found = (path for pattern in patterns for path in site.glob(pattern.lstrip("/")))
    return {path.relative_to(site).as_posix(): hash_script(path.read_bytes()) for path in found}


def add_guard(pages: Pages, scripts: Iterable[str]) -> str:
    """Put guard.js into every page and name to it the scripts that may be asked for; returns its text.

    Raises BuildError for a page without a place for it.
    """
    guard, named = read_inline(GUARD), " ".join(scripts)
    for name, text in pages.items():
        pages[name], count = _PLACE.subn(
            lambda place: f'<script data-site="{place[1]}" data-scripts="{named}">{guard}</script>', text, 1
        )
        if not count:
            raise BuildError(f"{name}: this page has no place for the script that guards it")
    return guard


def hold_scripts(pages: Pages) -> str:
    """Hold the scripts in the head of every page until held_scripts.js runs them; returns its text."""
    runner = read_inline(RUNNER)
    for name, text in pages.items():
        head, end, rest = text.partition("</head>")
        held = _SCRIPT.sub(r'<script type="text/plain" data-src="\1"\2></script>', head)
        pages[name] = f"{held}<script>{runner}</script>{end}{rest}"
    return runner


def read_inline(name: str) -> str:
    """Return the text of one of browser/'s scripts as it stands in pages."""
    return _FOR_DEVELOPERS.sub("", (BROWSER_FILES / name).read_text("utf-8"))
