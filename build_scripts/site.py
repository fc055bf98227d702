"""Builds the handbook into a folder: articles checked, runtime made, pages written, release steps done.

Run in the prepared environment: `python -m build_scripts.site build` or `preview`.
"""

import os
import shutil
import signal
import sys
from argparse import Namespace
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NoReturn

from build_scripts.authoring.articles import (
    check_all_articles,
    compute_articles,
    find_embeddings,
    may_be_built,
)
from build_scripts.authoring.computing import BLOCK_LIMIT, compute_within, describe_end
from build_scripts.authoring.fence import Embedding, PlaceholderError, fill_placeholders
from build_scripts.authoring.files import DOCS, PAGES
from build_scripts.authoring.kept_blocks import read_kept_blocks
from build_scripts.authoring.problems import Problem
from build_scripts.environment.lock import hold_lock
from build_scripts.environment.options import make_parser
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.generator import BROWSER_FILES, INSTALLED, OFF, SETTINGS, Written, write_pages
from build_scripts.materials.page import add_materials
from build_scripts.offline.saved_release import WORKER, write_retired_worker, write_service_worker
from build_scripts.output import LIST, Place, describe_others, open_scratch
from build_scripts.release.content_policy import add_content_policy, read_inline_scripts
from build_scripts.release.host_headers import write_header_files
from build_scripts.release.own_scripts import THEME_SCRIPT, add_guard, find_scripts
from build_scripts.release.page_proof import prove_pages, read_allowed
from build_scripts.release.pages import Pages, open_pages
from build_scripts.release.pictures import clean_pictures
from build_scripts.release.theme_scripts import delay_search, delay_theme_scripts
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.release import Release, make_runtime

ROOT = Path(__file__).resolve().parent.parent
CACHE = ROOT / ".cache"
INTERRUPTED = 130
RELEASES = "runtime"
"""Where releases of the runtime are made in the cache."""
BILLS = "bills"
"""Where bills of materials are kept in the cache."""


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


WORKERS = ("assets/search_later.*.js", "runtime/*/files.js", "runtime/*/worker.js")
"""What workers are made of where a host serves the pages."""


def finish_site(site: Path, parts: Parts) -> None:
    """Do what is left when the generator is done: the steps of the edition that a host serves.

    Raises BuildError for a page that is not to be published.
    """
    copy_runtime(parts.runtime.folder, site / "runtime" / parts.runtime.hash)
    with open_pages(site) as pages:
        fill_pages(pages, parts.blocks)
        delay_theme_scripts(pages)
        delay_search(pages, site)
        add_materials(pages, site, parts.cache / BILLS, [WORKER] if parts.installed else [])
        scripts = find_scripts(site, (*parts.scripts, THEME_SCRIPT))
        guard = add_guard(pages, (*scripts, *find_scripts(site, WORKERS), WORKER))
        add_content_policy(pages, read_inline_scripts(parts.templates, guard), scripts)
        prove_pages(pages, read_allowed(parts.templates), parts.root)
    write_header_files(site)
    # Last of all: the service worker lists the files as they are when they are published.
    if parts.installed:
        write_service_worker(site, Path(os.environ["HANDBOOK_NODE_MODULES"]))
    else:
        write_retired_worker(site)


@dataclass(frozen=True)
class Edition:
    """What the edition that a host serves and the portable one do differently; everything else is common."""

    finish: Callable[[Path, Parts], None]
    """The steps after the generator, on the folder that it has written."""

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
    draft: bool = False,
) -> None:
    """Build the whole site into `site`, where files are replaced only when everything has gone well.

    `root` holds mkdocs.yml, docs/ and calculators/; `address` is where the site will be served, if not where
    mkdocs.yml says. A `draft` is built sooner, and its pages start Python more slowly.

    Raises BuildError for anything an author or a publisher has to mend.
    """
    place = Place(site, LIST, (site,), "--site")
    # Two builds of one place would write into each other's folder.
    with (
        hold_lock(str(cache / f"building-{site.name}.lock"), progress, "building the site"),
        place.open(root),
        open_scratch(cache / f"unfinished-{site.name}") as unfinished,
    ):
        build_folder(
            unfinished, progress, address=address, edition=edition, root=root, cache=cache, draft=draft
        )
        if others := place.replace(unfinished):
            progress.say(describe_others(others))


def build_folder(
    folder: Path,
    progress: Progress,
    *,
    address: str | None = None,
    edition: Edition,
    root: Path,
    cache: Path,
    draft: bool = False,
) -> None:
    """Build all files of an edition into the empty `folder`.

    Raises BuildError for anything an author or a publisher has to mend.
    """
    settings = {**edition.settings, **({"site_url": address} if address else {})}
    kept = read_kept_blocks(cache, root / "calculators")
    if not may_be_built(root):
        raise BuildError("\n".join(map(str, check_all_articles(root, kept.blocks))))
    # The results are computed beside the generator, which leaves places for them.
    with compute_beside(root, kept.blocks) as computed:
        runtime = prepare_runtime(progress, root=root, cache=cache, draft=draft)
        with progress.show_step("writing the pages"):
            written: Written | BuildError
            refused: Mapping[str, str] = {}
            try:
                written = write_pages(root, folder, runtime.hash, settings, edition.scripts, cache)
                refused = clean_pictures(folder, cache / "pictures")
            except BuildError as error:
                written = error
            problems, blocks = computed()
    # What is wrong in an article is better said by the check, which knows file and line.
    if isinstance(written, BuildError) and not problems:
        raise written
    if isinstance(written, Written):
        told = {problem.file for problem in problems}
        pictures = {Problem(f"{DOCS}/{name}", 1, words) for name, words in refused.items()}
        pictures = {problem for problem in pictures if problem.file not in told}
        problems = sorted({*problems, *written.problems, *pictures})
    if isinstance(written, BuildError) or problems:
        raise BuildError("\n".join(map(str, problems)))
    kept.replace(blocks)
    parts = Parts(runtime, blocks, written.templates, written.scripts, root, written.installed, cache)
    edition.finish(folder, parts)


@contextmanager
def compute_beside(
    root: Path, known: Mapping[Embedding, str], limit: float = BLOCK_LIMIT
) -> Iterator[Callable[[], tuple[list[Problem], dict[Embedding, str]]]]:
    """Check the articles and compute what is not `known`; gives the function that waits for the outcome.

    A second process does it, and is started only if there is anything to compute. That function raises
    BuildError when a block took longer than `limit`, in seconds.
    """
    embeddings = find_embeddings(root)
    if all(embedding in known for embedding in embeddings):
        yield lambda: compute_articles(root, embeddings, known)
        return
    # Imported late: most builds need neither.
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    with TemporaryDirectory() as folder, ProcessPoolExecutor(1, get_context("spawn")) as beside:
        report = Path(folder) / "report"
        report.touch()

        def wait() -> tuple[list[Problem], dict[Embedding, str]]:
            try:
                return waiting.result()
            except BrokenProcessPool:
                raise BuildError(describe_end(limit, report, root, embeddings)) from None

        # It is born deaf to Ctrl-C, or it would write about it what nobody can use; this process hears it.
        before = signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            waiting = beside.submit(compute_within, limit, report, root, embeddings, known)
        finally:
            signal.signal(signal.SIGINT, before)
        yield wait


def prepare_runtime(
    progress: Progress, *, root: Path = ROOT, cache: Path = CACHE, draft: bool = False
) -> Release:
    """Return the browser runtime for these calculators, made now or taken from the cache, or a draft of it.

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
            out_dir=cache / RELEASES,
            cache_dir=cache / "runtime-parts",
            progress=progress,
            draft=draft,
        )
    except RuntimeBuildError as error:
        raise BuildError(str(error)) from None


def fill_pages(pages: Pages, blocks: Mapping[Embedding, str]) -> None:
    """Put the computed blocks into the places that the pages hold for them.

    Raises BuildError that names the page for a block that cannot be put in.
    """
    for name, text in pages.items():
        try:
            pages[name] = fill_placeholders(text, blocks)
        except PlaceholderError as error:
            raise BuildError(f"{name}: {error} (this page is made from the article of that name)") from None


def copy_runtime(release: Path, folder: Path) -> None:
    """Put the runtime's files into the site: copies, so that whoever changes one there changes no other."""
    shutil.copytree(release, folder, copy_function=shutil.copyfile)


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


WATCHED = (
    ROOT / DOCS,
    ROOT / PAGES,
    ROOT / "calculators",
    ROOT / SETTINGS,
    BROWSER_FILES,
    ROOT / "build_scripts" / "theme",
)
"""What the preview builds again for."""


def _interrupt(_number: int, _frame: object) -> NoReturn:
    raise KeyboardInterrupt


if __name__ == "__main__":
    # A polite request to end is treated as Ctrl-C is: what was begun is ended first.
    signal.signal(signal.SIGTERM, _interrupt)
    sys.exit(main(sys.argv[1:]))
