"""Writes the web app manifest, with which a phone puts the handbook on its home screen."""

import json
from pathlib import Path

from build_scripts.club import Club, shorten

NAME = "manifest.json"
ICONS = (
    ("assets/icons/icon-192.png", 192, "any"),
    ("assets/icons/icon-512.png", 512, "any"),
    ("assets/icons/icon-maskable-512.png", 512, "maskable"),
)


def write_web_manifest(site: Path, name: str, description: str, language: str, club: Club) -> None:
    """Write it into `site`; all addresses are relative, so that it holds in any folder of any host."""
    manifest = {
        "name": name,
        "short_name": club.short_name or shorten(name),
        "description": description,
        "lang": language,
        "start_url": "./",
        "scope": "./",
        "id": "./",
        "display": "standalone",
        "background_color": club.colour,
        "theme_color": club.colour,
        "icons": [
            {"src": address, "sizes": f"{side}x{side}", "type": "image/png", "purpose": purpose}
            for address, side, purpose in ICONS
        ],
    }
    (site / NAME).write_text(json.dumps(manifest, indent=1) + "\n", "utf-8", newline="\n")
