"""Makes the icons of a handbook from the club's own picture, in the place of the engine's."""

from pathlib import Path

from PIL import Image

FOLDER = "assets/icons"
# A home screen cuts a maskable icon to a circle or a rounded square: it is drawn smaller on the same ground.
SIDES = {
    "icon-180": (180, 1.0),
    "icon-192": (192, 1.0),
    "icon-512": (512, 1.0),
    "icon-maskable-512": (512, 0.8),
}
"""Side in pixels of each icon, and the share of it that the picture takes."""


def write_icons(site: Path, source: Path, ground: str) -> None:
    """Write all icons into `site`, from the square picture `source` on a ground of this colour."""
    folder = site / FOLDER
    # The engine's drawing belongs to the engine's icons.
    (folder / "icon.svg").unlink(missing_ok=True)
    with Image.open(source) as opened:
        picture = opened.convert("RGBA")
    for name, (side, share) in SIDES.items():
        inner = round(side * share)
        drawn = picture.resize((inner, inner), Image.Resampling.LANCZOS)
        icon = Image.new("RGBA", (side, side), ground)
        icon.alpha_composite(drawn, ((side - inner) // 2, (side - inner) // 2))
        icon.convert("RGB").save(folder / f"{name}.png")
