"""What the calculators' tests share: running one on texts, looking into its result, and the simulator."""

import os
import shutil
import subprocess
from collections.abc import Callable, Mapping

from calculators.forms.calculator import Calculator
from calculators.results.result import Finding, LateTable, Result, Table


def make_run(calculator: Calculator, **case: str) -> Callable[..., Result]:
    """Return a function that runs the calculator on this case, changed by texts for its fields."""

    def run(**texts: str) -> Result:
        return calculator.run({**case, **texts})

    return run


def find_number(result: Result, name: str) -> float:
    value = result.outputs[name]
    assert isinstance(value, float | int), name
    return value


def list_codes(result: Result) -> dict[str, str]:
    """The level of each finding, by its code."""
    return {finding.code: finding.level for finding in result.findings}


def find_finding(result: Result, code: str) -> Finding | None:
    return next((finding for finding in result.findings if finding.code == code), None)


def find_text(result: Result, code: str) -> str:
    finding = find_finding(result, code)
    assert finding, f"no {code} among {', '.join(list_codes(result))}"
    return finding.text.write()


def find_table(result: Result, name: str) -> Table | LateTable:
    return next(table for table in result.tables if table.name == name)


def list_rows(result: Result, name: str) -> list[Mapping[str, object]]:
    """The rows of a table, their cells by the names of the columns."""
    table = find_table(result, name)
    return [dict(zip((column.name for column in table.columns), row, strict=True)) for row in table.rows]


def run_ngspice(netlist: str) -> str:
    """Return what ngspice prints on a netlist; tests that use it are marked as prepared."""
    program = os.environ.get("HANDBOOK_NGSPICE") or shutil.which("ngspice")
    assert program, "ngspice was not found: install it, or name its path in HANDBOOK_NGSPICE"
    return subprocess.run(
        [program, "-b"], input=netlist, capture_output=True, text=True, timeout=60, check=False
    ).stdout
