"""The fuse of one feed, of the kind that is usual for its rating, against what the supply can give."""

from calculators.notation.units import Ampere
from calculators.physics.fuse import (
    AT_HAND,
    IN_TIME,
    FuseKind,
    Opening,
    find_fuse_kind,
    find_opening,
    find_sure_current,
)


def find_usual_opening(rating: Ampere, current: Ampere) -> Opening:
    """Return when such a fuse opens at this current."""
    return find_opening(_find_kind(rating), rating, current)


def find_sure_supply(rating: Ampere) -> Ampere | None:
    """Return what a supply has to give to open such a fuse in time."""
    return find_sure_current(_find_kind(rating), rating)


def opens_in_time(opening: Opening) -> bool:
    """Return whether it is sure to open soon enough to protect what lies behind it."""
    return opening.latest is not None and opening.latest <= IN_TIME


def _find_kind(rating: Ampere) -> FuseKind:
    return find_fuse_kind(AT_HAND, rating)
