"""Puts a Content-Security-Policy into every page: the handbook's own scripts and files, nothing else.

The inline scripts that the theme writes are allowed by their hashes. All pages get the same policy, with the
hashes of all of them, because pages are exchanged in place under the policy of the page opened first.
"""

import re
from base64 import b64encode
from collections.abc import Mapping
from hashlib import sha256
from html import escape

from build_scripts.release.pages import Pages

_INLINE_SCRIPT = re.compile(r"<script(?P<attributes>[^>]*)>(?P<body>.*?)</script>", re.DOTALL)
# Browsers look for the encoding in the first kilobyte, so the policy goes behind it.
_HEAD = re.compile(r"<head>(?:\s*<meta charset=\"?utf-8\"?\s*/?>)?", re.IGNORECASE)


SERVED = {
    "script-src": "'self'",
    "connect-src": "'self'",
    "worker-src": "'self'",
    # A new release is helped to take over by a page that nobody sees (browser/offline.js).
    "frame-src": "'self'",
}
"""Where a host serves the pages. Workers fetch the runtime, under a policy that is the host's to set."""

CARRIED = {
    # A worker made of a text keeps the policy of its page, and Python is WebAssembly.
    "script-src": "'self' 'wasm-unsafe-eval'",
    "connect-src": "'none'",
    "worker-src": "blob:",
    "frame-src": "'none'",
}
"""Where the pages are opened without a server: nothing is fetched, and workers are made of texts."""


def add_content_policy(pages: Pages, edition: Mapping[str, str] = SERVED) -> None:
    """Write the policy into every page.

    Raises ValueError that names the page when it has no head to put it in.
    """
    hashes = sorted({find for text in pages.values() for find in _find_hashes(text)})
    policy = escape(make_policy(hashes, edition), quote=True)
    meta = f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
    for name, text in pages.items():
        head = _HEAD.search(text)
        if head is None:
            raise ValueError(f"{name}: this page has no <head>, so no policy can be put in")
        pages[name] = text[: head.end()] + meta + text[head.end() :]


def make_policy(hashes: list[str], edition: Mapping[str, str] = SERVED) -> str:
    """Return the policy that allows inline scripts with these hashes; `edition` is SERVED or CARRIED."""
    allowed = " ".join(f"'sha256-{value}'" for value in hashes)
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {edition['script-src']} {allowed}".rstrip(),
            # The theme and tables align by style attributes; styles can fetch nothing under this policy.
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data:",
            "font-src 'self'",
            f"connect-src {edition['connect-src']}",
            f"worker-src {edition['worker-src']}",
            f"frame-src {edition['frame-src']}",
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
