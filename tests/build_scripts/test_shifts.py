"""Thresholds are found, shifted as they are imported, and told where no test notices; in a made-up house."""

import ast
from pathlib import Path

import pytest

from build_scripts.errors import BuildError
from build_scripts.shifts.__main__ import is_noticed, list_unnoticed
from build_scripts.shifts.thresholds import list_tests, list_thresholds, read_trees

HOUSE = {
    "calculators/__init__.py": "",
    "calculators/physics/__init__.py": "",
    "calculators/physics/heat.py": """
HOTTEST = 80.0
GRAVITY = 9.81

def is_hot(temperature: float) -> bool:
    return temperature > HOTTEST
""",
    "calculators/lamp/__init__.py": "",
    "calculators/lamp/calculator.py": """
from calculators.physics.heat import is_hot

MOST_LAMPS = 4

def judge(count: int, temperature: float) -> str:
    return "stop" if count > MOST_LAMPS or is_hot(temperature) else "holds"
""",
    "tests/calculators/lamp/test_calculator.py": """
from calculators.lamp.calculator import judge

def test_the_most_lamps() -> None:
    assert judge(4, 20) == "holds"
    assert judge(5, 20) == "stop"
""",
}
BOTH_SIDES = """
    assert judge(1, 79) == "holds"
    assert judge(1, 81) == "stop"
"""
ONE_SIDE = """
    assert judge(1, 79) == "holds"
"""


def write_house(root: Path, more: str = "") -> Path:
    for name, text in HOUSE.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text + (more if "test_" in name else ""), "utf-8")
    return root


def list_told(root: Path, *names: str) -> list[str]:
    return [f"{one} {value:g}" for one, value in list_unnoticed(root, names, cores=1)]


@pytest.mark.prepared
def test_a_threshold_that_no_test_reaches_is_told_for_both_ways(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    root = write_house(tmp_path)
    before = {path: path.read_bytes() for path in root.rglob("*.py")}
    place = "calculators/physics/heat.py:2 HOTTEST"
    assert list_told(root) == [f"{place} 76", f"{place} 84"]
    told = capsys.readouterr().out
    assert "MOST_LAMPS to 3: noticed" in told
    assert "MOST_LAMPS to 5: noticed" in told
    assert "2 thresholds, 4 shifts, 2 noticed" in told
    assert {path: path.read_bytes() for path in root.rglob("*.py")} == before


@pytest.mark.prepared
def test_a_threshold_with_a_test_on_each_side_is_noticed(tmp_path: Path) -> None:
    assert list_told(write_house(tmp_path, BOTH_SIDES), "HOTTEST") == []


@pytest.mark.prepared
def test_a_test_on_one_side_notices_one_way(tmp_path: Path) -> None:
    assert list_told(write_house(tmp_path, ONE_SIDE), "HOTTEST") == [
        "calculators/physics/heat.py:2 HOTTEST 84"
    ]


@pytest.mark.prepared
def test_what_its_own_room_notices_is_asked_of_no_other(tmp_path: Path) -> None:
    root = write_house(tmp_path)
    own = root / "tests/calculators/physics/test_heat.py"
    own.parent.mkdir()
    own.write_text(
        "from calculators.physics.heat import is_hot\n\n"
        "def test_the_hottest() -> None:\n    assert [is_hot(79), is_hot(81)] == [False, True]\n",
        "utf-8",
    )
    asked = root / "asked.txt"
    other = root / "tests/calculators/lamp/test_calculator.py"
    count = f"with open({str(asked)!r}, 'a') as file:\n    file.write('once ')\n"
    other.write_text(other.read_text("utf-8") + count, "utf-8")
    assert list_told(root, "HOTTEST") == []
    # Without a shift all of them are run.
    assert asked.read_text("utf-8") == "once "


@pytest.mark.prepared
def test_a_room_without_a_test_to_run_leaves_it_to_its_calculators(tmp_path: Path) -> None:
    root = write_house(tmp_path, BOTH_SIDES)
    (root / "tests/calculators/physics").mkdir()
    assert list_told(root, "HOTTEST") == []


@pytest.mark.prepared
def test_a_shift_that_makes_a_test_endless_is_noticed(tmp_path: Path) -> None:
    wait = """
from calculators.lamp.calculator import MOST_LAMPS

def test_the_number() -> None:
    while MOST_LAMPS != 4:
        pass
"""
    root = write_house(tmp_path, wait)
    (most,) = (one for one in list_thresholds(read_trees(root)) if one.name == "MOST_LAMPS")
    tests = ["tests/calculators/lamp"]
    assert is_noticed(root, most, 3, tests, limit=5)
    assert not is_noticed(root, most, 4, tests)


@pytest.mark.prepared
def test_tests_that_fail_by_themselves_show_nothing(tmp_path: Path) -> None:
    with pytest.raises(BuildError, match=r"Without any shift these tests do not pass:(.|\n)*test_the_most"):
        list_told(write_house(tmp_path, "    assert judge(6, 20) == 'holds'\n"))


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("MOST = 4\ndef f(x): return x > MOST", {"MOST": (3, 5)}),
        ("MOST = 4.0\ndef f(x): return x > MOST", {"MOST": (3.8, 4.2)}),
        ("LEAST = -4.0\ndef f(x): return LEAST <= x", {"LEAST": (-3.8, -4.2)}),
        ("_MOST: Volt = 4\ndef f(x): return max(x, 2 * _MOST)", {"_MOST": (3, 5)}),
        ("MOST = 4\ndef f(x): return exceeds(x, MOST)", {"MOST": (3, 5)}),
        ("SOME, MANY = 1, 2\ndef f(x): return SOME < x < MANY", {"SOME": (0, 2), "MANY": (1, 3)}),
        (
            "ENDS = (1, 2)\ndef f(x):\n    low, high = ENDS\n    return low < x",
            {"ENDS[0]": (0, 2), "ENDS[1]": (1, 3)},
        ),
        ("MOST = 4\ndef f(x):\n    most = MOST * x\n    return x > most", {"MOST": (3, 5)}),
        ("LOUD = 4\nR = Rule('loud', when=lambda case: is_over(case, LOUD))", {"LOUD": (3, 5)}),
        (
            "class Case:\n    soft: ClassVar[float] = 4\n    text: ClassVar[str] = ''\n"
            "RULE = Rule(when=lambda case: case.heat > case.soft)",
            {"Case.soft": (3, 5)},
        ),
        # Only reckoned with, no number, no name of a constant, or nothing to shift.
        ("GRAVITY = 9.81\ndef f(x): return GRAVITY * x", {}),
        ("WORDS = 'a'\nIS_ON = True\ndef f(x): return x == WORDS or x == IS_ON", {}),
        ("most = 4\ndef f(x): return x > most", {}),
        ("ZERO = 0.0\ndef f(x): return x > ZERO", {}),
    ],
)
def test_what_a_threshold_is(code: str, found: dict[str, tuple[float, float]]) -> None:
    thresholds = list_thresholds({"calculators/a.py": ast.parse(code)})
    assert {one.name: pytest.approx(one.list_shifts()) for one in thresholds} == found


def test_the_tests_that_can_notice_are_the_rooms_own_and_those_of_its_calculators(tmp_path: Path) -> None:
    root = write_house(tmp_path)
    trees = read_trees(root)
    assert list_tests(trees, "calculators/physics/heat.py", root) == ["tests/calculators/lamp"]
    (root / "tests/calculators/physics").mkdir()
    assert list_tests(trees, "calculators/physics/heat.py", root) == [
        "tests/calculators/physics",
        "tests/calculators/lamp",
    ]
    assert list_tests(trees, "calculators/lamp/calculator.py", root) == ["tests/calculators/lamp"]
