"""The guide's table of attempts: what was tried, how often, and what became of it."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from build_scripts.attempts.corpus import HARMLESS, Attempt

CHECK = "check"
"""Where an attempt is decided before a browser sees anything of it."""

BEGIN, END = "<!-- attempts: written by the command -->", "<!-- attempts: end -->"


@dataclass(frozen=True)
class Outcome:
    """What became of one attempt in one place."""

    attempt: Attempt
    place: str
    """The check, or an engine and an edition."""

    wrong: Sequence[str]
    """What should not have happened, in sentences; empty if all went as it has to."""

    def __str__(self) -> str:
        return f"{self.attempt.name} ({self.place}): {self.attempt.text[:60]!r}: {'; '.join(self.wrong)}"


def render_table(outcomes: Iterable[Outcome]) -> str:
    """Return the table in Markdown, one row for each way, and below it what did not hold."""
    outcomes = list(outcomes)
    attempts = dict.fromkeys(outcome.attempt for outcome in outcomes)
    visited = Counter(outcome.attempt for outcome in outcomes if outcome.place != CHECK)
    wrong = [outcome for outcome in outcomes if outcome.wrong]
    rows: dict[tuple[str, str], Counter[str]] = {}
    for attempt in attempts:
        row = rows.setdefault((attempt.kind, attempt.way), Counter())
        row["tried"] += 1
        row[attempt.then] += 1
        row["visits"] += visited[attempt]
    for outcome in wrong:
        rows[outcome.attempt.kind, outcome.attempt.way]["wrong"] += 1
    places = list(dict.fromkeys(outcome.place for outcome in outcomes if outcome.place != CHECK))
    lines = [
        f"{len(attempts)} attempts; built and opened in {', '.join(places) or 'no browser'}.",
        "",
        "| kind | what is tried | attempts | refused | harmless | opened in a browser | did not hold |",
        "| --- | --- | --: | --: | --: | --: | --: |",
    ]
    for (kind, way), row in rows.items():
        counts = (row["tried"], row["refused"], row[HARMLESS], row["visits"], row["wrong"])
        lines.append(f"| {kind} | {way} | {' | '.join(map(str, counts))} |")
    return "\n".join(lines)


def write_table(guide: Path, table: str) -> None:
    """Put the table into the guide, between its two marks.

    Raises ValueError if the guide has no such marks.
    """
    text = guide.read_text("utf-8")
    before, begun, rest = text.partition(BEGIN)
    _, ended, after = rest.partition(END)
    if not begun or not ended:
        raise ValueError(f"{guide.name} has no place for the table: it stands between “{BEGIN}” and “{END}”")
    guide.write_text(f"{before}{BEGIN}\n\n{table}\n\n{END}{after}", "utf-8", newline="\n")
