"""Puts off what the theme does at every page load until the calculators have had their start.

The theme's script takes the processor at the very moment when Python starts, and the reader came for the
figures. It follows a little later; without calculators on the page, at once.
"""

import re

from build_scripts.errors import BuildError
from build_scripts.release.pages import Pages

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
    for name, text in pages.items():
        pages[name], count = _SCRIPTS.subn(r'\g<own> data-theme="\g<theme>"\g<between>', text)
        if not count:
            raise BuildError(f"{name}: the theme's scripts are not where they were")
