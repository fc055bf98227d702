"""Wire sizes against published tables.

AWG: the wire table of Floyd, Electric Circuit Fundamentals, 2nd ed. (circular mils, Ω/1000 ft; the lineage of
NBS Circular 31); the two fixed points of ASTM B258. Metric: the nominal cross-sections of IEC 60228, table 1.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.notation.errors import NotationError
from calculators.notation.gauge import AWG_NUMBERS, METRIC_SIZES, make_awg, make_metric, read_gauge

# (gauge, circular mils, Ω/1000 ft at 20 °C) as printed.
PUBLISHED = [
    (-3, 211600, 0.04901),
    (10, 10381, 0.9989),
    (12, 6529, 1.588),
    (14, 4106.8, 2.525),
    (16, 2582.9, 4.016),
    (18, 1624.3, 6.385),
    (20, 1021.5, 10.15),
    (22, 642.4, 16.14),
    (24, 404.01, 25.67),
    (26, 254.1, 40.81),
    (28, 159.79, 64.9),
    (30, 100.5, 103.2),
    (32, 63.21, 164.1),
]
CIRCULAR_MIL = 5.067075e-10  # m²


@pytest.mark.parametrize(("number", "circular_mils", "ohms"), PUBLISHED)
def test_areas_agree_with_the_published_table(number: int, circular_mils: float, ohms: float) -> None:
    area = make_awg(number).area
    assert area / CIRCULAR_MIL == pytest.approx(circular_mils, rel=1e-3)
    # Standard annealed copper, 1/58 Ω mm²/m (IEC 60028), over 1000 ft.
    assert 304.8 / 58e6 / area == pytest.approx(ohms, rel=1e-3)


def test_the_fixed_points_of_the_standard() -> None:
    assert make_awg(36).diameter == pytest.approx(0.005 * 0.0254, rel=1e-12)
    assert make_awg(-3).diameter == pytest.approx(0.460 * 0.0254, rel=1e-12)


def test_six_numbers_double_the_diameter_nearly() -> None:
    # 92 ** (6/39) = 2.005, the trade's rule of thumb.
    for number in AWG_NUMBERS[6:]:
        assert make_awg(number - 6).diameter / make_awg(number).diameter == pytest.approx(2.005, abs=2e-4)


def test_the_metric_sizes_are_those_of_the_standard() -> None:
    standard = [0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120]
    assert [size for size in METRIC_SIZES if size >= 0.5] == standard
    assert list(METRIC_SIZES) == sorted(set(METRIC_SIZES))
    for size in METRIC_SIZES:
        assert read_gauge(f"{size} mm2") == make_metric(size)


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("22 AWG", "22 AWG"),
        ("22", "22 AWG"),
        ("22awg", "22 AWG"),
        ("AWG 22", "22 AWG"),
        ("22 ga", "22 AWG"),
        ("22-gauge", "22 AWG"),
        ("gauge 22", "22 AWG"),
        ("#22", "22 AWG"),
        ("AWG #22", "22 AWG"),
        ("AWG-22", "22 AWG"),
        ("AWG 2/0", "2/0 AWG"),
        ("0.5 sq mm", "0.5 mm²"),
        ("0.5 mm sq.", "0.5 mm²"),
        ("4/0", "4/0 AWG"),
        ("0000", "4/0 AWG"),
        ("00 AWG", "2/0 AWG"),
        ("0", "1/0 AWG"),
        ("1/0 AWG", "1/0 AWG"),
        ("0.5 mm2", "0.5 mm²"),
        ("0,5 mm²", "0.5 mm²"),
        ("0.5mm^2", "0.5 mm²"),
        ("1.50 mm2", "1.5 mm²"),
    ],
)
def test_sizes_are_read(text: str, label: str) -> None:
    assert read_gauge(text).label == label


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("41", "there is no 41 AWG here"),
        ("5/0", "there is no 5/0 AWG here"),
        ("0/0", "not a gauge number"),
        ("0.5", "not a gauge number; write 0.5 mm2"),
        ("1/2", "not a gauge number"),
        ("22/7", "not a gauge number"),
        ("-3", "not a gauge number"),
        ("00000", "not a gauge number"),
        ("22 AWG AWG", "AWG sizes are whole numbers"),
        ("AWG", "AWG sizes are whole numbers"),
        (
            "0.5 mm",
            "a wire 0.5 mm thick, which is 0.1963 mm2, or one of 0.5 mm2; write 0.1963 mm2 or 0.5 mm2",
        ),
        ("1,500 mm", "can mean 1500 or 1.5"),
        ("22 SWG", "not a unit"),
        ("1e9 mm2", "outside the sizes of wire"),
        ("0 mm2", "outside the sizes of wire"),
        ("-1 mm2", "outside the sizes of wire"),
        ("5 A", "is a current"),
        ("1,500 mm2", "can mean"),
        ("nan", "not a size of wire; write one such as 22 AWG"),
        ("", "nothing is entered"),
        ("２２", "fullwidth"),
        ("inf mm2", "not a size of wire"),
    ],
)
def test_other_texts_are_refused(text: str, words: str) -> None:
    with pytest.raises(NotationError, match=re.escape(words)):
        read_gauge(text)


@settings(max_examples=300)
@given(st.text(alphabet="0123456789/AWGawg m²2.,- ", max_size=12))
def test_a_text_gives_a_size_of_wire_or_a_sentence(text: str) -> None:
    try:
        gauge = read_gauge(text)
    except NotationError as error:
        assert str(error)  # noqa: PT017
    else:
        assert 1e-9 <= gauge.area <= 2.5e-4
        assert read_gauge(gauge.label).area == pytest.approx(gauge.area, rel=1e-5)
