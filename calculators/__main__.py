"""The terminal: `python -m calculators SLUG name=value … [--imperial] [--json]`.

Rows may come from a file, `name=@rows.csv`, or from standard input, `name=-`.
"""

import argparse
import io
import json
import os
import sys
from collections.abc import Sequence

from calculators import find_calculator, list_calculators
from calculators.forms.calculator import Calculator
from calculators.forms.rows import RowsInput
from calculators.notation.errors import InputError, InputErrors, UnknownCalculatorError
from calculators.notation.showing import GAP
from calculators.presentation.as_json import render_json
from calculators.presentation.as_text import render_help, render_list, render_text

_REFUSED = 2


def run_terminal(arguments: Sequence[str]) -> int:
    """Print what is asked for and return the exit status: 0 computed, 2 input that cannot be used."""
    # The command that prepares the environment sets its own name, so that help shows what was typed.
    command = os.environ.get("HANDBOOK_COMMAND", "python -m calculators")
    parser = argparse.ArgumentParser(prog=command, add_help=False, allow_abbrev=False)
    parser.add_argument("slug", nargs="?")
    parser.add_argument("fields", nargs="*", metavar="name=value")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--imperial", action="store_true")
    parser.add_argument("--help", "-h", action="store_true")
    # Options may stand anywhere among the fields, which plain parsing would not read.
    asked, unknown = parser.parse_known_intermixed_args(arguments)
    try:
        if unknown:
            return _refuse(f"{unknown[0]} is not an option here; allowed: --json, --imperial, --help")
        if asked.slug is None:
            print(render_list(list_calculators(), command))
            return 0
        calculator = find_calculator(asked.slug)
        if asked.help:
            print(render_help(calculator, command))
            return 0
        texts = _read_fields(calculator, asked.fields)
        result = calculator.run(texts)
        if asked.json:
            print(
                json.dumps(
                    render_json(calculator, texts, result), allow_nan=False, ensure_ascii=False, indent=2
                )
            )
        else:
            print(render_text(calculator, texts, result, "imperial" if asked.imperial else "metric"))
    except UnknownCalculatorError as error:
        return _refuse(str(error))
    except InputErrors as refused:
        return _refuse(*(f"{error.field}: {error.problem}" for error in refused.errors))
    return 0


def _read_fields(calculator: Calculator, fields: Sequence[str]) -> dict[str, str]:
    texts: dict[str, str] = {}
    for field in fields:
        name, equals, text = (part.strip() for part in field.partition("="))
        if not equals:
            raise InputErrors(
                [InputError(name, 'this is not name=value; quote a value with spaces, such as supply="12 V"')]
            )
        if name in texts:
            raise InputErrors([InputError(name, "this field is given twice; give it once")])
        rows = isinstance(calculator.fields.get(name), RowsInput)
        texts[name] = _read_elsewhere(name, text) if rows and (text == "-" or text[:1] == "@") else text
    return texts


def _read_elsewhere(name: str, text: str) -> str:
    """Return what a file holds, or standard input; raises InputErrors."""
    # Imported here: hardly anybody names a file, and everybody would wait for it.
    from pathlib import Path

    source = "standard input" if text == "-" else f"the file “{text[1:]}”"
    try:
        read = sys.stdin.read() if text == "-" else Path(text[1:]).read_text(encoding="utf-8")
    except OSError as error:
        problem = f"{source} could not be read ({error.strerror}); name a file with rows, such as @rows.csv"
    except UnicodeDecodeError:
        problem = f"{source} is not UTF-8; save it as CSV in UTF-8"
    else:
        return read.removeprefix("\ufeff")
    raise InputErrors([InputError(name, problem)])


def _refuse(*sentences: str) -> int:
    for sentence in sentences:
        print(sentence.replace(GAP, " "), file=sys.stderr)
    return _REFUSED


if __name__ == "__main__":
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(encoding="utf-8", errors="strict")
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # Windows terminals default to other encodings, and an argument may hold bytes that are no text.
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        status = run_terminal(sys.argv[1:])
        if sys.stdout is not None:
            sys.stdout.flush()
    except BrokenPipeError:
        # The reader closed the pipe (as `| head` does); there is nobody left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    sys.exit(status)
