"""Builds the handbook into a folder: articles checked, runtime made, pages written, an edition finished."""

import os
from collections.abc import Mapping
from pathlib import Path

from build_scripts.authoring.articles import check_all_articles, may_be_built
from build_scripts.authoring.computing import compute_beside
from build_scripts.authoring.files import DOCS
from build_scripts.authoring.kept_blocks import read_kept_blocks
from build_scripts.authoring.problems import Problem
from build_scripts.checkout import CACHE, RELEASES, ROOT
from build_scripts.environment.lock import hold_lock
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.generator import Written, write_pages
from build_scripts.output import LIST, Place, describe_others, open_scratch
from build_scripts.release.pictures import clean_pictures
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.release import Release, make_runtime
from build_scripts.site.edition import Edition, Parts
from build_scripts.site.served import SERVED


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
    parts = Parts(
        runtime,
        blocks,
        written.templates,
        written.scripts,
        root,
        written.installed,
        cache,
        written.found,
        written.contents,
    )
    edition.finish(folder, parts)


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
