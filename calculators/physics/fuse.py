"""The fuse as a part: its kind, when it opens at a current, and what a source too weak to open it does.

A fuse is no limiter. A little above its rating it need never open, and its standard only names a few currents
at which it is open by a stated time (parts/fuse_times.toml). Between two of them nothing is promised, so the
later time counts. A source that can give only so much, such as a converter at its limit, may keep a short fed
through a fuse that never opens; a battery gives so much that a small fuse may not be able to break it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Literal, cast

from calculators.forms.shared_fields import USUAL_KIND
from calculators.notation.units import Ampere, Second, Share, Volt
from calculators.numbers.rounding import exceeds
from calculators.parts import read_rows
from calculators.physics.ampacity import read_fuse_ratings

IN_TIME: Second = 120.0
"""What opens later does not protect; the two minutes that UL 248-14 gives a fuse at twice its rating."""

_ADIABATIC: Second = 0.1
"""Within this no heat leaves what melts, and current squared times time stays the same; common practice."""


type FuseTrouble = Literal["not made", "voltage", "breaking", "never opens", "opens late"]


@dataclass(frozen=True, slots=True)
class FusePoint:
    """At `load` times the rating, up to `largest`, it lasts `earliest` and is open by `latest`, if at all."""

    load: Share
    earliest: Second | None
    latest: Second | None
    largest: Ampere


@dataclass(frozen=True, slots=True)
class FusePlace:
    """Where a fuse is to sit: the `kind` asked for, and what it has to break.

    `supply` is the d.c. voltage that is left across it when it has opened, `source` the most that flows right
    behind it (None if that is not known), `breaking` what it can break, where that is known better than from
    its kind.
    """

    kind: str = USUAL_KIND
    supply: Volt = 0.0
    source: Ampere | None = None
    breaking: Ampere | None = None


AT_HAND = FusePlace()
"""Any kind, of which nothing is known that it has to break."""


@dataclass(frozen=True, slots=True)
class FuseKind:
    """A kind of fuse: the d.c. voltage and current that it can break, and the ratings made of it."""

    name: str
    voltage: Volt
    breaking: Ampere
    smallest: Ampere
    largest: Ampere
    points: tuple[FusePoint, ...]

    def is_made(self, rating: Ampere) -> bool:
        """Return whether fuses of this kind are made in about this rating."""
        return not exceeds(self.smallest, rating) and not exceeds(rating, self.largest)

    def can_break(self, place: FusePlace) -> bool:
        """Return whether it can open there without an arc that stands."""
        return not exceeds(place.supply, self.voltage) and not exceeds(
            place.source or 0.0, place.breaking or self.breaking
        )


@dataclass(frozen=True, slots=True)
class Opening:
    """When a fuse opens that carries `load` times its rating.

    It lasts for `earliest` (0: nothing is promised), and is open by `latest` (None: it need never open).
    """

    load: Share
    earliest: Second
    latest: Second | None


@dataclass(frozen=True, slots=True)
class JudgedFuse:
    """A fuse of this kind and rating, in its place.

    `opening` is that at `fault`, what flows through a short; `sure_current` the least that opens it in time,
    None where nothing is promised. `troubles` are what it cannot do: it is not made, or has not the voltage
    or the breaking capacity; the source keeps it closed for ever, or too long.
    """

    kind: FuseKind
    rating: Ampere
    fault: Ampere
    breaking: Ampere
    opening: Opening
    sure_current: Ampere | None
    troubles: tuple[FuseTrouble, ...]


@cache
def list_fuse_kinds() -> tuple[FuseKind, ...]:
    """Return the kinds of parts/fuse_kinds.toml, the most usual first."""
    points = [cast(dict[str, Any], row) for row in read_rows("fuse_times")]
    kinds = (cast(dict[str, Any], row) for row in read_rows("fuse_kinds"))
    return tuple(
        FuseKind(
            row["name"], row["voltage"], row["breaking"], row["smallest"], row["largest"],
            tuple(
                FusePoint(one["load"], one.get("earliest"), one.get("latest"), one["largest"])
                for one in points
                if one["kind"] == row["name"]
            ),
        )
        for row in kinds
    )  # fmt: skip


@lru_cache(maxsize=256)
def find_fuse_kind(place: FusePlace, rating: Ampere) -> FuseKind:
    """Return the kind that is asked for or, where any will do, the one that is usual for the rating.

    That is the first that is made in it and can break the source's voltage and current; where there is none,
    the first that is made, and else the nearest. Raises StopIteration for a name that there is not.
    """
    kinds = list_fuse_kinds()
    if place.kind != USUAL_KIND:
        return next(kind for kind in kinds if kind.name == place.kind)
    made = [kind for kind in kinds if kind.is_made(rating)]
    least, most = min(kinds, key=_find_smallest), max(kinds, key=_find_largest)
    beyond = most if rating > most.largest else least
    return next((kind for kind in made if kind.can_break(place)), made[0] if made else beyond)


@lru_cache(maxsize=64)
def find_fitting_fuse(place: FusePlace, least: Ampere) -> Ampere | None:
    """Return the smallest standard rating of at least `least` (A) that there is for the place.

    Where no kind can break what there is to break, it is the smallest that is made at all, or None.
    """
    made = None
    for rating in read_fuse_ratings():
        kind = find_fuse_kind(place, rating)
        if not exceeds(least, rating) and kind.is_made(rating):
            if kind.can_break(place):
                return rating
            made = made or rating
    return made


def find_opening(kind: FuseKind, rating: Ampere, current: Ampere) -> Opening:
    """Return when a fuse opens at this current, as far as its standard promises anything."""
    load = current / rating
    holding = [point for point in kind.points if not exceeds(rating, point.largest)]
    latest = [point.latest for point in holding if point.latest and not exceeds(point.load, load)]
    lasting = [(point.load, point.earliest) for point in holding if point.earliest]
    earliest = [time for most, time in lasting if not exceeds(load, most)]
    if lasting and not earliest:
        most, time = lasting[-1]
        earliest = [time * most / load * most / load] if time <= _ADIABATIC else []
    return Opening(load, max(earliest, default=0.0), min(latest, default=None))


def find_sure_current(kind: FuseKind, rating: Ampere, within: Second = IN_TIME) -> Ampere | None:
    """Return the least current in A that is sure to open a fuse within this time, or None."""
    loads = [
        point.load
        for point in kind.points
        if point.latest and not exceeds(point.latest, within) and not exceeds(rating, point.largest)
    ]
    return rating * min(loads) if loads else None


def judge_fuse(place: FusePlace, rating: Ampere, fault: Ampere) -> JudgedFuse:
    """Judge a fuse in its place; `fault` (A) flows where what it protects is shorted at its far end."""
    kind = find_fuse_kind(place, rating)
    opening, made = find_opening(kind, rating, fault), kind.is_made(rating)
    breaking = place.breaking or kind.breaking
    wrong: Mapping[FuseTrouble, bool] = {
        "not made": not made,
        "voltage": exceeds(place.supply, kind.voltage),
        "breaking": exceeds(place.source or 0.0, breaking),
        "never opens": made and opening.latest is None,
        "opens late": made and opening.latest is not None and exceeds(opening.latest, IN_TIME),
    }
    troubles = tuple(name for name, applies in wrong.items() if applies)
    sure = find_sure_current(kind, rating)
    return JudgedFuse(kind, rating, fault, breaking, opening, sure, troubles)


def _find_smallest(kind: FuseKind) -> Ampere:
    return kind.smallest


def _find_largest(kind: FuseKind) -> Ampere:
    return kind.largest
