"""The driver's impedance against a published woofer, ngspice, numpy's complex numbers and scipy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from calculators.speaker_load.dc_network import Part, join
from calculators.speaker_load.driver import CURVE_POINTS, Driver, find_curve, find_shares, list_frequencies
from tests.calculators.running import run_ngspice

# A woofer worked through in an article on measuring drivers ("The woofer", an acoustics consultant's
# site): Re 6 Ω, Qes 0.34, Qms 4.27, fs 70.7 Hz, Le 0.24 mH; its circuit is 75.35 Ω, 127.56 µF, 39.73 mH.
WOOFER = Driver(re=6.0, le=0.24e-3, fs=70.7, qms=4.27, qes=0.34)
CIRCUIT = (75.35, 127.56e-6, 39.73e-3)
FREQUENCIES = (20.0, 50.0, 70.7, 100.0, 200.0, 1000.0, 10000.0)

DRIVERS = st.builds(
    Driver,
    re=st.floats(2, 20),
    le=st.floats(0, 2e-3),
    fs=st.floats(20, 500),
    qms=st.floats(0.5, 12),
    qes=st.floats(0.2, 3),
)


def find_complex(driver: Driver, frequency: float) -> complex:
    """Return the impedance from the circuit's elements, with numpy's complex numbers."""
    omega = 2j * np.pi * frequency
    res = driver.re * driver.qms / driver.qes
    ces = driver.qes / (2 * np.pi * driver.fs * driver.re)
    les = driver.re / (2 * np.pi * driver.fs * driver.qes)
    assert driver.le is not None
    return complex(driver.re + omega * driver.le + 1 / (1 / res + 1 / (omega * les) + omega * ces))


def find_modulus(driver: Driver, frequency: float) -> float:
    return abs(complex(*driver.find_impedance(frequency)))


def test_the_published_elements_give_the_published_circuit() -> None:
    assert WOOFER.peak == pytest.approx(CIRCUIT[0], rel=1e-4)
    for frequency in FREQUENCIES:
        omega = 2j * np.pi * frequency
        res, ces, les = CIRCUIT
        expected = WOOFER.re + omega * 0.24e-3 + 1 / (1 / res + 1 / (omega * les) + omega * ces)
        assert find_modulus(WOOFER, frequency) == pytest.approx(abs(expected), rel=5e-4)


@pytest.mark.prepared
def test_ngspice_finds_the_same_impedance() -> None:
    res, ces, les = WOOFER.peak, 0.34 / (2 * np.pi * 70.7 * 6), 6 / (2 * np.pi * 70.7 * 0.34)
    lines = ["a driver fed by one ampere", "I1 0 a AC 1", "R1 a b 6", "L1 b c 0.24m"]
    lines += [
        f"R2 c 0 {res!r}",
        f"C2 c 0 {float(ces)!r}",
        f"L2 c 0 {float(les)!r}",
        ".control",
        "set numdgt=9",
    ]
    for frequency in FREQUENCIES:
        lines += [f"ac lin 1 {frequency} {frequency}", "print vm(a)"]
    told = run_ngspice("\n".join([*lines, ".endc", ".end", ""])).splitlines()
    found = [float(line.split("=")[1]) for line in told if line.startswith("vm(a)")]
    assert found == pytest.approx([find_modulus(WOOFER, frequency) for frequency in FREQUENCIES], rel=1e-6)


@given(DRIVERS, st.floats(5, 30000))
def test_the_model_is_its_circuit(driver: Driver, frequency: float) -> None:
    real, imaginary = driver.find_impedance(frequency)
    expected = find_complex(driver, frequency)
    assert complex(real, imaginary) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(DRIVERS)
def test_the_two_points_beside_the_peak_give_the_parameters_back(driver: Driver) -> None:
    # The classical measurement: |Z| = Re sqrt(r0) at f1 and f2, f1 f2 = fs², Qms = fs sqrt(r0) / (f2 - f1).
    still = Driver(driver.re, 0.0, driver.fs, driver.qms, driver.qes)
    r0 = (still.re + still.peak) / still.re
    width = still.fs * np.sqrt(r0) / still.qms
    upper = (width + np.sqrt(width * width + 4 * still.fs * still.fs)) / 2
    lower = still.fs * still.fs / upper
    assert find_modulus(still, still.fs) == pytest.approx(still.re * r0)
    assert find_modulus(still, upper) == pytest.approx(still.re * np.sqrt(r0))
    assert find_modulus(still, lower) == pytest.approx(still.re * np.sqrt(r0))
    assert still.qms / (r0 - 1) == pytest.approx(still.qes)


def test_the_lowest_point_of_the_published_woofer() -> None:
    curve = find_curve(Part(0), (WOOFER,), 20.0, 20000.0)
    found = minimize_scalar(lambda f: find_modulus(WOOFER, f), bounds=(200, 5000), options={"xatol": 1e-6})
    assert curve.lowest[1] == pytest.approx(found.fun, rel=1e-9)
    assert curve.lowest[1] == pytest.approx(6.024, abs=5e-4)
    assert curve.lowest[0] == pytest.approx(947, abs=1)


@settings(max_examples=40)
@given(DRIVERS, DRIVERS, st.floats(2, 20))
def test_a_network_of_drivers_follows_the_complex_rules(one: Driver, two: Driver, load: float) -> None:
    network = join("series", [join("parallel", [Part(0), Part(1), Part(2)]), Part(3)])
    curve = find_curve(network, (one, two, one, load), 20.0, 20000.0)
    assert len(curve.points) == CURVE_POINTS
    for frequency, modulus in curve.points[::12]:
        a, b = find_complex(one, frequency), find_complex(two, frequency)
        assert modulus == pytest.approx(abs(1 / (2 / a + 1 / b) + load), rel=1e-9)
    dense = np.geomspace(20, 20000, 3000)
    values = [abs(1 / (2 / find_complex(one, f) + 1 / find_complex(two, f)) + load) for f in dense[::10]]
    assert curve.lowest[1] <= min(values) * (1 + 1e-3)
    assert curve.lowest[1] <= min(modulus for _, modulus in curve.points)


def test_the_frequencies_are_numpys() -> None:
    assert list_frequencies(20.0, 20000.0) == pytest.approx(np.geomspace(20, 20000, CURVE_POINTS).tolist())


@settings(max_examples=40)
@given(DRIVERS, st.floats(2, 20), st.floats(0, 2))
def test_shares_of_the_voltage_follow_the_complex_rules(one: Driver, load: float, outside: float) -> None:
    network = join("series", [join("parallel", [Part(0), Part(1)]), Part(2)])
    frequencies = list_frequencies(20.0, 20000.0)
    shares = find_shares(network, (load, load, one), frequencies, outside)
    for at, frequency in enumerate(frequencies):
        driver = find_complex(one, frequency)
        whole = load / 2 + driver + outside
        expected = [abs(load / 2 / whole)] * 2 + [abs(driver / whole)]
        assert [share[at] for share in shares] == pytest.approx(expected)
