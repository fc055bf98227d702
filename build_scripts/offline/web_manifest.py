"""Writes the web app manifest, with which a phone puts the handbook on its home screen."""

import json
from pathlib import Path

NAME = "manifest.json"
ICONS = (
    ("assets/icons/icon-192.png", 192, "any"),
    ("assets/icons/icon-512.png", 512, "any"),
    ("assets/icons/icon-maskable-512.png", 512, "maskable"),
)
GROUND = "#5d4037"


def write_web_manifest(site: Path, name: str, description: str) -> None:
    """Write it into `site`; all addresses are relative, so that it holds in any folder of any host."""
    manifest = {
        "name": name,
        "short_name": shorten(name),
        "description": description,
        "lang": "en",
        "start_url": "./",
        "scope": "./",
        "id": "./",
        "display": "standalone",
        "background_color": GROUND,
        "theme_color": GROUND,
        "icons": [
            {"src": address, "sizes": f"{side}x{side}", "type": "image/png", "purpose": purpose}
            for address, side, purpose in ICONS
        ],
    }
    (site / NAME).write_text(json.dumps(manifest, indent=1) + "\n", "utf-8", newline="\n")


def shorten(name: str, room: int = 12) -> str:
    """Return as many whole words of `name` as fit below an icon, at least the first."""
    words = name.split()
    while len(words) > 1 and len(" ".join(words)) > room:
        words.pop()
    return " ".join(words)
