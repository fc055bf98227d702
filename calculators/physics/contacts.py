"""Joint contacts: what each of those side by side carries, against its rating."""

import math
from dataclasses import dataclass
from typing import Literal

from calculators.notation.units import Ampere
from calculators.numbers.rounding import exceeds

NEAR_RATING = 0.75
"""Share of a contact's rating from which a caution is given: common practice for contacts side by side."""


@dataclass(frozen=True, slots=True)
class JudgedContact:
    """What one contact carries; how near that is to its rating, and how many side by side would do.

    Without a rating nothing is said of it.
    """

    current: Ampere
    rating: Ampere | None
    trouble: Literal["", "near rating", "over rating"]
    wanted: int | None


def judge_contact(current: Ampere, shared: int, rating: Ampere | None) -> JudgedContact:
    """Judge one of so many contacts that share this current."""
    each = current / shared
    if rating is None:
        return JudgedContact(each, None, "", None)
    near = exceeds(each, NEAR_RATING * rating)
    return JudgedContact(
        each, rating, "over rating" if exceeds(each, rating) else "near rating" if near else "",
        math.ceil(current / (NEAR_RATING * rating) - 1e-9),
    )  # fmt: skip
