"""Tries every attempt: the checks first, then in each edition and each engine what they let pass."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

from build_scripts.attempts.corpus import REFUSED, Attempt, choose
from build_scripts.attempts.handbooks import write_handbook
from build_scripts.attempts.judging import (
    build,
    build_articles,
    judge_article,
    judge_calculator,
    judge_name,
    judge_settings,
)
from build_scripts.attempts.table import CHECK, Outcome
from build_scripts.attempts.trap import Trap, open_trap
from build_scripts.attempts.visiting import Visitor
from build_scripts.attempts.window import make_window
from build_scripts.engines.engine import start_engine
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.portable.edition import PORTABLE
from build_scripts.preview import ADDRESS, open_server
from build_scripts.site.edition import Edition
from build_scripts.site.served import SERVED

EDITIONS: Mapping[str, Edition] = {"served": SERVED, "portable": PORTABLE}


def try_all(
    attempts: Sequence[Attempt],
    engines: Iterable[str],
    editions: Iterable[str],
    folder: Path,
    progress: Progress,
) -> Iterator[Outcome]:
    """Try all attempts; handbooks are built below `folder`, which has to be empty.

    Raises BuildError for a handbook of the attempts that cannot be built.
    """
    with progress.show_step("attempts at the checks"):
        yield from try_checks(attempts, folder / "names")
    for edition in editions:
        with open_trap() as trap:
            with progress.show_step(f"handbooks with what the checks let pass, {edition}"):
                built = Built(attempts, EDITIONS[edition], folder / edition, trap)
                yield from built.outcomes
            for engine in engines:
                with progress.show_step(f"attempts in {engine}, {edition}"):
                    yield from built.visit(engine, f"{engine}, {edition}")


def try_checks(attempts: Sequence[Attempt], root: Path) -> Iterator[Outcome]:
    """Try what is decided before a page is made."""
    write_handbook(root, {})
    judges: Mapping[str, Callable[[Attempt], list[str]]] = {
        "articles": judge_article,
        "names": lambda attempt: judge_name(attempt, root),
        "calculators": judge_calculator,
    }
    for kind, judge in judges.items():
        for attempt in choose(attempts, kind):
            yield Outcome(attempt, CHECK, compare(attempt, judge(attempt), open=kind == "articles"))


def compare(attempt: Attempt, told: Sequence[str], *, open: bool = False) -> list[str]:
    """Return what is wrong with the sentences `told`; `open` says that none is no verdict yet."""
    if attempt.then == REFUSED:
        if not told:
            return [] if open else ["it was let pass"]
        said = any(attempt.says in words for words in told)
        return [] if said else [f"no sentence says “{attempt.says}”: {told[0]}"]
    return [f"it was refused: {told[0]}"] if told else []


class Built:
    """The handbooks of one edition that hold what the checks let pass."""

    def __init__(self, attempts: Sequence[Attempt], edition: Edition, folder: Path, trap: Trap) -> None:
        """Build them below `folder`; raises BuildError for one that cannot be built."""
        self.trap = trap
        self.outcomes: list[Outcome] = []
        self.articles, self.articles_site = self._build_articles(attempts, edition, folder / "articles")
        self.settings = dict(self._build_settings(attempts, edition, folder / "settings"))
        self.asked = {kind: choose(attempts, kind) for kind in ("links", "stored", "answers", "workers")}
        texts = {
            kind: [trap.arm(attempt.text) for attempt in self.asked[kind]] for kind in ("answers", "workers")
        }
        root = folder / "window"
        write_handbook(root / "handbook", {}, make_window(texts["answers"], texts["workers"]))
        self.window_site = root / "site"
        if told := build(root / "handbook", self.window_site, edition):
            raise BuildError("\n".join(told))

    def _build_articles(
        self, attempts: Sequence[Attempt], edition: Edition, folder: Path
    ) -> tuple[list[Attempt], Path]:
        armed = [attempt for attempt in choose(attempts, "articles") if not judge_article(attempt)]
        refused = build_articles(folder / "handbook", folder / "site", edition, armed, self.trap)
        passed = [attempt for attempt in armed if attempt.line not in refused]
        for attempt in armed:
            wrong = compare(attempt, refused.get(attempt.line, []))
            self.outcomes.append(Outcome(attempt, CHECK, wrong))
        return passed, folder / "site"

    def _build_settings(
        self, attempts: Sequence[Attempt], edition: Edition, folder: Path
    ) -> Iterator[tuple[Attempt, Path]]:
        # The portable edition sets some of them by itself, and is written by the same generator.
        if edition is not SERVED:
            return
        write_handbook(folder / "handbook", {})
        for attempt in choose(attempts, "settings"):
            site = folder / f"site-{attempt.line}"
            told = judge_settings(attempt, self.trap, folder / "handbook", site, edition)
            self.outcomes.append(Outcome(attempt, CHECK, compare(attempt, told)))
            if not told:
                yield attempt, site

    def visit(self, engine: str, place: str) -> Iterator[Outcome]:
        """Open all of it in one engine; yields what came of each attempt there."""
        with start_engine(engine) as browser:
            with open_folder(self.articles_site, place) as base:
                visitor = Visitor(browser, base, self.trap)
                for attempt in self.articles:
                    yield Outcome(attempt, place, visitor.try_article(attempt))
            for attempt, site in self.settings.items():
                with open_folder(site, place) as base:
                    visitor = Visitor(browser, base, self.trap)
                    yield Outcome(attempt, place, visitor.visit(visitor.find_page()))
            with open_folder(self.window_site, place) as base:
                visitor = Visitor(browser, base, self.trap)
                for attempt in self.asked["links"]:
                    yield Outcome(attempt, place, visitor.try_link(attempt))
                for attempt in self.asked["stored"]:
                    yield Outcome(attempt, place, visitor.try_stored(attempt))
                for number, attempt in enumerate(self.asked["answers"]):
                    yield Outcome(attempt, place, visitor.try_answer(number))
                for number, attempt in enumerate(self.asked["workers"]):
                    yield Outcome(attempt, place, visitor.try_worker(number))


@contextmanager
def open_folder(site: Path, place: str) -> Iterator[str]:
    """Give the address of a built site for the length of the block: served, or as it lies there."""
    if place.endswith("portable"):
        yield f"{site.as_uri()}/"
        return
    server = open_server(site, 0)
    serving = Thread(target=server.serve_forever, args=(0.05,))
    serving.start()
    try:
        yield f"http://{ADDRESS}:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
        serving.join()
