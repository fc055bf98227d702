"""What is added to the calculators of the attempts' own handbook: answers with markup, and Python to run."""

from collections.abc import Sequence

FIELD = "current"
"""The field of the calculator in handbooks.py whose text asks for either."""

MARKUP, PROBE = "markup", "probe"
ENDED = "nothing: "
"""How the refusal begins where Python to be run got nowhere."""

_WINDOW = """

_answer = answer
_markups = {markups!r}
_probes = {probes!r}


def answer(question: str) -> str:
    \"\"\"Answer with markup in the result, run Python, or answer as the calculators do.\"\"\"
    asked = json.loads(question)
    kind, _, number = asked["fields"].get({field!r}, "").partition(" ")
    if kind == {probe!r} and number.isdecimal() and int(number) < len(_probes):
        scope: dict[str, object] = {{}}
        try:
            exec(_probes[int(number)], scope)
            words = str(scope["found"])
        except BaseException as error:
            words = {ended!r} + type(error).__name__
        return json.dumps(
            {{"ok": False, "errors": [{{"field": {field!r}, "label": "", "given": "", "text": words}}]}}
        )
    if kind != {markup!r} or not number.isdecimal() or int(number) >= len(_markups):
        return _answer(question)
    asked["fields"][{field!r}] = "3 A"
    reply = json.loads(_answer(json.dumps(asked)))
    name = next(name for name, part in reply["result"].items() if part)
    reply["result"][name] = reply["result"][name].replace(">", ">" + _markups[int(number)], 1)
    return json.dumps(reply)
"""


def make_window(markups: Sequence[str], probes: Sequence[str]) -> str:
    """Return what stands behind calculators/answers.py to answer with one of these."""
    return _WINDOW.format(
        markups=list(markups), probes=list(probes), field=FIELD, markup=MARKUP, probe=PROBE, ended=ENDED
    )
