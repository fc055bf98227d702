"""The command line of the site: `build` and `preview`.

Run in the prepared environment: `python -m build_scripts.site build` or `preview`.
"""

import os
import signal
import sys
from argparse import Namespace
from collections.abc import Sequence
from functools import partial
from typing import NoReturn

from build_scripts.authoring.files import DOCS, PAGES
from build_scripts.checkout import CACHE, RELEASES, ROOT
from build_scripts.environment.command import INTERRUPTED
from build_scripts.environment.options import make_parser
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.generator import BROWSER_FILES, SETTINGS
from build_scripts.site.building import build_site
from build_scripts.site.served import EDITIONS

WATCHED = (
    ROOT / DOCS,
    ROOT / PAGES,
    ROOT / "calculators",
    ROOT / SETTINGS,
    BROWSER_FILES,
    ROOT / "build_scripts" / "theme",
)
"""What the preview builds again for."""


def main(arguments: Sequence[str]) -> int:
    """Run one verb; returns the exit code."""
    asked = make_parser().parse_args(arguments)
    try:
        return _build(asked) if asked.verb == "build" else _preview(asked)
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    except OSError as error:
        print(f"The site could not be written: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. What was built before is as it was.", file=sys.stderr)
        return INTERRUPTED


def _build(asked: Namespace) -> int:
    site = (asked.site or ROOT / "site").resolve()
    with open(os.devnull, "w", encoding="utf-8") as nothing:
        progress = Progress(nothing if asked.quiet else None)
        edition = EDITIONS[asked.offline]
        build_site(site, progress, address=asked.address, edition=edition, draft=asked.draft)
    print(f"The handbook is in {os.path.relpath(site)}{os.sep}")
    return 0


def _preview(asked: Namespace) -> int:
    # Imported late: a build serves nothing.
    from build_scripts.preview import ADDRESS, PreviewHandler, open_server
    from build_scripts.previewed_pages import News, ReloadingHandler
    from build_scripts.watch import look, make_mark, serve_preview

    site, address = CACHE / "previewed-site", f"http://{ADDRESS}:{asked.port}/"
    site.mkdir(parents=True, exist_ok=True)
    news = News(make_mark())
    # What browsers save is what a host would serve: no draft, and nothing added to a page.
    draft = not asked.offline
    handler = partial(ReloadingHandler, news=news, releases=CACHE / RELEASES) if draft else PreviewHandler
    again = [
        *(sys.executable, "-P", "-m", "build_scripts.house_rules", "build_scripts.site", "build", "--quiet"),
        *("--site", str(site), "--address", address, "--offline" if asked.offline else "--no-offline"),
    ]
    # The port is asked for before the work is done.
    with open_server(site, asked.port, handler) as server:
        # What is saved from now on is seen.
        seen = look(WATCHED)
        try:
            build_site(site, Progress(), address=address, edition=EDITIONS[asked.offline], draft=draft)
        except BuildError as error:
            news.error = str(error)
            print(error, file=sys.stderr)
            print("Not built yet: mend this and save, and it is built again.", file=sys.stderr)
        build, finish = ([*again, "--draft"], again) if draft else (again, None)
        serve_preview(server, news, build, finish, WATCHED, seen)
    return 0


def _interrupt(_number: int, _frame: object) -> NoReturn:
    raise KeyboardInterrupt


if __name__ == "__main__":
    # A polite request to end is treated as Ctrl-C is: what was begun is ended first.
    signal.signal(signal.SIGTERM, _interrupt)
    sys.exit(main(sys.argv[1:]))
