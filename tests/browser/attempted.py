"""What both tests of the attempts share: all of them, in Chromium, in one edition."""

from pathlib import Path

from build_scripts.attempts.__main__ import CORPUS
from build_scripts.attempts.corpus import read_corpus
from build_scripts.attempts.trap import open_trap
from build_scripts.attempts.trying import EDITIONS, Built


def list_wrong(edition: str, folder: Path) -> list[str]:
    """Build what the checks let pass and open it; returns what did not end as it has to."""
    with open_trap() as trap:
        built = Built(read_corpus(CORPUS), EDITIONS[edition], folder, trap)
        outcomes = [*built.outcomes, *built.visit("chromium", f"chromium, {edition}")]
    assert outcomes
    return [str(outcome) for outcome in outcomes if outcome.wrong]
