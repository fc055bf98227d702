"""Limits, and what floating-point rounding alone may do to them."""

ROUNDING = 1e-9
"""Share by which a limit may be passed by rounding alone."""


def exceeds(value: float, limit: float) -> bool:
    """Return whether `value` is more than `limit` by more than rounding explains."""
    return value > limit * (1 + ROUNDING)
