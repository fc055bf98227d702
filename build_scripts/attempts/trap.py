"""A place that nobody may ever ask for anything: it counts whoever knocks."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

NAMED = "evil.example"
"""The host that attempts name; the trap's real address takes its place."""


class Trap:
    """Listens on this machine and answers nobody."""

    def __init__(self, listening: socket.socket) -> None:
        self.knocks = 0
        self.address = f"127.0.0.1:{listening.getsockname()[1]}"
        self._listening = listening

    def listen(self) -> None:
        """Count knocks until the socket is closed."""
        with suppress(OSError):
            while True:
                visitor, _ = self._listening.accept()
                self.knocks += 1
                visitor.close()

    def arm(self, text: str) -> str:
        """Return `text` with the trap in the place of the host that it names."""
        return text.replace(NAMED, self.address)


@contextmanager
def open_trap() -> Iterator[Trap]:
    """Give a trap that listens for the length of the block."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        trap = Trap(listening)
        threading.Thread(target=trap.listen, daemon=True).start()
        yield trap
        # Closing alone does not wake a thread that waits.
        listening.shutdown(socket.SHUT_RDWR)
