"""Reads the labels out of a drawing, to see whether they stand clear of each other and of its edge."""

import xml.etree.ElementTree as ElementTree

NARROW, HEIGHT = 6.5, 11.0
"""Least width of a letter and height of a line in pixels, for text that is 13 high: what surely overlaps."""


def check_labels(drawing: str) -> None:
    """Fail if one text of the drawing covers another, or leaves it, or is too small for a phone."""
    picture = ElementTree.fromstring(drawing)
    wide = float(picture.attrib["width"])
    boxes: list[tuple[str, float, float, float]] = []
    for text in picture.iter("text"):
        words = "".join(text.itertext())
        # A picture gets 294 pixels of a 360-pixel-wide page, and its text shall have 11 there.
        assert float(text.attrib["font-size"]) * 294 / wide >= 11, words
        width, x, baseline = NARROW * len(words), float(text.attrib["x"]), float(text.attrib["y"])
        left = {"start": x, "middle": x - width / 2, "end": x - width}[text.attrib["text-anchor"]]
        assert left >= 0, words
        assert left + width <= wide, words
        for other, start, end, level in boxes:
            apart = left >= end or left + width <= start or abs(baseline - level) >= HEIGHT
            assert apart, f"“{words}” covers “{other}”"
        boxes.append((words, left, left + width, baseline))
