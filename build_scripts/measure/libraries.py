"""What two libraries would cost that were weighed and left out; DEVELOPERS.md gives the reasons."""

import statistics
import subprocess
import sys
import time

from calculators.speaker_load.calculator import CALCULATOR

_IMPORT_OWN = "import calculators, calculators.answers\ncalculators.list_calculators()"
_IMPORT_UNITS = """
import pint
registry = pint.UnitRegistry(None)
for line in ("metre = [length] = m", "second = [time] = s", "ampere = [current] = A"):
    registry.define(line)
for line in ("kilogram = [mass] = kg", "volt = kilogram * metre ** 2 / second ** 3 / ampere = V"):
    registry.define(line)
registry.define("milli- = 1e-3 = m-")
registry.Quantity("500 mA")
"""


def measure_libraries(rounds: int) -> list[tuple[str, float]]:
    """Return what each library costs, as ratios to what the handbook does instead."""
    own, units = _time_start(_IMPORT_OWN, rounds), _time_start(_IMPORT_UNITS, rounds)
    return [
        ("importing a units library / importing all calculators", units / own),
        ("one circuit by a drawing library / the same in the handbook", _time_drawing(rounds)),
    ]


def _time_start(code: str, rounds: int) -> float:
    """Return the median seconds that `code` takes in a new interpreter, over one that does nothing."""
    times: dict[str, list[float]] = {code: [], "": []}
    for _ in range(rounds + 1):
        for program, found in times.items():
            started = time.perf_counter()
            subprocess.run([sys.executable, "-c", program], check=True)
            found.append(time.perf_counter() - started)
    return statistics.median(times[code][1:]) - statistics.median(times[""][1:])


def _time_drawing(rounds: int) -> float:
    import schemdraw
    from schemdraw import elements

    schemdraw.use("svg")
    result = CALCULATOR.run({"network": "8 || 8 || 8 || 8"})
    (own,) = (picture for picture in result.pictures[:1])

    def draw_with_library() -> None:
        with schemdraw.Drawing(show=False) as drawing:
            drawing += elements.SourceV()  # type: ignore[no-untyped-call]
            for _ in range(4):
                drawing += elements.Line().right()
                drawing.push()
                drawing += elements.Resistor().down().label("8 Ω")  # type: ignore[no-untyped-call]
                drawing.pop()
        drawing.get_imagedata("svg")

    library, handbook = [], []
    for _ in range(10 * rounds):
        started = time.perf_counter()
        draw_with_library()
        between = time.perf_counter()
        own.draw("metric")
        library.append(between - started)
        handbook.append(time.perf_counter() - between)
    return statistics.median(library) / statistics.median(handbook)
