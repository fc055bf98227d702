"""A hand meter and a bench supply as they are bought: each a little off, within what its maker allows.

It knows nothing of the calculators' own meter: what it allows for is drawn here, by its data sheet.
"""

from __future__ import annotations

import math
from random import Random


class HandMeter:
    """One meter with its leads, with errors drawn once and kept as long as it is used.

    2,000 counts; ohms ±(0.8 % + 5 digits) from 0.1 Ω, volts ±(0.5 % + 3 digits) from 0.1 mV, amperes
    ±(2 % + 5 digits) on 200 mA and 10 A; and a clamp for more, ±(3 % + 3 digits) in steps of 0.1 A.
    """

    def __init__(self, draw: Random) -> None:
        """Take one off the shelf."""
        self._draw = draw
        self._errors = {
            kind: (draw.uniform(-share, share), draw.uniform(-digits, digits))
            for kind, (share, digits) in {
                "ohms": (0.008, 5), "volts": (0.005, 3), "amperes": (0.02, 5), "clamp": (0.03, 3),
            }.items()
        }  # fmt: skip
        self._leads = draw.uniform(0.05, 0.4)

    def read_ohms(self, true: float) -> float:
        """Return what it shows of a resistance, less what it showed of its own leads held together."""
        if true + self._leads >= 20e6:
            return math.inf
        # Each touch of the probes is a little different.
        shorted = self._show("ohms", self._leads, 0.1, 0.1)
        shown = self._show("ohms", true + self._leads + self._draw.uniform(0, 0.1), 0.1, true)
        return max(shown - shorted, 0.0)

    def read_volts(self, true: float, like: float | None = None) -> float:
        """Return what it shows of a voltage, on the range of another one where that is the larger."""
        return self._show("volts", true, 1e-4, true if like is None else like)

    def read_difference(self, first: float, second: float) -> float:
        """Return the difference of what it shows of two voltages on one range."""
        return self.read_volts(first) - self.read_volts(second, like=first)

    def read_amperes(self, true: float) -> float:
        """Return what it shows of a current, or its clamp above 10 A."""
        if true > 10:
            return self._show("clamp", true, 0.1, 0.0)
        return self._show("amperes", true, 1e-4 if true < 0.19 else 1e-2, 0.0)

    def _show(self, kind: str, true: float, finest: float, like: float) -> float:
        step = finest
        while abs(like) >= 2000 * step:
            step *= 10
        gain, digits = self._errors[kind]
        flicker = self._draw.uniform(-0.5, 0.5)
        return round(true * (1 + gain) / step + digits + flicker) * step


def set_current(draw: Random, wanted: float) -> float:
    """Return what a bench supply gives that shows `wanted`: off by up to 1 % and a step of 10 mA."""
    return wanted * (1 + draw.uniform(-0.01, 0.01)) + draw.uniform(-0.01, 0.01)


def read_thermometer(draw: Random, rise: float) -> float:
    """Return the rise that one bead shows, on the wire and then in the air: most of its error is gone."""
    return rise + draw.uniform(-1.0, 1.0)
