"""Joint contacts: what each of those side by side carries, against its rating.

Contacts side by side never have the same resistance. Of a group, one is taken to have half the resistance of
all others and carries the most (`SPREAD`). A contact that has come open tells nobody: the others carry its
share from then on, so a group has to bear that as well.
"""

import math
from dataclasses import dataclass
from typing import Literal

from calculators.notation.units import Ampere, Ohm, Watt
from calculators.numbers.rounding import exceeds

NEAR_RATING = 0.75
"""Share of its rating from which a contact alone is given a caution: common practice."""

SPREAD = 2.0
"""Largest over smallest resistance among contacts side by side: common practice."""


@dataclass(frozen=True, slots=True)
class JudgedContact:
    """What one contact carries; how near that is to its rating, and how many side by side would do.

    `current` is an even share, `worst` that of the contact with the least resistance, `others` what each of
    the others carries when one is open (None where there are none). It is over its rating with an even share,
    and near it for a `cause`: it is near alone, it is over for they share unequally, or when one is open.
    Without a rating nothing is said of it.
    """

    current: Ampere
    worst: Ampere
    others: Ampere | None
    rating: Ampere | None
    trouble: Literal["", "near rating", "over rating"]
    cause: Literal["", "alone", "unequal", "one open"]
    wanted: int | None


def find_worst_share(shared: int, spread: float = SPREAD) -> float:
    """Return the largest share that one of so many contacts carries, whose resistances differ so much."""
    return spread / (spread + shared - 1)


def find_contact_heat(current: Ampere, resistance: Ohm) -> Watt:
    """Return the heat that a contact makes."""
    return current * current * resistance


def judge_contact(current: Ampere, shared: int, rating: Ampere | None) -> JudgedContact:
    """Judge the contacts of a group of so many that share this current."""
    each, worst = current / shared, current * find_worst_share(shared)
    others = current / (shared - 1) if shared > 1 else None
    if rating is None:
        return JudgedContact(each, worst, others, None, "", "", None)
    cause = _find_cause(current, shared, rating)
    trouble: Literal["", "near rating", "over rating"] = "near rating" if cause else ""
    if exceeds(each, rating):
        trouble = "over rating"
    return JudgedContact(each, worst, others, rating, trouble, cause, find_wanted_contacts(current, rating))


def find_wanted_contacts(current: Ampere, rating: Ampere) -> int:
    """Return how many contacts of this rating it takes, side by side, to carry this current."""
    if not exceeds(current, NEAR_RATING * rating):
        return 1
    # That of the least resistance bears its share, and the others theirs when one is open.
    fewest = max(SPREAD * current / rating - SPREAD + 1, current / rating + 1)
    return max(2, math.ceil(fewest * (1 - 1e-9)))


def _find_cause(current: Ampere, shared: int, rating: Ampere) -> Literal["", "alone", "unequal", "one open"]:
    if shared == 1:
        return "alone" if exceeds(current, NEAR_RATING * rating) else ""
    if exceeds(current * find_worst_share(shared), rating):
        return "unequal"
    return "one open" if exceeds(current / (shared - 1), rating) else ""
