"""Limits, and what floating-point rounding alone may do to them."""

ROUNDING = 1e-9
"""Share by which a limit may be passed by rounding alone."""


def exceeds(value: float, limit: float) -> bool:
    """Return whether `value` is more than `limit` by more than rounding explains."""
    return value > limit * (1 + ROUNDING)


def round_up(value: float) -> float:
    """Return the next figure of two digits that is not below a positive value."""
    near, step = _find_near(value)
    return near if near >= value else float(f"{near + step:.1e}")


def round_down(value: float) -> float:
    """Return the next figure of two digits that is not above a value that is not negative."""
    near, step = _find_near(value)
    return near if near <= value else float(f"{near - step:.1e}")


def _find_near(value: float) -> tuple[float, float]:
    """Return the nearest figure of two digits, and one in its second."""
    shown = f"{value:.1e}"
    return float(shown), float("1e" + shown.partition("e")[2]) / 10
