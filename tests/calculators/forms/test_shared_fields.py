"""What one calculator takes, another takes as well: a field that several have has one pair of limits."""

import pytest

from calculators import list_calculators
from calculators.forms.fields import QuantityInput
from calculators.forms.shared_fields import (
    CONTACT_RATING,
    CONTACT_RESISTANCE,
    FUSE,
    FUSE_KIND,
    LEAD_LENGTH,
    SOURCE_CURRENT,
    USUAL_KIND,
)
from calculators.physics.fuse import list_fuse_kinds

SHARED = {
    "fuse": FUSE,
    "contact_resistance": CONTACT_RESISTANCE,
    "contact_rating": CONTACT_RATING,
    "lead_length": LEAD_LENGTH,
    "source_current": SOURCE_CURRENT,
}


@pytest.mark.parametrize("name", SHARED)
def test_its_limits_are_the_same_wherever_it_is_asked_for(name: str) -> None:
    field = SHARED[name]
    declared = [calculator.fields[name] for calculator in list_calculators() if name in calculator.fields]
    assert len(declared) > 1
    for other in declared:
        assert isinstance(other, QuantityInput)
        assert (other.kind, other.lowest, other.highest) == (field.kind, field.lowest, field.highest)


def test_every_kind_of_fuse_can_be_chosen() -> None:
    assert FUSE_KIND.options == (USUAL_KIND, *(kind.name for kind in list_fuse_kinds()))
