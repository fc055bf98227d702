"""Keeps from build to build which pages were proven: a page that is as it was needs no other proof."""

import sys
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path

import calculators
from build_scripts.kept import hash_sources, keep, read_kept
from build_scripts.release.pages import Pages

_CODE = (Path(calculators.__file__).parent, Path(__file__).parents[1])


def prove_changed_pages(pages: Pages, templates: Sequence[Path], root: Path, file: Path) -> None:
    """Prove the pages that `file` does not name as proven by this very code with these very templates.

    Raises BuildError as `prove_pages` does; then nothing new is kept.
    """
    # What is installed has thousands of files, and changes with the environment only.
    own = [folder for folder in templates if not folder.is_relative_to(sys.prefix)]
    made_by = hash_sources([*own, *_CODE], [".html", ".py"])
    proven = read_kept(file, made_by) or {}
    found = {name: sha256(text.encode()).hexdigest() for name, text in pages.items()}
    if found == proven:
        return
    # Imported late: most builds need none of it.
    from build_scripts.release.page_proof import prove_pages, read_allowed

    changed = {name: pages[name] for name in found if found[name] != proven.get(name)}
    prove_pages(changed, read_allowed(templates), root)
    keep(file, made_by, found)
