"""Errors that a reader or an author can mend: each names the field, what was given and what is allowed."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple


class NotationError(ValueError):
    """A text is not a quantity in the handbook's notation; the message says why, without naming a field."""


class CellProblem(NamedTuple):
    """What is wrong in a table: the row, from 1, the column's name ("" for all of the row), a sentence."""

    row: int
    column: str
    problem: str


class InputError(ValueError):
    """One input cannot be used.

    `field` is the input's name, `label` what the form calls it, `given` the text as entered (empty when
    nothing was) and `problem` a sentence that says what is wrong and what to do. Of a table, `cells` are what
    it is about.
    """

    def __init__(
        self, field: str, problem: str, *, given: str = "", label: str = "", cells: Sequence[CellProblem] = ()
    ) -> None:
        self.field = field
        self.label = label or field
        self.given = given
        self.problem = problem
        self.cells = tuple(cells)
        super().__init__(f"{self.label}: {problem}")


class InputErrors(ValueError):  # noqa: N818  # it holds several
    """Several inputs cannot be used; `errors` holds one `InputError` for each, in the form's order."""

    def __init__(self, errors: Iterable[InputError]) -> None:
        self.errors = tuple(errors)
        super().__init__("\n".join(str(error) for error in self.errors))


class NotFiniteError(ArithmeticError):
    """A figure of a result is no finite number; the message says where it stands."""


class UnknownCalculatorError(LookupError):
    """No calculator has this slug; the message lists those that exist."""
