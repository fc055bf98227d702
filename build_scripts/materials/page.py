"""The page that says what the handbook is made of, and the texts of all licences.

The generator writes it with a mark in the place of its text; what has to stand there is known when all files
of an edition are there.
"""

from collections.abc import Collection, Sequence
from hashlib import sha256
from html import escape
from pathlib import Path

from build_scripts.errors import BuildError
from build_scripts.materials.bill import BILL, Holding, make_bill
from build_scripts.materials.components import compile_patterns, read_materials, read_text
from build_scripts.offline.saved_release import read_known_hashes
from build_scripts.release.pages import Pages

ARTICLE = "made-of.md"
"""The name by which the generator knows the page, as if it were an article."""

TITLE = "What this handbook is made of"
_MARK = "Components and licences."
SOURCE = f"---\ntitle: {TITLE}\nsearch:\n  exclude: true\n---\n\n# {TITLE}\n\n{_MARK}\n"
"""The text of that article."""

_PAGES = ("made-of/index.html", "made-of.html")


def add_materials(pages: Pages, site: Path, cache: Path, coming: Collection[str] = ()) -> None:
    """Fill the page with the components of all files in `site`, and write the bill of materials beside it.

    `coming` names the files that are published as well, but written later; `cache` is a folder for bills.

    Raises BuildError when the theme does not show the page's text.
    """
    files = sorted(
        {path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()} | {*coming}
    )
    found = [(component, component.find_files(files)) for component in read_materials().components]
    holding = [(component, holders) for component, holders in found if holders]
    (page,) = (name for name in _PAGES if name in pages)
    bill = "../" * page.count("/") + BILL
    mark = f"<p>{_MARK}</p>"
    if mark not in pages[page]:
        raise BuildError(f"{page}: the theme does not show the text of this page, which names all licences")
    pages[page] = pages[page].replace(mark, render_page(holding, bill), 1)
    hashes = _hash_files(site, {name for _, holders in holding for name in holders})
    (site / BILL).write_text(make_bill(holding, hashes, cache), "utf-8", newline="\n")


def render_page(holding: Holding, bill: str) -> str:
    """Return the page's HTML; `bill` is the address of the bill of materials, as seen from the page."""
    rows = "".join(
        f"<tr><td>{escape(component.title)}</td><td>{escape(component.purpose)}</td>"
        f"<td>{escape(component.licence)}</td></tr>\n"
        for component, _ in holding
    )
    folds = "".join(
        f"<details><summary>{escape(titles)}</summary>\n<pre><code>{escape(text)}</code></pre></details>\n"
        for titles, text in _gather_texts(holding)
    )
    return (
        "<p>The articles and their pictures are the club's own. All else that is published with them is "
        "open-source software: each component, what it does here, and its licence as SPDX names it.</p>\n"
        "<table><thead><tr><th>Component</th><th>What it does here</th><th>Licence</th></tr></thead>\n"
        f"<tbody>\n{rows}</tbody></table>\n"
        f'<p>The same for programs, with the files that hold each: <a href="{escape(bill)}">bill of '
        "materials</a>, in the form CycloneDX.</p>\n"
        f"<h2>Texts of the licences</h2>\n{folds}"
    )


def render_runtime_licences(names: Sequence[str]) -> str:
    """Return the text that lies beside the runtime's files of these names, with all their licences."""
    files = [f"runtime/release/{name}" for name in names]
    holding = [
        (component, holders)
        for component in read_materials().components
        if (holders := component.find_files(files))
    ]
    listed = "".join(
        f"{component.title} ({component.licence}): {component.purpose}\n" for component, _ in holding
    )
    texts = "".join(f"\n\n{titles}\n{'=' * len(titles)}\n\n{text}" for titles, text in _gather_texts(holding))
    return f"What this folder is made of\n===========================\n\n{listed}{texts}"


def _gather_texts(holding: Holding) -> list[tuple[str, str]]:
    """Return each text once, behind the names of the components that come under it."""
    titles: dict[str, list[str]] = {}
    for component, _ in holding:
        for source in component.texts:
            titles.setdefault(source, []).append(component.name)
    return [(", ".join(names), read_text(source)) for source, names in titles.items()]


def _hash_files(site: Path, names: Collection[str]) -> dict[str, str]:
    """Return the SHA-256 of those of the files that are the same in every handbook with these calculators.

    Pages are not: an article that changes would change the bill.
    """
    made = compile_patterns(("**/*.html", *read_materials().made))
    known = read_known_hashes(site)
    return {
        name: known.get(name) or sha256((site / name).read_bytes()).hexdigest()
        for name in names
        if not made.fullmatch(name) and (site / name).is_file()
    }
