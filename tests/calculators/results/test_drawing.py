"""The canvas of the pictures: what is set closer to fit, and where a label finds room."""

import pytest

from calculators.results.drawing import Canvas, _Room


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
