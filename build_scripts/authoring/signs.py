"""Signs that nobody sees in a text and that change what it is."""

import re
import unicodedata

# Control characters (a file that is no text holds them), and those that show the words after them in another
# order than they are read in.
_UNWANTED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069]")


def find_unwanted_sign(text: str) -> str:
    """Return a sentence on the first such sign in `text`, or ""."""
    found = _UNWANTED.search(text)
    if found is None:
        return ""
    code = ord(found[0])
    if unicodedata.category(found[0]) == "Cc":
        return f"here is a control character, U+{code:04X}; remove it, and save the file as UTF-8 text"
    return f"the invisible sign U+{code:04X} turns round how the words after it are shown; remove it"
