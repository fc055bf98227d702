"""What a host is to say beside each file: the one table, and the files in which hosts read it.

A page carries its own policy; what a page cannot say of itself, and of the scripts that workers are made of,
stands here. `preview` sends the same.
"""

import re
from collections.abc import Mapping
from pathlib import Path

from build_scripts.offline.saved_release import APACHE, COMMON, NAMED_BY_CONTENT, NGINX, TYPES

_UNUSED = (
    "accelerometer autoplay bluetooth camera display-capture geolocation gyroscope hid magnetometer "
    "microphone midi payment serial usb"
)
# A worker of calculators takes what files.js hands over, and runs what lies beside it.
_PYTHON_POLICY = (
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; require-trusted-types-for 'script'; "
    "trusted-types 'none'"
)
_FILES_POLICY = (
    "default-src 'none'; script-src 'wasm-unsafe-eval'; connect-src 'self'; "
    "require-trusted-types-for 'script'; trusted-types 'none'"
)

RULES: tuple[tuple[re.Pattern[str], Mapping[str, str]], ...] = (
    (
        re.compile(""),
        {
            "Cache-Control": "no-cache",
            "Content-Security-Policy": "frame-ancestors 'self'",
            "Permissions-Policy": ", ".join(f"{feature}=()" for feature in _UNUSED.split()),
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
        },
    ),
    (NAMED_BY_CONTENT, {"Cache-Control": "max-age=31536000, immutable"}),
    (re.compile(r"^runtime/[0-9a-f]{16}/worker\.js$"), {"Content-Security-Policy": _PYTHON_POLICY}),
    (re.compile(r"^runtime/[0-9a-f]{16}/files\.js$"), {"Content-Security-Policy": _FILES_POLICY}),
)
"""Headers by the names of files as seen from the site; where several say the same header, the last holds."""

_EVERYWHERE = RULES[0][1]


def find_headers(name: str) -> dict[str, str]:
    """Return the headers of the file with this name below the site."""
    found: dict[str, str] = {}
    for names, headers in RULES:
        if names.search(name):
            found |= headers
    return found


def write_header_files(site: Path) -> None:
    """Write the same table into `site` in each form that hosts read."""
    names = sorted(path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file())
    for file, text in {COMMON: _write_common(names), APACHE: _write_apache(), NGINX: _write_nginx()}.items():
        (site / file).write_text(text, "utf-8", newline="\n")


def _write_common(names: list[str]) -> str:
    # Some of these hosts join what several rules say of one header, others take the last. Two policies hold
    # together; that browsers ask anew for the rest is what these hosts say by themselves.
    said = {header: value for header, value in _EVERYWHERE.items() if header != "Cache-Control"}
    lines = [
        "# Headers for static hosts that read a file of this name (see the page on hosting).",
        "/*",
    ]
    lines += [f"  {header}: {value}" for header, value in said.items()]
    for name in names:
        own = {header: value for header, value in find_headers(name).items() if _EVERYWHERE[header] != value}
        if own:
            own["Content-Type"] = TYPES[Path(name).suffix]
            lines += [f"/{name}", *(f"  {header}: {value}" for header, value in own.items())]
    return "\n".join(lines) + "\n"


def _write_apache() -> str:
    lines = [
        "# Headers for Apache, which reads this file where AllowOverride lets it (see the page on hosting)."
    ]
    lines += [f'AddType "{kind}" {ending}' for ending, kind in TYPES.items()]
    lines += ["<IfModule mod_headers.c>"]
    for names, headers in RULES:
        set_them = [f'Header always set {header} "{value}"' for header, value in headers.items()]
        if names.pattern:
            lines += [f'<If "%{{REQUEST_URI}} =~ m#{_below_any_folder(names)}#">', *set_them, "</If>"]
        else:
            lines += set_them
    return "\n".join([*lines, "</IfModule>"]) + "\n"


def _write_nginx() -> str:
    lines = [
        "# Headers for nginx: include this file in the block “server” or “location” that serves the handbook",
        "# (see the page on hosting). An add_header in a block within would put these out of force there.",
        "default_type application/octet-stream;",
        "types {",
        *(f'  "{kind}" {ending.removeprefix(".")};' for ending, kind in TYPES.items()),
        "}",
    ]
    for names, headers in RULES:
        set_them = [f'set {_name_variable(header)} "{value}";' for header, value in headers.items()]
        if names.pattern:
            lines += [f'if ($uri ~ "{_below_any_folder(names)}") {{', *set_them, "}"]
        else:
            lines += set_them
    lines += [f"add_header {header} {_name_variable(header)} always;" for header in _EVERYWHERE]
    return "\n".join(lines) + "\n"


def _below_any_folder(names: re.Pattern[str]) -> str:
    """Return the pattern for whole addresses, since the site may lie in a folder of its host."""
    return names.pattern.replace("^", "/")


def _name_variable(header: str) -> str:
    return f"$handbook_{header.lower().replace('-', '_')}"
