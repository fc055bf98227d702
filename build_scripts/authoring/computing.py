"""Computes what articles embed, each block within a time limit: a calculator may never come to an end."""

import faulthandler
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from build_scripts.authoring.articles import compute_articles, find_place
from build_scripts.authoring.fence import Embedding
from build_scripts.authoring.problems import Problem

BLOCK_LIMIT = 60.0
"""Seconds that one block may take to compute, a thousand times what the slowest one needs."""

_TIMEOUT = "Timeout ("
_CODE = re.compile(r'File "(?P<file>[^"]*)", line (?P<line>\d+) in ')


def compute_within(
    limit: float,
    report: Path,
    root: Path,
    embeddings: Sequence[Embedding],
    known: Mapping[Embedding, str],
) -> tuple[list[Problem], dict[Embedding, str]]:
    """Do what `compute_articles` does, in a process that ends itself when a block takes longer than `limit`.

    The file `report` then says for `describe_end` which block that was and where the code was.
    """
    with report.open("w", encoding="utf-8") as file:
        for number, embedding in enumerate(embeddings):
            if embedding in known:
                continue
            file.seek(0)
            file.truncate()
            file.write(f"{number}\n")
            file.flush()
            faulthandler.dump_traceback_later(limit, exit=True, file=file)
            try:
                # The check, which comes next, says it with its place and has all others computed already.
                with suppress(Exception):
                    embedding.render()
            finally:
                faulthandler.cancel_dump_traceback_later()
        file.truncate(0)
    return compute_articles(root, embeddings, known)


def describe_end(limit: float, report: Path, root: Path, embeddings: Sequence[Embedding]) -> str:
    """Say from its `report` why the process of `compute_within` has ended, with article and line."""
    number, _, told = report.read_text("utf-8").partition("\n")
    if not number:
        return "The process that checks the articles was ended by something else; start again."
    embedding = embeddings[int(number)]
    place = find_place(root, embedding)
    if not told.startswith(_TIMEOUT):
        words = f"the process that computed {embedding.slug} here was ended by something else; start again"
        return str(Problem(*place, words))
    code = (
        f" ({path.relative_to(root).as_posix()}, line {found['line']})"
        for found in _CODE.finditer(told)
        if (path := Path(found["file"])).is_relative_to(root / "calculators")
    )
    words = (
        f"{embedding.slug} came to no end within {limit:g} s and was ended{next(code, '')}; mend the "
        "calculator, or give it other values here"
    )
    return str(Problem(*place, words))
