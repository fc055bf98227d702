"""Text is the same whatever ends its lines: a checkout on Windows may have other ends and means the same."""


def settle_line_ends(data: bytes) -> bytes:
    """Return a text file's bytes with the line ends that are published; a file with zero bytes is no text."""
    return data if b"\0" in data else data.replace(b"\r\n", b"\n")
