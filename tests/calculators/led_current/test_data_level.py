"""The data's levels, high and low, with the level shifter at the controller and at the string."""

import pytest

from calculators.led_current.calculator import CALCULATOR
from calculators.led_current.data_level import list_shifters, make_shifter
from calculators.led_current.led import make_led
from calculators.parts import read_rows
from tests.calculators.running import find_number, list_codes, make_run

# One LED of 1 A behind 1 Ω of strip: with it on, 0.5 V are lost on the way back and 4 V are left.
run = make_run(
    CALCULATOR, count="1", feed="one end", channels="1", channel_current="1 A", idle_current="0 A",
    segment_resistance="1 Ω", lead_length="0 m", contacts="0", ground_shift="0.1 V", controller_low="0.3 V",
)  # fmt: skip


def find(name: str, **texts: str) -> float:
    return find_number(run(**texts), name)


# Makers' data sheets: a 5 V LED reads high from 0.7 and low up to 0.3 of its own supply; a buffer with TTL
# input from 2.0 V and up to 0.8 V, and its output stays 0.1 V below its supply and above its ground.
@pytest.mark.parametrize(
    ("texts", "high", "low"),
    [
        # 3.3 - 0.1 - 0.7 · 5 dark; low, lit, 0.3 · 4 - (0.3 - 0.6), and dark 0.3 · 5 - (0.3 - 0.1).
        ({"level_shifter": "none"}, 3.3 - 0.1 - 3.5, 1.5 - 0.2),
        # At the controller the output crosses the shift: high 4.9 - 0.1 - 3.5 dark, its input 3.3 - 2.0; low,
        # its input 0.8 - 0.3.
        ({"level_shifter": "TTL-input buffer"}, 1.3, 0.5),
        # At the string the input does: high 3.3 - 0.6 - 2.0 lit, low 0.8 - (0.3 - 0.1) dark.
        ({"level_shifter": "TTL-input buffer", "shifter_place": "at the string"}, 0.7, 0.6),
        # Fed from the string, a CMOS input asks for 0.7 of 5 V dark and of 4 V lit: 3.3 - 0.1 - 3.5. What it
        # sends, 0.1 V, is low up to 0.3 · 4.
        ({"level_shifter": "CMOS-input buffer", "shifter_place": "at the string"}, -0.3, 1.1),
        # Where other loads lift the controller's ground by 0.9 V, its 0.3 V come in as 1.2 V dark.
        ({"level_shifter": "none", "ground_shift": "-0.9 V"}, 3.3 + 0.9 - 3.5, 1.5 - 1.2),
        (
            {"level_shifter": "TTL-input buffer", "shifter_place": "at the string", "ground_shift": "-0.9 V"},
            3.9 - 0.7 * 4.0,
            0.8 - 1.2,
        ),
    ],
)
def test_margins_of_both_levels(texts: dict[str, str], high: float, low: float) -> None:
    assert find("data_margin", **texts) == pytest.approx(high)
    assert find("low_margin", **texts) == pytest.approx(low)


# With all LEDs on, low from the controller may be the worse one: 0.3 · 4 - (0.3 + 0.9 - 0.5) and
# 0.3 · 5 - (0.3 + 0.9).
def test_the_low_level_is_worst_with_the_lights_off_or_on() -> None:
    lifted = {"level_shifter": "none", "ground_shift": "-0.9 V"}
    assert find("low_margin", **lifted) == pytest.approx(1.5 - 1.2)
    # Two volts lost on the way out and back: 3 V left and 1 V of shift against 5 V and none.
    deep = {**lifted, "segment_resistance": "2 Ω", "ground_shift": "1.2 V"}
    assert find("low_margin", **deep) == pytest.approx(min(1.5 - (0.3 - 1.2), 0.9 - (0.3 - 2.2)))


@pytest.mark.parametrize(
    ("low", "code"),
    [
        ("0.59 V", None),
        ("0.61 V", "low-margin-thin"),
        ("0.79 V", "low-margin-thin"),
        ("0.81 V", "low-level-high"),
    ],
)
def test_a_low_level_up_to_which_a_buffer_reads_low(low: str, code: str | None) -> None:
    codes = list_codes(CALCULATOR.run({"controller_low": low}))
    assert [one for one in codes if one.startswith("low-")] == [code] * bool(code)


def test_a_level_shifter_at_the_string_mends_what_the_ground_takes() -> None:
    texts = {"count": "60", "feed": "middle", "ground_shift": "300 mV", "high_threshold": "93 %"}
    result = CALCULATOR.run(texts)
    finding = next(one for one in result.findings if one.code == "data-level-low")
    assert finding.text.write().startswith("Put the level shifter at the string")
    assert finding.apply == {"shifter_place": "at the string"}
    assert CALCULATOR.run({**texts, **finding.apply}).holds
    # And back, where its input is what fails.
    far = {"shifter_place": "at the string", "controller_level": "2.3 V", "ground_shift": "350 mV"}
    text = next(one for one in CALCULATOR.run(far).findings if one.code == "data-level-low").text.write()
    assert text.startswith("Put the level shifter at the controller")


# A level may lie half a volt above the supply of the input that it reaches: makers' data sheets.
def test_the_level_above_the_supply_of_a_shifter_at_the_string() -> None:
    texts = {"controller_level": "5 V", "shifter_place": "at the string", "ground_shift": "0 V"}
    # Lit, 5 V come in as 4.5 V where 4 V are left: 0.5 V above.
    assert "data-above-supply" not in list_codes(run(**texts))
    assert "data-above-supply" in list_codes(run(**texts, segment_resistance="1.02 Ω"))
    assert "data-above-supply" not in list_codes(run(**{**texts, "controller_level": "4.9 V"}))


# A 12 V strip makes the 5 V that its data input reckons from by itself: high from 3.5 V, an open data set.
@pytest.mark.parametrize("led_type", ["RGB 12 V in threes", "RGB 12 V single"])
def test_a_12_volt_strip_reckons_from_5_volts(led_type: str) -> None:
    strip = {"led_type": led_type, "supply": "12 V", "feed": "middle", "count": "20"}
    assert CALCULATOR.run(strip).holds
    bare = CALCULATOR.run({**strip, "level_shifter": "none", "lead_length": "0 m"})
    shift = find_number(bare, "return_shift")
    assert find_number(bare, "data_margin") == pytest.approx(3.3 - 3.5 - shift, abs=1e-9)
    assert find_number(CALCULATOR.run(strip), "data_margin") == pytest.approx(3.3 - 2.0)
    own = CALCULATOR.run({**strip, "level_shifter": "none", "logic_supply": "4 V", "lead_length": "0 m"})
    assert find_number(own, "data_margin") == pytest.approx(3.3 - 2.8 - shift, abs=1e-9)


# What a club's own row says nothing of: a data sheet's 0.3 of the supply for low, half a volt in hand, 0.1 V.
def test_what_a_row_leaves_out_is_taken_from_data_sheets() -> None:
    needed = ("channels", "channel_current", "idle_current", "bit_rate", "reset_time", "clocked")
    limits = ("lowest_supply", "highest_supply", "high_threshold", "full_voltage", "dark_voltage")
    row = read_rows("leds")[0]
    led = make_led({name: row[name] for name in (*needed, *limits)})
    assert (led.low_threshold, led.logic_supply) == (0.3, None)
    assert led.nominal_supply == pytest.approx((3.7 + 5.3) / 2)
    assert led.wanted_voltage == pytest.approx(4.0 + 0.5)
    shifter = make_shifter({
        "name": "one", "input_high_share": 0.7, "lowest_supply": 2.0, "highest_supply": 5.5,
        "output_drop": 0.2,
    })  # fmt: skip
    assert shifter.find_low_threshold(5.0) == pytest.approx(1.5)
    assert shifter.output_low == 0.1


def test_the_families_of_level_shifters_read_low_as_printed() -> None:
    ttl, cmos = list_shifters()
    assert (ttl.find_low_threshold(4.5), ttl.find_low_threshold(5.5)) == (0.8, 0.8)
    assert cmos.find_low_threshold(5.0) == pytest.approx(1.5)
