"""What the checks before and during a build say of an attempt: sentences, or none if it may be published."""

import os
import re
from collections.abc import Sequence
from contextlib import suppress
from copy import copy
from functools import cache
from io import StringIO
from pathlib import Path

from build_scripts.attempts.corpus import Attempt
from build_scripts.attempts.handbooks import CALCULATOR, OTHER, write_handbook, write_settings
from build_scripts.attempts.trap import Trap
from build_scripts.authoring.articles import check_article, check_articles
from build_scripts.checkout import CACHE, ROOT
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.house_rules.gate import read_files
from build_scripts.house_rules.rules import House, find_in_module, read_house
from build_scripts.site.building import build_site
from build_scripts.site.edition import Edition
from build_scripts.site.served import SERVED

_REFUSED_ARTICLE = re.compile(r"docs/attempt-(?P<line>\d+)\.md:\d+: .*")


def judge_article(attempt: Attempt) -> list[str]:
    """Return the sentences on an article, with their lines."""
    return [f"{line}: {words}" for line, words in check_article(attempt.text)]


def judge_calculator(attempt: Attempt) -> list[str]:
    """Return the sentences on a calculator's source beside those of this checkout."""
    path = "attempt.py"
    mine, problems = read_house({"__init__.py": b"", path: attempt.text.encode("utf-8", "surrogatepass")})
    if not problems:
        house = copy(_read_checkout())
        house.attributes = house.attributes | mine.attributes
        house.modules = house.modules | {path: mine.modules[path]}
        problems = set(find_in_module(house, path))
    return [str(problem) for problem in sorted(problems)]


@cache
def _read_checkout() -> House:
    house, problems = read_house(read_files(str(ROOT / "calculators")))
    if problems:
        raise BuildError("\n".join(map(str, sorted(problems))))
    return house


def judge_name(attempt: Attempt, root: Path) -> list[str]:
    """Return the sentences on files of this name and content among the articles of the handbook in `root`."""
    written: list[Path] = []
    try:
        for name in filter(None, (attempt.text, attempt.beside)):
            path = root / "docs" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(attempt.content, "utf-8", newline="")
            written.append(path)
        told = [str(problem) for problem in check_articles(root / "docs", root)]
        return told or build(root, root.with_name("named"), SERVED)
    except OSError as error:
        return [f"{attempt.name}: this system has no such name: {error}"]
    finally:
        for path in written:
            path.unlink()
            with suppress(OSError):
                os.removedirs(path.parent)


def judge_settings(attempt: Attempt, trap: Trap, root: Path, site: Path, edition: Edition) -> list[str]:
    """Return the sentences on settings of the handbook in `root`; without any it is built into `site`."""
    write_settings(root, trap.arm(attempt.text))
    return build(root, site, edition)


def build_articles(
    root: Path, site: Path, edition: Edition, attempts: Sequence[Attempt], trap: Trap
) -> dict[int, list[str]]:
    """Build a handbook with an article for each of the attempts that the build does not refuse.

    Returns the sentences on the refused ones, by the attempt's line.
    """
    articles = {
        f"attempt-{attempt.line}.md": trap.arm(attempt.text) + (CALCULATOR if attempt.calculator else "")
        for attempt in attempts
    }
    write_handbook(root, {"other.md": OTHER, **articles})
    refused: dict[int, list[str]] = {}
    while told := build(root, site, edition):
        for words in told:
            found = _REFUSED_ARTICLE.fullmatch(words)
            if found is None:
                raise BuildError(f"the attempts' own handbook cannot be built: {words}")
            refused.setdefault(int(found["line"]), []).append(words)
            (root / "docs" / f"attempt-{found['line']}.md").unlink(missing_ok=True)
    return refused


def build(root: Path, site: Path, edition: Edition) -> list[str]:
    """Build the handbook in `root` as it is; returns the sentences that stop it."""
    try:
        build_site(site, Progress(StringIO()), edition=edition, root=root, cache=CACHE)
    except BuildError as error:
        return str(error).split("\n")
    return []
