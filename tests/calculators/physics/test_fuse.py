"""The fuse as a part: bands of opening times on each side of their currents, and weak and strong sources."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.parts import read_rows
from calculators.physics.ampacity import read_fuse_ratings
from calculators.physics.fuse import (
    IN_TIME,
    FuseKind,
    FusePlace,
    FusePoint,
    find_fitting_fuse,
    find_fuse_kind,
    find_opening,
    find_sure_current,
    judge_fuse,
    list_fuse_kinds,
)

NAMES = [kind.name for kind in list_fuse_kinds()]


# UL/CSA 248-14: carries 110 % for hours, opens at 135 % within 1 h, at 200 % within 2 min (to 30 A), 4 min
# (to 60 A). ISO 8820-3 (blade) and IEC 60127 (5x20) as the reference tables of their makers have them.
@pytest.mark.parametrize(
    ("kind", "rating", "current", "earliest", "latest"),
    [
        ("6.3x32", 10, 11, 14400, None),
        ("6.3x32", 10, 13.4, 0, None),
        ("6.3x32", 10, 13.5, 0, 3600),
        ("6.3x32", 10, 19.9, 0, 3600),
        ("6.3x32", 10, 20, 0, 120),
        ("6.3x32", 30, 60, 0, 120),
        ("6.3x32", 35, 70, 0, 240),
        ("blade", 10, 10, 360000, None),
        ("blade", 10, 10.5, 360000, None),
        ("blade", 10, 11.1, 0.75, None),
        ("blade", 10, 13.4, 0.75, None),
        ("blade", 10, 13.5, 0.75, 600),
        ("blade", 10, 13.6, 0.25, 600),
        ("blade", 10, 16, 0.25, 50),
        ("blade", 10, 20, 0.15, 5),
        ("blade", 10, 35, 0.08, 0.5),
        ("blade", 10, 60, 0.02, 0.15),
        ("blade", 10, 120, 0.005, 0.15),
        ("5x20 quick", 2, 3, 3600, None),
        ("5x20 quick", 2, 4.2, 0.05, 1800),
        ("5x20 quick", 2, 5.5, 0.05, 2),
        ("5x20 quick", 2, 8, 0.01, 0.3),
        ("5x20 quick", 2, 20, 0.0016, 0.02),
        ("5x20 time-lag", 2, 4.2, 0.4, 120),
        ("5x20 time-lag", 2, 8, 0.15, 3),
        ("5x20 time-lag", 2, 20, 0.02, 3),
    ],
)
def test_a_fuse_opens_within_its_band(
    kind: str, rating: float, current: float, earliest: float, latest: float | None
) -> None:
    opening = find_opening(find_fuse_kind(FusePlace(kind), rating), rating, current)
    assert opening.load == pytest.approx(current / rating)
    assert opening.earliest == pytest.approx(earliest)
    assert opening.latest == latest


@pytest.mark.parametrize("name", NAMES)
@given(loads=st.tuples(st.floats(0.1, 30), st.floats(0.1, 30)))
def test_more_current_never_opens_it_later(name: str, loads: tuple[float, float]) -> None:
    kind = find_fuse_kind(FusePlace(name), 0.0)
    rating = kind.smallest
    less, more = (find_opening(kind, rating, rating * load) for load in sorted(loads))
    assert more.earliest <= less.earliest
    assert less.latest is None or (more.latest is not None and more.latest <= less.latest)
    assert more.latest is None or more.earliest <= more.latest


@pytest.mark.parametrize(
    ("name", "rating", "sure"),
    [
        ("blade", 10, 16), ("6.3x32", 10, 20), ("6.3x32", 35, None), ("5x20 quick", 2, 5.5),
        ("5x20 time-lag", 2, 4.2), ("bolt-in strip", 50, 100), ("large blade", 20, 40),
    ],
)  # fmt: skip
def test_what_is_sure_to_open_it_in_two_minutes(name: str, rating: float, sure: float | None) -> None:
    kind = find_fuse_kind(FusePlace(name), rating)
    assert find_sure_current(kind, rating) == (None if sure is None else pytest.approx(sure))
    if sure is not None:
        for current, in_time in ((0.999 * sure, False), (sure, True)):
            latest = find_opening(kind, rating, current).latest
            assert (latest is not None and latest <= IN_TIME) == in_time


def find_troubles(name: str, rating: float, supply: float, fault: float, source: float | None = None) -> str:
    return ", ".join(judge_fuse(FusePlace(name, supply, source), rating, fault).troubles)


def test_a_converter_may_be_too_weak_for_its_fuse() -> None:
    # 10 A on a converter that gives 10.5 A: 105 % need never open it.
    assert find_troubles("blade", 10, 12, 10.5, 10.5) == "never opens"
    assert find_troubles("blade", 10, 12, 13.4, 13.4) == "never opens"
    assert find_troubles("blade", 10, 12, 13.5, 13.5) == "opens late"
    assert find_troubles("blade", 10, 12, 15.9, 15.9) == "opens late"
    assert find_troubles("blade", 10, 12, 16, 16) == ""


def test_a_battery_may_be_too_strong_for_its_fuse() -> None:
    assert find_troubles("5x20 quick", 2, 12, 30, 35) == ""
    assert find_troubles("5x20 quick", 2, 12, 30, 36) == "breaking"
    assert find_troubles("5x20 quick", 2, 12, 30) == ""
    high = judge_fuse(FusePlace("5x20 quick", 12, 1000, breaking=1500), 2, 30)
    assert (high.troubles, high.breaking) == ((), 1500)
    assert find_troubles("blade", 5, 32, 100, 1000) == ""
    assert find_troubles("blade", 5, 32.1, 100, 1001) == "voltage, breaking"
    assert find_troubles("blade 58 V", 5, 48, 100, 1000) == ""


def test_a_kind_is_made_in_some_ratings_only() -> None:
    assert find_troubles("blade", 0.5, 12, 30) == "not made"
    assert find_troubles("blade", 1, 12, 30) == find_troubles("blade", 40, 12, 300) == ""
    assert find_troubles("blade", 50, 12, 300) == "not made"


@pytest.mark.parametrize(
    ("least", "kind", "rating"),
    [
        (0.01, "5x20 quick", 0.1), (0.9, "blade", 1), (3.3, "blade", 4), (40, "blade", 40),
        (41, "bolt-in strip", 50),
    ],
)  # fmt: skip
def test_the_usual_kind_goes_by_the_rating(least: float, kind: str, rating: float) -> None:
    assert find_fitting_fuse(FusePlace(), least) == rating
    assert find_fuse_kind(FusePlace(), rating).name == kind


def test_the_usual_kind_can_break_what_there_is_to_break() -> None:
    def find(least: float, supply: float, source: float) -> tuple[float | None, str]:
        place = FusePlace(supply=supply, source=source)
        rating = find_fitting_fuse(place, least)
        return rating, find_fuse_kind(place, rating or 0.0).name

    assert find(0.4, 12, 35) == (0.4, "5x20 quick")
    # Glass breaks 35 A, a blade 1000 A at up to 32 V, a strip 2000 A.
    assert find(0.4, 12, 36) == (1, "blade")
    assert find(3, 32, 1000) == (3, "blade")
    assert find(3, 33, 1000) == (3, "blade 58 V")
    assert find(3, 12, 1001) == (30, "bolt-in strip")
    # Where none can, it is what is usual.
    assert find(3, 12, 2001) == (3, "blade")
    assert find(40, 48, 100) == (40, "blade")


def test_the_usual_kind_of_what_is_not_made() -> None:
    assert find_fuse_kind(FusePlace(), 0.001).name == "5x20 quick"
    assert find_fuse_kind(FusePlace(), 900).name == "bolt-in strip"


def test_a_fuse_that_fits_is_one_of_its_kind() -> None:
    assert find_fitting_fuse(FusePlace("blade"), 0.3) == 1
    assert find_fitting_fuse(FusePlace("blade"), 40.1) is None
    assert find_fitting_fuse(FusePlace("5x20 time-lag"), 0.3) == 0.315
    assert find_fitting_fuse(FusePlace(), 301) is None
    with pytest.raises(StopIteration):
        find_fuse_kind(FusePlace("wishful"), 1)


def test_the_tables_agree_with_each_other() -> None:
    for row in read_rows("fuse_times"):
        assert row["kind"] in NAMES
        assert "earliest" in row or "latest" in row
    for kind in list_fuse_kinds():
        assert [point.load for point in kind.points] == sorted(point.load for point in kind.points)
        assert any(kind.is_made(rating) for rating in read_fuse_ratings())
        assert find_sure_current(kind, kind.smallest) is not None


def make_kind(*points: tuple[float, float | None, float | None]) -> FuseKind:
    """A kind of the test's own, with points of load, earliest and latest."""
    return FuseKind("own", 32, 1000, 1, 40, tuple(FusePoint(*point, 40) for point in points))


@pytest.mark.parametrize(("earliest", "beyond"), [(0.098, 0.0245), (0.102, 0.0)])
def test_only_what_melts_quickly_goes_on_by_its_square(earliest: float, beyond: float) -> None:
    # Within 0.1 s no heat leaves: twice the current of the last point melts it in a quarter of the time.
    assert find_opening(make_kind((6, earliest, 1)), 10, 120).earliest == pytest.approx(beyond)


@pytest.mark.parametrize(("latest", "sure"), [(118, 20), (122, 40)])
def test_two_minutes_are_in_time(latest: float, sure: float) -> None:
    assert find_sure_current(make_kind((2, None, latest), (4, None, 1)), 10) == sure


@pytest.mark.parametrize(("latest", "told"), [(118, ()), (122, ("opens late",))])
def test_later_than_in_two_minutes_is_late(
    monkeypatch: pytest.MonkeyPatch, latest: float, told: tuple[str, ...]
) -> None:
    kind = make_kind((2, None, latest), (4, None, 1))
    monkeypatch.setattr("calculators.physics.fuse.list_fuse_kinds", lambda: (kind,))
    assert judge_fuse(FusePlace("own"), 10, 20).troubles == told
    find_fuse_kind.cache_clear()
