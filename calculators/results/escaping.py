"""Escapes text for HTML and SVG; most words of a result are those of the one before, so they are kept."""

from functools import lru_cache
from html import escape as _escape


@lru_cache(maxsize=8192)
def escape(text: str) -> str:
    """Return `text` with the characters replaced that mean something in HTML, quotes included."""
    return _escape(text)
