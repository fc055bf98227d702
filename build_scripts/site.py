"""Builds the handbook into a folder: articles checked, runtime made, pages written, release steps done.

Run in the prepared environment: `python -m build_scripts.site build` or `preview`.
"""

import argparse
import logging
import os
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from build_scripts.authoring.articles import Problem, compute_articles, find_embeddings
from build_scripts.authoring.fence import Embedding, FenceError, fill_placeholders
from build_scripts.authoring.kept_blocks import read_kept_blocks
from build_scripts.environment.progress import Progress
from build_scripts.offline.saved_release import write_retired_worker, write_service_worker
from build_scripts.offline.web_manifest import NAME as WEB_MANIFEST
from build_scripts.offline.web_manifest import write_web_manifest
from build_scripts.preview import serve_preview
from build_scripts.release.content_policy import add_content_policy
from build_scripts.release.pages import Pages, open_pages
from build_scripts.release.theme_scripts import delay_search, delay_theme_scripts
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.release import Release, make_runtime

ROOT = Path(__file__).resolve().parent.parent
CACHE = ROOT / ".cache"
EXTENSION = "build_scripts.authoring.extension"
BROWSER_FILES = ROOT / "build_scripts" / "browser"
INSTALLED = "installed"
"""How an edition is published: readers' browsers save it for offline use …"""
OFF = "off"
"""… or they do not, and remove what they saved before."""
DEFAULT_PORT = 8000
HIGHEST_PORT = 65535


class BuildError(Exception):
    """The site cannot be built; the message is what the author reads, one problem a line."""


def finish_site(site: Path, runtime: Release, blocks: Mapping[Embedding, str]) -> None:
    """Do what is left when the generator is done: the steps of the edition that a host serves."""
    copy_runtime(runtime.folder, site / "runtime" / runtime.hash)
    with open_pages(site) as pages:
        fill_pages(pages, blocks)
        delay_theme_scripts(pages)
        delay_search(pages, site)
        add_content_policy(pages)
    # Last of all: the service worker lists the files as they are when they are published.
    if (site / WEB_MANIFEST).is_file():
        write_service_worker(site, Path(os.environ["HANDBOOK_NODE_MODULES"]))
    else:
        write_retired_worker(site)


@dataclass(frozen=True)
class Edition:
    """What the edition that a host serves and the portable one do differently; everything else is common."""

    finish: Callable[[Path, Release, Mapping[Embedding, str]], None]
    """The steps after the generator: they get the folder, the runtime and the computed blocks."""

    settings: Mapping[str, Any] = field(default_factory=dict)
    """Settings of the generator, in place of those in mkdocs.yml."""

    scripts: Mapping[str, str] = field(default_factory=dict)
    """What theme/main.html asks for by `handbook.<name>`; `{runtime}` stands for the release's folder."""


SERVED = Edition(finish_site)
EDITIONS = {
    None: SERVED,
    True: Edition(finish_site, scripts={"published": INSTALLED}),
    False: Edition(finish_site, scripts={"published": OFF}),
}
"""By whether readers' browsers are to save it; None: as mkdocs.yml says."""


def build_site(
    site: Path,
    progress: Progress,
    *,
    address: str | None = None,
    edition: Edition = SERVED,
    root: Path = ROOT,
    cache: Path = CACHE,
) -> None:
    """Build the whole site into `site`, which is replaced only when everything has gone well.

    Raises BuildError for anything an author has to mend. `root` holds mkdocs.yml, docs/ and calculators/;
    `address` is where the site will be served, if not where mkdocs.yml says.
    """
    served = {"site_url": address} if address else {}
    edition = replace(edition, settings={**edition.settings, **served})
    unfinished = site.with_name(f".{site.name}.unfinished")
    shutil.rmtree(unfinished, ignore_errors=True)
    try:
        kept = read_kept_blocks(cache, root / "calculators")
        # The results are computed beside the generator, which leaves places for them.
        with compute_beside(root, kept.blocks) as computed:
            runtime = prepare_runtime(progress, root=root, cache=cache)
            with progress.show_step("writing the pages"):
                refused = _try_pages(root, unfinished, runtime.hash, edition)
                problems, blocks = computed()
        # What is wrong in an article is better said by the check, which knows file and line.
        if problems:
            raise BuildError("\n".join(map(str, problems)))
        if refused:
            raise refused
        kept.replace(blocks)
        edition.finish(unfinished, runtime, blocks)
        replace_folder(unfinished, site)
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)


@contextmanager
def compute_beside(
    root: Path, known: Mapping[Embedding, str]
) -> Iterator[Callable[[], tuple[list[Problem], dict[Embedding, str]]]]:
    """Check the articles and compute what is not `known`; gives the function that waits for the outcome.

    A second process does it, and is started only if there is anything to compute.
    """
    docs = root / "docs"
    if all(embedding in known for embedding in find_embeddings(docs)):
        yield lambda: compute_articles(docs, root, known)
        return
    # Imported late: most builds need neither.
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(1, get_context("spawn")) as beside:
        yield beside.submit(compute_articles, docs, root, known).result


def prepare_runtime(progress: Progress, *, root: Path = ROOT, cache: Path = CACHE) -> Release:
    """Return the browser runtime for these calculators, made now or taken from the cache.

    Raises BuildError when it cannot be made, or this module was started without the handbook's command.
    """
    try:
        node, node_modules = os.environ["HANDBOOK_NODE"], os.environ["HANDBOOK_NODE_MODULES"]
    except KeyError:
        raise BuildError(
            "Start this as: python3 build_scripts/handbook.py build (it brings Node along)"
        ) from None
    try:
        return make_runtime(
            source_root=root,
            node=Path(node),
            node_modules=Path(node_modules),
            out_dir=cache / "runtime",
            cache_dir=cache / "runtime-parts",
            progress=progress,
        )
    except RuntimeBuildError as error:
        raise BuildError(str(error)) from None


def write_pages(root: Path, folder: Path, runtime: str, edition: Edition = SERVED) -> None:
    """Write the pages of the articles below `root` into `folder`, for the runtime with this release hash.

    The theme exchanges pages in place only below the address that the pages were built for.

    Raises BuildError with the generator's own warnings; none is let through.
    """
    # The generator is imported late: checking articles needs none of it.
    from mkdocs.commands.build import build
    from mkdocs.config import load_config
    from mkdocs.exceptions import Abort, ConfigurationError
    from mkdocs.exceptions import BuildError as PageError

    warnings = _Warnings()
    logger = logging.getLogger("mkdocs")
    logger.addHandler(warnings)
    try:
        config = load_config(str(root / "mkdocs.yml"), site_dir=str(folder), strict=True, **edition.settings)
        config.extra["handbook"] = {
            "script": f"assets/{_name_by_content(BROWSER_FILES / 'live.js')}",
            "style": f"assets/{_name_by_content(BROWSER_FILES / 'style.css')}",
            "offline": f"assets/{_name_by_content(BROWSER_FILES / 'offline.js')}",
            "published": INSTALLED if config.extra.get("offline", True) else OFF,
            "runtime": f"runtime/{runtime}/",
            **{name: path.format(runtime=f"runtime/{runtime}") for name, path in edition.scripts.items()},
        }
        config.mdx_configs[EXTENSION] = {"later": True}
        config.plugins.on_startup(command="build", dirty=False)
        try:
            build(config)
        finally:
            config.plugins.on_shutdown()
    except (Abort, PageError, ConfigurationError) as error:
        raise BuildError("\n".join(warnings.lines) or str(error)) from None
    finally:
        logger.removeHandler(warnings)
    if config.extra["handbook"]["published"] == INSTALLED:
        write_web_manifest(folder, config.site_name, config.site_description or config.site_name)
    for name in ("live.js", "offline.js", "search_later.js", "style.css"):
        shutil.copyfile(BROWSER_FILES / name, folder / "assets" / _name_by_content(BROWSER_FILES / name))


def read_site_name(root: Path = ROOT) -> str:
    """Read the handbook's name from mkdocs.yml; raises BuildError when that cannot be read."""
    from mkdocs.config import load_config
    from mkdocs.exceptions import Abort, ConfigurationError

    try:
        return load_config(str(root / "mkdocs.yml")).site_name
    except (Abort, ConfigurationError) as error:
        raise BuildError(f"mkdocs.yml: {error}") from None


def fill_pages(pages: Pages, blocks: Mapping[Embedding, str]) -> None:
    """Put the computed blocks into the places that the pages hold for them."""
    for name, text in pages.items():
        pages[name] = fill_placeholders(text, blocks)


def copy_runtime(release: Path, folder: Path) -> None:
    """Put the runtime's files into the site; linked where the disk allows, because they are large."""
    shutil.copytree(release, folder, copy_function=_link_or_copy)


def main(arguments: Sequence[str]) -> int:
    """Run one verb; returns the exit code."""
    parser = argparse.ArgumentParser(
        prog="handbook.py", description="Build the handbook, or build and serve it."
    )
    verbs = parser.add_subparsers(dest="verb", required=True)
    build = verbs.add_parser("build", help="build the site")
    build.add_argument(
        "--site", type=Path, default=ROOT / "site", metavar="FOLDER", help="where to (default: site)"
    )
    preview = verbs.add_parser("preview", help="build the site and serve it at 127.0.0.1")
    preview.add_argument("--port", type=_read_port, default=DEFAULT_PORT, help=f"default: {DEFAULT_PORT}")
    for verb in (build, preview):
        # The preview's own builds name it, so that pages are exchanged in place there as well.
        verb.add_argument("--address", help="where the site will be, if not where mkdocs.yml says")
        verb.add_argument(
            "--offline",
            action=argparse.BooleanOptionalAction,
            default=None if verb is build else False,
            help="whether browsers save it for offline use (preview: not, so that every change is seen at "
            "once; build: as mkdocs.yml says)",
        )
    asked = parser.parse_args(arguments)
    progress = Progress()
    site = (asked.site if asked.verb == "build" else CACHE / "preview").resolve()
    address = asked.address or (None if asked.verb == "build" else f"http://127.0.0.1:{asked.port}/")
    try:
        build_site(site, progress, address=address, edition=EDITIONS[asked.offline])
    except BuildError as error:
        print(error, file=sys.stderr)
        if asked.verb == "build":
            return 1
        print("Not built yet: mend this and save, and it is built again.", file=sys.stderr)
        site.mkdir(parents=True, exist_ok=True)
    if asked.verb == "build":
        print(f"The handbook is in {os.path.relpath(site)}{os.sep}")
        return 0
    # Later builds run in a process of their own: this one has the calculators' old code in memory.
    again = [sys.executable, "-P", "-m", "build_scripts.site", "build", "--site", str(site)]
    again += ["--address", str(address), "--offline" if asked.offline else "--no-offline"]
    return serve_preview(site, asked.port, again, watched=_list_watched())


def _read_port(text: str) -> int:
    port = int(text) if text.isdecimal() else 0
    if not 1 <= port <= HIGHEST_PORT:
        raise argparse.ArgumentTypeError(f"“{text}” is not a port; allowed: 1 to {HIGHEST_PORT}")
    return port


class _Warnings(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(record.getMessage())


def _try_pages(root: Path, folder: Path, runtime: str, edition: Edition) -> BuildError | None:
    try:
        write_pages(root, folder, runtime, edition)
    except BuildError as error:
        return error
    except FenceError as error:
        return BuildError(str(error))
    return None


def _list_watched() -> list[Path]:
    return [
        ROOT / "docs",
        ROOT / "calculators",
        ROOT / "mkdocs.yml",
        BROWSER_FILES,
        ROOT / "build_scripts" / "theme",
    ]


def _name_by_content(path: Path) -> str:
    # A browser that keeps files for long never keeps an old script for a new page.
    return f"{path.stem}.{sha256(path.read_bytes()).hexdigest()[:12]}{path.suffix}"


def _link_or_copy(source: str, target: str) -> str:
    try:
        os.link(source, target)
    except OSError:
        shutil.copyfile(source, target)
    return target


def replace_folder(new: Path, old: Path) -> None:
    """Put the finished folder `new` in the place of `old`, which stays whole until then."""
    former = old.with_name(f".{old.name}.former")
    shutil.rmtree(former, ignore_errors=True)
    if old.exists():
        old.rename(former)
    new.rename(old)
    shutil.rmtree(former, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
