"""Reads the attempts: files of JSON lines, one attempt a line, with what has to happen to it."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

KINDS = ("articles", "names", "settings", "links", "stored", "answers", "workers", "calculators")
"""A file `<kind>.jsonl` for each; what `try` means in it says judging.py or visiting.py."""

REFUSED, HARMLESS = "refused", "harmless"


@dataclass(frozen=True)
class Attempt:
    """One line: what is tried, and what has to become of it."""

    kind: str
    line: int
    way: str
    """What it is an example of, as the guide's table says it."""

    text: str
    then: str
    """REFUSED (with a sentence and its place) or HARMLESS (built, and nothing runs, leaves or is covered)."""

    says: str = ""
    """Words of the sentence."""

    content: str = ""
    """Of a file, for names."""

    beside: str = ""
    """Another file with the same content, for names."""

    value: str = ""
    """What is stored, for stored."""

    calculator: bool = False
    """Whether a calculator stands on the page as well, and has to work."""

    @property
    def name(self) -> str:
        """Where it stands."""
        return f"{self.kind}.jsonl:{self.line}"


def read_corpus(folder: Path) -> list[Attempt]:
    """Read the attempts of all kinds below `folder`, in order.

    Raises ValueError, with file and line, for a line that is none.
    """
    attempts = []
    for kind in KINDS:
        for number, line in enumerate((folder / f"{kind}.jsonl").read_text("utf-8").splitlines(), 1):
            try:
                described = json.loads(line)
                attempt = Attempt(kind=kind, line=number, text=described.pop("try"), **described)
            except (ValueError, TypeError, KeyError) as error:
                raise ValueError(f"{kind}.jsonl:{number}: this is no attempt: {error}") from None
            if attempt.then not in (REFUSED, HARMLESS):
                raise ValueError(f"{attempt.name}: “{attempt.then}” is neither “{REFUSED}” nor “{HARMLESS}”")
            attempts.append(attempt)
    return attempts


def choose(attempts: Sequence[Attempt], kind: str, then: str = "") -> list[Attempt]:
    """Return those of one kind; with `then`, those that have to end so."""
    return [attempt for attempt in attempts if attempt.kind == kind and then in ("", attempt.then)]
