"""What can go wrong while the environment is prepared, each as one sentence that says what to do."""

from __future__ import annotations

import re

NETWORK_SIGNS = re.compile(
    r"dns error|failed to lookup|error sending request|client error \(connect\)"
    r"|network connectivity is disabled|network was disabled"
    r"|NewConnectionError|NameResolutionError|ConnectTimeoutError|ReadTimeoutError|Failed to establish"
    r"|Temporary failure|connection timed out|operation timed out|Max retries exceeded"
    r"|ProxyError|ConnectionError"
    r"|ENOTFOUND|ECONNREFUSED|ECONNRESET|EAI_AGAIN|ETIMEDOUT|ENETUNREACH|ENOTCACHED",
    re.IGNORECASE,
)
HASH_SIGNS = re.compile(r"hash mismatch|do not match the hashes|EINTEGRITY", re.IGNORECASE)
SHOWN_LINES = 12


class SetupError(Exception):
    """Something the handbook runs on is missing and cannot be had; the message says what to do."""


class StepError(SetupError):
    """A program that prepares the environment failed; `output` holds what it wrote."""

    def __init__(self, step: str, output: str, log: str) -> None:
        self.step = step
        self.output = output
        self.log = log
        super().__init__(describe_failure(step, output, log))


def describe_failure(step: str, output: str, log: str) -> str:
    """The sentence for a failed step, told from what its program wrote."""
    if HASH_SIGNS.search(output):
        return (
            f"{step}: what arrived is not what was pinned (its hash differs), so it was not installed. "
            f"Start again; if it stays so, the source or the connection is not to be trusted. Details: {log}"
        )
    if NETWORK_SIGNS.search(output):
        return (
            f"{step}: the first set-up needs a network, and nothing could be fetched. "
            f"Connect this machine and start again; what is already here is kept. Details: {log}"
        )
    lines = [line.rstrip() for line in output.splitlines() if line.strip()]
    shown = "".join(f"\n    {line}" for line in lines[-SHOWN_LINES:])
    return f"{step} failed; the whole of what was written is in {log}, and it ends with:{shown}"
