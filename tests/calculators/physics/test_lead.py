"""One lead, one verdict: what wire-gauge, led-current and pin-order say of the same two wires."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.led_current.calculator import CALCULATOR as LED_CURRENT
from calculators.notation.gauge import read_gauge
from calculators.notation.units import Ampere
from calculators.physics.ampacity import find_smallest_fuse
from calculators.physics.copper import CONDUCTOR_KINDS, ConductorKind
from calculators.physics.lead import find_lead_capacity, judge_lead
from calculators.pin_order.calculator import CALCULATOR as PIN_ORDER
from calculators.wire_gauge.calculator import CALCULATOR as WIRE_GAUGE
from tests.calculators.running import list_codes, make_run

BY_WIRE_GAUGE = {
    "too-hot": "heat",
    "runs-away": "heat",
    "fuse-too-large": "fuse",
    "no-fuse-fits": "fuse",
}
BY_OTHERS = {"wire-too-hot": "heat", "wire-under-fuse": "fuse"}
SIZES = ("30 AWG", "26 AWG", "24 AWG", "22 AWG", "20 AWG", "0.5 mm2", "18 AWG", "16 AWG")

# One LED that draws what is asked for, at the end of one lead.
lamp = make_run(
    LED_CURRENT, led_type="own figures", channels="1", idle_current="0 A", count="50", feed="one end",
    segment_resistance="0.001 mΩ", lead_length="0.02 m", contacts="0", floor="0.5 V",
)  # fmt: skip
plug = make_run(PIN_ORDER)
# Half of the supply may be lost: what is judged is the wire's heat, and whether the fuse protects it.
wire = make_run(WIRE_GAUGE, length="0.02 m", allowed_drop="50 %")


def find_worst(codes: dict[str, str], names: dict[str, str]) -> str:
    """What is wrong with the wire: heat before fuse, and both of them stops."""
    found = {names[code]: level for code, level in codes.items() if code in names}
    assert set(found.values()) <= {"stop"}
    return "heat" if "heat" in found else "".join(found)


@settings(max_examples=40)
@given(gauge=st.sampled_from(SIZES), milliamps=st.integers(100, 15_000))
def test_the_same_lead_gets_the_same_verdict(gauge: str, milliamps: int) -> None:
    current, fuse = f"{milliamps} mA", f"{find_smallest_fuse(milliamps / 750)} A"
    by_wire_gauge = find_worst(list_codes(wire(current=current, gauge=gauge, fuse=fuse)), BY_WIRE_GAUGE)
    by_pins = list_codes(plug(board_current=current, lead_gauge=gauge, fuse=fuse))
    assert find_worst(by_pins, BY_OTHERS) == by_wire_gauge
    by_leds = list_codes(lamp(channel_current=f"{milliamps / 50:.2f} mA", lead_gauge=gauge))
    assert find_worst(by_leds, BY_OTHERS) == by_wire_gauge


@pytest.mark.parametrize("gauge", ["40 AWG", "26 AWG", "18 AWG", "2.5 mm2", "4/0 AWG"])
@pytest.mark.parametrize("kind", CONDUCTOR_KINDS)
def test_a_lead_carries_what_wire_gauge_says(gauge: str, kind: ConductorKind) -> None:
    closer = WIRE_GAUGE.run({"gauge": gauge, "conductor": kind})
    assert find_lead_capacity(read_gauge(gauge), kind) == closer.outputs["capacity"]


def judge(current: Ampere, fuse: Ampere | None) -> tuple[str, ...]:
    return judge_lead(read_gauge("18 AWG"), "stranded", current, fuse).fails


def test_a_lead_bears_its_capacity_and_a_fuse_of_that_and_no_more() -> None:
    capacity = find_lead_capacity(read_gauge("18 AWG"), "stranded")
    assert judge(0.999 * capacity, 0.1) == ()
    assert judge(1.001 * capacity, 0.1) == ("heat",)
    assert judge(0.1, 0.999 * capacity) == ()
    assert judge(0.1, 1.001 * capacity) == ("fuse",)
    # Without a fuse it is that which the current needs: 7.4 A load a 10 A fuse to 74 %, 7.6 A ask for 15 A.
    assert 10 < capacity < 15
    assert judge(7.4, None) == ()
    assert judge(7.6, None) == ("fuse",)
