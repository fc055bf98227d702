"""Computes what articles embed, each block within a time limit: a calculator may never come to an end."""

import faulthandler
import re
import signal
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from build_scripts.authoring.articles import compute_articles, find_embeddings, find_place
from build_scripts.authoring.fence import Embedding
from build_scripts.authoring.problems import Problem
from build_scripts.errors import BuildError

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
