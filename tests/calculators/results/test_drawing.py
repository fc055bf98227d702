"""The canvas of the pictures: what is set closer to fit, and where a label finds room."""

import re

import pytest

from calculators.results.drawing import Axis, Canvas, Series, _Room, draw_chart


# A letter of the page's face is reckoned 7 pixels wide, a bold one 8.4: of ten, 70 and 84.
@pytest.mark.parametrize(
    ("bold", "within", "squeezed"),
    [(False, 69, True), (False, 71, False), (True, 83, True), (True, 85, False)],
)
def test_words_wider_than_their_room_are_set_closer(bold: bool, within: float, squeezed: bool) -> None:
    canvas = Canvas(20)
    canvas.text((0, 12), "0123456789", bold=bold, within=within)
    assert ("textLength" in canvas.render()) == squeezed


# A phone's picture is 340 pixels wide, and a line of text 13 high.
@pytest.mark.parametrize(
    ("x", "level", "free"),
    [(285, 100, True), (295, 100, False), (100, 13.4, True), (100, 12.6, False), (100, 199, True)],
)
def test_a_label_stands_within_its_picture(x: float, level: float, free: bool) -> None:
    place, _ = _Room(200).find(50, [(x, level, "start"), (0, 50, "start")])
    assert (place == (x, level)) == free


# The first label ends at 50; four pixels stay free beside it, and a line's height above and below.
@pytest.mark.parametrize(
    ("x", "level", "free"),
    [(53.9, 100, False), (54.1, 100, True), (10, 112.6, False), (10, 113.4, True), (10, 86.6, True)],
)
def test_a_label_stands_clear_of_another(x: float, level: float, free: bool) -> None:
    room = _Room(200)
    room.find(50, [(0, 100, "start")])
    place, _ = room.find(20, [(x, level, "start"), (200, 50, "start")])
    assert (place == (x, level)) == free


# A digit is reckoned 8 pixels wide: four of them, centred, need 16 to the picture's edge at 340.
def test_a_long_number_at_the_edge_is_moved_in() -> None:
    line = Series("", ((0.0, 0.0), (2000.0, 1.0)))
    drawing = draw_chart(Axis("along", "number", 0, 2000), Axis("up", "number", 0, 1), (line,))
    (across,) = re.findall(r'<text x="([\d.]+)"[^>]*>2000<', drawing)
    assert float(across) == 340 - 16
