"""The small calculator that DEVELOPERS.md shows, as it stands there."""

import re
from types import ModuleType

from calculators.forms.calculator import Calculator
from tests.conftest import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def read_example(number: int = 0) -> str:
    """One of the guide's two Python blocks: the small calculator, and the form with rows."""
    codes = re.findall(r"^```python\n(.*?)^```$", GUIDE, re.DOTALL | re.MULTILINE)
    assert len(codes) == 2
    return str(codes[number])


def load_module() -> ModuleType:
    """The example as a module of its name."""
    module = ModuleType("calculators.contact_heat.calculator")
    exec(compile(read_example(), "DEVELOPERS.md", "exec"), module.__dict__)
    return module


def load_example() -> Calculator:
    """The calculator of the example."""
    calculator: Calculator = load_module().CALCULATOR
    return calculator
