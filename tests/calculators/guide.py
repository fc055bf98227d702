"""The small calculator that DEVELOPERS.md shows, as it stands there."""

import re
from types import ModuleType

from calculators.forms.calculator import Calculator
from tests.conftest import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def read_example() -> str:
    """The guide's one Python block."""
    (code,) = re.findall(r"^```python\n(.*?)^```$", GUIDE, re.DOTALL | re.MULTILINE)
    return str(code)


def load_module() -> ModuleType:
    """The example as a module of its name."""
    module = ModuleType("calculators.contact_heat.calculator")
    exec(compile(read_example(), "DEVELOPERS.md", "exec"), module.__dict__)
    return module


def load_example() -> Calculator:
    """The calculator of the example."""
    calculator: Calculator = load_module().CALCULATOR
    return calculator
