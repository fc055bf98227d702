"""How long one frame of data takes on a string of addressable LEDs, and what it takes in memory.

One-wire strings send a fixed number of bits per LED and then stay low for the reset time. Clocked strips
send a start frame, the LEDs, and at least half a clock per LED at the end, because every LED passes the
data on half a clock late.
"""

import math
from dataclasses import dataclass

START_FRAME_BITS = 32
"""Zero bits that open a frame on a clocked strip: data sheets of clocked strips."""


@dataclass(frozen=True, slots=True)
class PixelTiming:
    """The data of one LED (`bits`), the bit rate in bit/s, the `reset_time` in s, one wire or `clocked`."""

    bits: int
    bit_rate: float
    reset_time: float
    clocked: bool = False

    def find_send_time(self, count: int) -> float:
        """Return the time in s in which the bits of `count` LEDs are sent, the reset left out."""
        bits = self.bits * count
        if self.clocked:
            bits += START_FRAME_BITS + (count + 1) // 2
        return bits / self.bit_rate

    def find_frame_time(self, count: int) -> float:
        """Return the time in s from the start of one frame to the earliest start of the next."""
        return self.find_send_time(count) + self.reset_time

    def find_largest_count(self, frame_rate: float) -> int:
        """Return the largest number of LEDs that can be sent `frame_rate` times a second; 0 if none can."""
        frame = 1.0 / frame_rate
        per_led = (self.bits + (0.5 if self.clocked else 0.0)) / self.bit_rate
        estimate = max(0, math.floor((frame - self.find_frame_time(0)) / per_led) + 1)
        # The last clock of an odd count and rounding in the division decide about one LED.
        while estimate > 0 and self.find_frame_time(estimate) > frame * (1 + 1e-12):
            estimate -= 1
        return estimate

    def find_memory(self, count: int) -> int:
        """Return the bytes that the controller keeps for the levels of `count` LEDs."""
        return (self.bits + 7) // 8 * count
