"""What an author has to mend, in the one form that every check uses."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """Something an author has to mend, with where it stands."""

    file: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.text}"
