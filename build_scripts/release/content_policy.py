"""Puts a Content-Security-Policy into every page: the handbook's own scripts and files, nothing else.

The inline scripts that the theme writes are allowed by their hashes. All pages get the same policy, with the
hashes of all of them, because pages are exchanged in place under the policy of the page opened first.
"""

import re
from base64 import b64encode
from hashlib import sha256
from html import escape
from pathlib import Path

_INLINE_SCRIPT = re.compile(r"<script(?P<attributes>[^>]*)>(?P<body>.*?)</script>", re.DOTALL)
# Browsers look for the encoding in the first kilobyte, so the policy goes behind it.
_HEAD = re.compile(r"<head>(?:\s*<meta charset=\"?utf-8\"?\s*/?>)?", re.IGNORECASE)


def add_content_policy(site: Path) -> None:
    """Write the policy into every HTML file below `site`.

    Raises ValueError that names the file when a page has no head to put it in.
    """
    pages = {path: path.read_text("utf-8") for path in sorted(site.rglob("*.html"))}
    hashes = sorted({find for text in pages.values() for find in _find_hashes(text)})
    policy = escape(make_policy(hashes), quote=True)
    for path, text in pages.items():
        written, count = _HEAD.subn(
            lambda head: f'{head[0]}<meta http-equiv="Content-Security-Policy" content="{policy}">',
            text,
            count=1,
        )
        if not count:
            raise ValueError(f"{path.relative_to(site)}: this page has no <head>, so no policy can be put in")
        path.write_text(written, "utf-8", newline="\n")


def make_policy(hashes: list[str]) -> str:
    """Return the policy that allows inline scripts with these hashes."""
    allowed = " ".join(f"'sha256-{value}'" for value in hashes)
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src 'self' {allowed}".rstrip(),
            # The theme and tables align by style attributes; styles can fetch nothing under this policy.
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data:",
            "font-src 'self'",
            "connect-src 'self'",
            "worker-src 'self'",
            "manifest-src 'self'",
            "base-uri 'self'",
            "form-action 'none'",
        )
    )


def _find_hashes(page: str) -> list[str]:
    return [
        b64encode(sha256(match["body"].encode()).digest()).decode()
        for match in _INLINE_SCRIPT.finditer(page)
        if "src=" not in match["attributes"] and "application/json" not in match["attributes"]
    ]
