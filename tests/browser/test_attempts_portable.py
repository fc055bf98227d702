"""What a stranger may try does no harm in the portable edition, in a real Chromium."""

from pathlib import Path

from tests.browser.attempted import list_wrong


def test_no_attempt_does_harm(tmp_path: Path) -> None:
    assert list_wrong("portable", tmp_path) == []
