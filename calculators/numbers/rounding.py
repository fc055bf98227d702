"""Limits, and what floating-point rounding alone may do to them."""

ROUNDING = 1e-9
"""Share by which a limit may be passed by rounding alone."""


def exceeds(value: float, limit: float) -> bool:
    """Return whether `value` is more than `limit` by more than rounding explains."""
    return value > limit * (1 + ROUNDING)


def round_up(value: float) -> float:
    """Return the next figure of two digits that is not below a positive value."""
    near = float(f"{value:.1e}")
    return float(f"{value * 1.05:.1e}") if near < value else near


def round_down(value: float) -> float:
    """Return the next figure of two digits that is not above a value that is not negative."""
    near = float(f"{value:.1e}")
    return float(f"{value * 0.95:.1e}") if near > value else near
