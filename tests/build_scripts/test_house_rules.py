"""The rules for code in calculators/: every way out that is known is refused, before anything is run."""

from __future__ import annotations

import builtins
import collections
import dataclasses
import decimal
import fractions
import functools
import importlib
import itertools
import os
import py_compile
import random
import re
import shutil
import signal
import socket
import subprocess
import sys
import types
import typing
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from build_scripts.errors import BuildError
from build_scripts.house_rules.allowed import ATTRIBUTES, BUILTINS, MODULES
from build_scripts.house_rules.gate import PASSED, check_calculators
from build_scripts.house_rules.rules import PYTHONS_OWN, find_problems
from tests.conftest import ROOT

DECOYS = re.findall(
    r"\w+",
    """
    sys inspect codecs bltns modules system json attrgetter Formatter get_type_hints format format_map
    gi_frame gi_code f_globals f_builtins tb_frame cr_frame cell_contents mro register obj func fget
    with_traceback open get copper cache_info _own _replace _randbelow count level
    """,
)
# A house with what the attempts lean on: every name that they reach for is declared by a class in it.
HOUSE: dict[str, bytes | None] = {
    "__init__.py": b"",
    "__main__.py": b"",
    "wire_gauge/__init__.py": b"",
    "physics/__init__.py": b"",
    "physics/copper.py": b"import json\nfrom math import sqrt\nLIMIT = 3\ndef find_area(): return LIMIT",
    "parts/__init__.py": b"def read_rows(name): return ()",
    "notation/__init__.py": b"",
    "results/__init__.py": b"",
    "decoy.py": f"class Decoy:\n    {' = '.join(DECOYS)} = 1\n".encode(),
}


def find_words(path: str, code: str | bytes) -> list[str]:
    """What is said about one file more in that house."""
    data = code.encode() if isinstance(code, str) else code
    return [problem.text for problem in find_problems({**HOUSE, path: data})]


# The ways by which the former rule, a list of what is refused, was passed.
SEEN = [
    ("import typing\nx = typing.sys.modules['os'].system", "uses typing.sys"),
    ("import dataclasses\nx = dataclasses.inspect.sys", "uses dataclasses.inspect"),
    ("import json\nx = json.codecs.open('/etc/hostname')", "uses json.codecs"),
    ("import enum\nx = enum.bltns.eval('1')", "imports enum"),
    ("x = __builtins__['eval']('1')", "uses __builtins__"),
    ("x = __loader__.get_data('/etc/hostname')", "uses __loader__"),
    ("def f(): pass\nmatch f:\n    case object(__globals__=x): pass", "reaches for .__globals__"),
    ("import operator\nx = operator.attrgetter('__globals__')", "uses operator.attrgetter"),
    ("import string\nx = string.Formatter().get_field('0.__class__', ((),), {})", "uses string.Formatter"),
    ("import typing\ndef f(x: 'eval(1)'): pass\ntyping.get_type_hints(f)", "uses typing.get_type_hints"),
    ("from calculators.physics.copper import json", "imports json from calculators.physics.copper"),
    ("import typing as t\ns = t\nx = s.sys", "uses the module t as a value"),
]
FURTHER = [
    # modules: to a value, by another name, as a whole, from where they are imported
    ("import typing as t\nx = t.sys", "uses typing.sys"),
    ("import json\nx = [json][0]", "uses the module json as a value"),
    ("import json\ndef f(x=json): return x", "uses the module json as a value"),
    ("import json\n(x := json)", "uses the module json as a value"),
    ("import json\nclass A(json): pass", "uses the module json as a value"),
    ("import json\nx = f'{json}'", "uses the module json as a value"),
    ("import json\n@json\ndef f(): pass", "uses the module json as a value"),
    ("import json\ndef f():\n    yield json", "uses the module json as a value"),
    ("import json\nmatch 1:\n    case json.codecs: pass", "uses json.codecs"),
    ("import re\nx = re._compiler", "uses re._compiler"),
    ("import re\nx = re.enum", "uses re.enum"),
    ("import functools\nx = functools.GenericAlias", "uses functools.GenericAlias"),
    ("import functools\nx = functools.update_wrapper", "uses functools.update_wrapper"),
    ("from functools import wraps", "uses functools.wraps"),
    ("from functools import singledispatch", "uses functools.singledispatch"),
    ("from functools import partialmethod", "uses functools.partialmethod"),
    ("from dataclasses import make_dataclass", "uses dataclasses.make_dataclass"),
    ("from dataclasses import sys", "uses dataclasses.sys"),
    ("from collections import namedtuple", "uses collections.namedtuple"),
    ("from types import FunctionType", "uses types.FunctionType"),
    ("from types import CodeType", "uses types.CodeType"),
    ("from types import new_class", "uses types.new_class"),
    ("from types import SimpleNamespace", "uses types.SimpleNamespace"),
    ("from operator import methodcaller", "uses operator.methodcaller"),
    ("from operator import attrgetter as itemgetter", "uses operator.attrgetter"),
    ("from typing import ForwardRef", "uses typing.ForwardRef"),
    ("from decimal import getcontext", "uses decimal.getcontext"),
    ("from json import *", "uses json.*"),
    ("from json.decoder import codecs", "imports json.decoder"),
    ("import urllib.parse\nx = urllib.request", "imports urllib.parse as a whole"),
    ("import json, os", "imports os"),
    ("import json as __builtins__", "defines __builtins__"),
    ("import js", "imports js"),
    ("import pyodide.ffi", "imports pyodide.ffi"),
    ("import _pyodide", "imports _pyodide"),
    ("import builtins", "imports builtins"),
    ("import gc", "imports gc"),
    ("import ctypes", "imports ctypes"),
    ("import pickle", "imports pickle"),
    ("import math\nmath.sqrt = 3", "changes math.sqrt"),
    ("class A:\n    import json\nx = A.json", "imports something inside a class"),
    ("class A:\n    if True:\n        import json as level\nx = A.level.codecs", "imports something inside"),
    # the calculators' own modules
    ("import calculators", "imports calculators"),
    ("import calculators.physics.copper as c", "imports calculators.physics.copper"),
    ("from calculators import physics", "imports physics from calculators"),
    ("from calculators.physics import copper", "imports copper from calculators.physics"),
    ("from calculators.physics.copper import sqrt", "imports sqrt from calculators.physics.copper"),
    ("from calculators.physics.copper import *", "imports * from calculators.physics.copper"),
    ("from calculators.physics.copper import __loader__", "imports __loader__ from"),
    ("from calculators.nothing import x", "imports calculators.nothing"),
    ("from calculators.physics.__pycache__.x import y", "imports calculators.physics.__pycache__.x"),
    ("from .physics import copper", "imports from .physics"),
    ("from . import physics", "imports from ."),
    # built-in names
    ("e = eval", "uses eval"),
    ("from functools import partial\npartial(eval, '1')()", "uses eval"),
    ("x = [*map(exec, ['1'])]", "uses exec"),
    ("def f(eval): return eval\neval('1')", "uses eval"),
    ("def f(x=open): return x", "uses open"),
    ("@eval\ndef f(): pass", "uses eval"),
    ("x = sorted(['1'], key=eval)", "uses eval"),
    ("ｅval('1')", "uses eval"),
    ("x = getattr(1, 'real')", "uses getattr"),
    ("x = vars()", "uses vars"),
    ("x = globals()", "uses globals"),
    ("x = dir(1)", "uses dir"),
    ("x = help", "uses help"),
    ("x = breakpoint", "uses breakpoint"),
    ("x = memoryview(b'')", "uses memoryview"),
    ("x = type('X', (), {'__reduce__': 1})", "uses type"),
    ("t = type", "uses type"),
    ("x = type(type(1))('X', (), {})", "uses type"),
    ("class M(type): pass", "uses type"),
    ("x = __import__('os')", "uses __import__"),
    ("x = __build_class__", "uses __build_class__"),
    ("x = __spec__.loader", "uses __spec__"),
    ("x = __file__", "uses __file__"),
    ("class A:\n    def f(self): return __class__", "uses __class__"),
    ("x = undefined_here", "uses undefined_here"),
    ("try:\n    pass\nexcept BaseException as e:\n    pass", "uses BaseException"),
    # attributes
    ("x = ().__class__.__base__.__subclasses__()", "reaches for .__subclasses__"),
    ("x = f'{().__class__}'", "reaches for .__class__"),
    ("x = (lambda: 0).__code__", "reaches for .__code__"),
    ("def f(): pass\nx = f.__globals__", "reaches for .__globals__"),
    ("def f(): pass\nf.__code__ = 1", "changes .__code__"),
    ("def f(): pass\nx = f.__wrapped__", "reaches for .__wrapped__"),
    ("def f(): pass\nf.__defaults__ += (1,)", "changes .__defaults__"),
    ("class A:\n    def f(self): return super().__getattribute__('x')", "reaches for .__getattribute__"),
    ("class A:\n    def f(self): return super().__reduce__()", "reaches for .__reduce__"),
    ("x = (y for y in ()).gi_frame", "reaches for .gi_frame"),
    ("def f():\n    yield 1\nx = f().gi_frame.f_globals", "reaches for .f_globals"),
    ("x = (y for y in ()).gi_code", "reaches for .gi_code"),
    ("try:\n    pass\nexcept ValueError as e:\n    x = e.__traceback__.tb_frame", "reaches for .tb_frame"),
    ("try:\n    pass\nexcept ValueError as e:\n    x = e.with_traceback", "reaches for .with_traceback"),
    ("try:\n    pass\nexcept Exception as e:\n    x = e.obj", "reaches for .obj"),
    ("x = int.mro()", "reaches for .mro"),
    ("x = '{0.__class__}'.format(1)", "reaches for .format"),
    ("f = str.format", "reaches for .format"),
    ("x = '{x.__class__}'.format_map({'x': 1})", "reaches for .format_map"),
    ("class A:\n    format: int\nx = 'x'.format(A)", "reaches for .format"),
    ("match 1:\n    case int(__class__=x): pass", "reaches for .__class__"),
    ("match 1:\n    case object(gi_frame=x): pass", "reaches for .gi_frame"),
    ("from collections.abc import Mapping\nMapping.get = lambda self, name: self", "changes .get"),
    (
        "from collections.abc import Mapping\ndef f(self):\n    self.get = print\nf(Mapping)",
        "changes .get",
    ),
    ("from collections.abc import Mapping\nfor Mapping.get in [1]: pass", "changes .get"),
    ("from collections.abc import Mapping\nMapping.register(str)", "reaches for .register"),
    ("from calculators.decoy import Decoy\nDecoy.count = 3", "changes .count"),
    ("from functools import partial\nx = partial(int).func", "reaches for .func"),
    ("x = property(len).fget", "reaches for .fget"),
    ("class A(tuple): pass\nx = A()._own", "reaches for ._own"),
    ("import random\ndef f(self): return self._randbelow\nf(random.Random(1))", "reaches for ._randbelow"),
    ("from typing import NamedTuple\nclass A(NamedTuple):\n    x: int\ny = A(1)._replace(x=2)", "._replace"),
    ("from random import Random", "uses the shared random state"),
    ("import random\nx = random.Random(*())", "uses the shared random state"),
    ("import random\nx = random.SystemRandom()", "uses the shared random state"),
    ("import random\nx = random.Random(1)._randbelow", "reaches for ._randbelow"),
    ("import random\nx = random.Random(1)\nx.seed()", "sets a seed again"),
    # classes and what Python calls by itself
    ("class A:\n    def __getattr__(self, name): return 1", "defines __getattr__"),
    ("class A:\n    def __getattribute__(self, name): return 1", "defines __getattribute__"),
    ("class A:\n    def __class_getitem__(cls, name): return 1", "defines __class_getitem__"),
    ("class A:\n    def __init_subclass__(cls): pass", "defines __init_subclass__"),
    ("class A:\n    def __set_name__(self, owner, name): pass", "defines __set_name__"),
    ("class A:\n    def __del__(self): pass", "defines __del__"),
    ("class A:\n    def __reduce__(self): return (1,)", "defines __reduce__"),
    ("class A:\n    def __str__(self): return self", "defines __str__"),
    ("class A:\n    def __format__(self, how): return ''", "defines __format__"),
    ("class A:\n    def __exit__(self, *what): pass", "defines __exit__"),
    ("class A:\n    __reduce__ = lambda self: (1,)", "defines __reduce__"),
    ("class A:\n    __match_args__ = ('__class__',)", "defines __match_args__"),
    ("class A:\n    __slots__ = ()", "defines __slots__"),
    ("class A:\n    for __reduce__ in [1]: pass", "defines __reduce__"),
    ("class A:\n    import json as __reduce__", "defines __reduce__"),
    ("class A:\n    class __reduce__: pass", "defines __reduce__"),
    ("class A:\n    match 1:\n        case __reduce__: pass", "defines __reduce__"),
    ("class A:\n    match [1]:\n        case [*__reduce__]: pass", "defines __reduce__"),
    ("class A:\n    match {}:\n        case {**__reduce__}: pass", "defines __reduce__"),
    ("class A:\n    try:\n        pass\n    except ValueError as __reduce__: pass", "defines __reduce__"),
    ("class A:\n    type __reduce__ = int", "defines __reduce__"),
    ("class A:\n    [__reduce__ := 1]", "defines __reduce__"),
    ("def f[__reduce__](): pass", "defines __reduce__"),
    ("__annotations__['x'] = 1", "uses __annotations__"),
    ("class A(metaclass=int): pass", "gives a class more than its bases"),
    ("class A(**{'metaclass': int}): pass", "gives a class more than its bases"),
    ("def __getattr__(name): return 1", "defines __getattr__"),
    ("__all__ = ['x']", "defines __all__"),
    ("__path__ = ['/tmp']", "defines __path__"),
    ("__builtins__ = {}", "defines __builtins__"),
    ("__name__ = 'os'", "defines __name__"),
    ("def f(__class__): pass", "defines __class__"),
    ("dict(__class__=1)", "uses __class__"),
    ("from typing import NamedTuple\nx = NamedTuple('x', [('y', int)])", "uses NamedTuple in an expression"),
    ("from typing import NamedTuple as N\nn = N", "uses N in an expression"),
    # annotations as texts
    ("def f(x: 'print(1)'): pass", "calls something in an annotation"),
    ("def f() -> 'list[print(1)]': pass", "calls something in an annotation"),
    ("x: list['print(1)'] = []", "calls something in an annotation"),
    # syntax
    ("with 1: pass", "uses with"),
    ("async def f(): pass", "uses async def"),
    ("async def f(): await 1", "uses await"),
    ("x = (y async for y in z)", "uses async for"),
    ("try:\n    pass\nexcept* ValueError:\n    pass", "uses except*"),
    ("def f():\n    global x\n    x = 1", "uses global"),
    ("x = 1\ndel x", "uses del"),
    ("assert True", "uses assert"),
    ("x = " + "(" * 250 + "1" + ")" * 250, "this is not Python: too many nested parentheses"),
    ("x = " + "-" * 100_000 + "1", "this nests deeper"),
    ("x = a" + ".b" * 100_000, "this nests deeper"),
    ("x = 1" + "+1" * 20000, "this nests deeper"),
    ("x = (", "this is not Python"),
    # signs that nobody sees, and names that look alike
    ("x = 'a\u202eb'", "here is the invisible sign U+202E"),
    ("x = 1 # \u2066", "here is the invisible sign U+2066"),
    ("x = 'a\u200bb'", "here is the invisible sign U+200B"),
    ("x = '\U000e0041'", "here is the invisible sign U+E0041"),
    ("x = 1\x00", "here is the invisible sign U+0000"),
    ("# harmless\rx = 1", "here is the invisible sign U+000D"),
    ("x = 1\x0cy = 2", "here is the invisible sign U+000C"),
    ("\ufeffx = 1", "here is the invisible sign U+FEFF"),
    ("\u0430bs = 1", "uses the name \u0430bs"),
    # digits that differ from machine to machine
    ("x = 2 ** 0.5", "uses **"),
    ("x = 2\nx **= 2", "uses **"),
    ("x = pow(2, 0.5)", "uses pow"),
    ("x = hash('a')", "uses hash"),
    ("x = id(1)", "uses id"),
    ("x = 1j", "uses a complex number"),
    ("import math\nf = math.hypot", "uses math.hypot"),
]


@pytest.mark.parametrize(("code", "words"), [*SEEN, *FURTHER])
def test_a_way_out_is_refused(code: str, words: str) -> None:
    found = find_words("attempt.py", code)
    assert any(words in text for text in found), found


@pytest.mark.parametrize(
    ("path", "code", "words"),
    [
        # Python puts a package's modules into it by their names: the names are nobody else's there.
        ("physics/__init__.py", "def f(copper): return copper", "uses the name copper"),
        ("__init__.py", "physics = 1", "uses the name physics"),
        # What one place has beyond the lists, it has word for word, and no other place has it.
        ("__init__.py", "from importlib import import_module\nx = import_module('os')", "uses import_module"),
        ("__init__.py", "from importlib import import_module as i\ni('os')", "uses importlib.import_module"),
        ("__init__.py", "import importlib\nx = importlib.import_module", "uses importlib.import_module"),
        ("__init__.py", "from importlib import reload", "uses importlib.reload"),
        ("attempt.py", "from importlib import import_module", "imports importlib"),
        (
            "parts/__init__.py",
            "from pkgutil import get_data\nx = get_data(__name__, '/etc/x')",
            "uses get_data",
        ),
        ("parts/__init__.py", "import tomllib\nx = tomllib.load", "uses tomllib.load"),
        ("parts/__init__.py", "def f(re): return re.sub", "takes the name re"),
        ("physics/copper.py", "from pkgutil import get_data", "imports pkgutil"),
        ("notation/showing.py", "def str(x): return x", "takes the name str"),
        ("notation/showing.py", "x = '{x}'.format_map({'x': 1})", "reaches for .format_map"),
        ("__main__.py", "import os\nx = os.environ", "uses os.environ"),
        ("__main__.py", "import os\nx = os.open('x', 0)", "uses os.open"),
        ("__main__.py", "import io\nx = io.open", "uses io.open"),
        ("__main__.py", "import sys\nx = sys.modules", "uses sys.modules"),
        ("__main__.py", "import argparse\nx = argparse.FileType", "uses argparse.FileType"),
        ("__main__.py", "import socket", "imports socket"),
        ("attempt.py", "print('x')", "uses print"),
        ("attempt.py", "import sys", "imports sys"),
        ("physics/attempt.py", "import math\nx = math.sin(1)", "uses math.sin"),
        ("wire_gauge/report.py", "import math\nx = math.sin(1)", "uses math.sin"),
    ],
)
def test_a_door_opens_one_way_only(path: str, code: str, words: str) -> None:
    found = find_words(path, code)
    assert any(words in text for text in found), found


@pytest.mark.parametrize(
    ("path", "code"),
    [
        ("__main__.py", "import os, sys, argparse\nprint('x', file=sys.stderr)"),
        ("parts/__init__.py", "import tomllib\nfrom pkgutil import get_data\nx = tomllib.loads('')"),
        ("wire_gauge/picture.py", "import math\nmath.sin(1) ** 2"),
        ("results/drawing.py", "import math\nx = math.cos(1)"),
        ("physics/x.py", "import random\ndraw = random.Random(4711)\nx = draw.getrandbits(3)"),
        ("x.py", "import math\nfrom calculators.parts import read_rows\nx = math.sqrt(2) * math.pi"),
        ("x.py", "import math as m\nx = m.sqrt(2)"),
        ("x.py", "from math import sqrt as root\nx = [root][0](2)"),
        ("x.py", "from calculators.physics.copper import LIMIT, find_area"),
        ("x.py", "from typing import NamedTuple\nclass A(NamedTuple):\n    x: int\ny = A(1).x"),
        ("x.py", "def f(x: 'list[int] | None') -> 'A': return f'{x:>3}'"),
        (
            "x.py",
            "class A:\n    _x = 1\n    def f(self):\n        self.y = self._x\n        return self",
        ),
        ("x.py", "class A:\n    def f(self): return type(self).__name__"),
        ("x.py", "class A(ValueError):\n    def __init__(self): super().__init__('x')"),
        ("x.py", "x = 'a' if [1].count(1) else 'é – „Ω“'"),
        ("x.py", b"x = 1\r\ny = 2\r\n"),
        ("x.py", "# -*- coding: utf-8 -*-\nx = 1"),
        ("x.py", "x = " + "(" * 60 + "1" + ")" * 60),
    ],
)
def test_what_calculators_are_written_in_is_allowed(path: str, code: str | bytes) -> None:
    assert find_words(path, code) == []


def make_seeds() -> Iterator[object]:
    """Everything that the lists give, and one of each kind of thing that can be made from it."""
    yield from (getattr(builtins, name) for name in BUILTINS)
    for module, names in MODULES.items():
        yield from (getattr(importlib.import_module(module), name) for name in names)

    def draw() -> Iterator[int]:
        yield 1

    @dataclasses.dataclass
    class Own:
        number: int = dataclasses.field(default=1)

        @functools.cached_property
        def later(self) -> int:
            return 1

    class Pair(typing.NamedTuple):
        left: int

    yield from (draw, draw(), Own, Own(), Own().later, Own.later, Pair, Pair(1), dataclasses.field())
    yield from ("", b"", 1, 1.0, True, None, (), [1], {1: 2}, {1}, frozenset(), range(3), slice(3), object())
    yield from ({}.keys(), {}.items(), {}.values(), iter([]), iter({}), reversed([]), enumerate([]), zip())
    yield from (
        map(len, []),
        filter(None, []),
        property(len),
        staticmethod(len),
        super(Own),
    )
    yield from (functools.cache(len), functools.partial(len), random.Random(1))
    yield from (re.compile("x"), re.match("x", "x"), re.finditer("x", "x"), types.MappingProxyType({}))
    yield from (decimal.Decimal(1), decimal.Context(), fractions.Fraction(1), collections.Counter("x"))
    yield from (collections.deque(), collections.defaultdict(int), collections.ChainMap(), itertools.count())
    yield from (list[int], int | str, typing.Literal["x"], typing.Final[int], re.Pattern[str])
    for make in (ValueError, KeyError, StopIteration, ZeroDivisionError):
        yield make("x")
    for fail in (lambda: [].nothing, lambda: nothing, lambda: b"\xff".decode()):  # type: ignore[attr-defined, name-defined]  # noqa: F821
        try:
            fail()
        except Exception as error:
            yield error


REFUSED = (eval, exec, compile, open, getattr, setattr, vars, type, __import__)


def test_no_object_within_reach_leads_out() -> None:
    # As if a class had declared every name there is: what the lists name, and what none of Python's own has.
    out = (types.ModuleType, types.FrameType, types.CodeType, types.TracebackType, types.CellType)
    waiting = [(type(seed).__name__, seed) for seed in make_seeds()]
    known: dict[int, object] = {}
    while waiting:
        way, found = waiting.pop()
        if id(found) in known:
            continue
        known[id(found)] = found
        assert not isinstance(found, out), way
        assert not any(found is refused for refused in REFUSED), way
        for name in dir(found):
            # Numbers give new numbers for ever.
            if (
                way.count(".") < 6
                and not name.startswith("_")
                and (name in ATTRIBUTES or name not in PYTHONS_OWN)
            ):
                value = getattr(found, name, None)
                waiting.append((f"{way}.{name}", value))
    assert len(known) > 500


@pytest.mark.parametrize(
    ("path", "content", "words"),
    [
        ("physics/x.pyc", b"", "only modules (.py) and tables (.toml) belong here"),
        ("physics/x.cpython-313-x86_64-linux-gnu.so", b"", "only modules"),
        ("x.pth", b"import os", "only modules"),
        ("x.json", b"{}", "only modules"),
        ("X.py", b"", "only modules"),
        (".py", b"", "only modules"),
        ("a/.hidden/x.py", b"", "only modules"),
        ("__pycache__/x.py", b"", "only modules"),
        ("conftest.py", b"", "none that other programs look for"),
        ("physics/sitecustomize.py", b"", "none that other programs look for"),
        ("x.py", None, "this is a link or no file at all"),
        ("new/x.py", b"", "its folder has no __init__.py"),
        ("physics.py", b"", "a folder beside it has the same name"),
        ("x.py", b"x = '\xff'", "this is not UTF-8"),
        ("parts/x.toml", "a = '\u202e'".encode(), "here is the invisible sign U+202E"),
        ("x.py", b"# coding: utf-7\nx = '+AC8-'", "the encoding “utf-7” is declared"),
        ("x.py", b"\n# vim: set fileencoding=latin-1 :\nx = 1", "the encoding “iso-8859-1” is declared"),
        ("x.py", b"# coding: no-such\nx = 1", "the encoding “unknown” is declared"),
    ],
)
def test_a_file_that_does_not_belong_there_is_refused(path: str, content: bytes | None, words: str) -> None:
    found = find_problems({**HOUSE, path: content})
    assert len(found) == 1
    assert (found[0].file, words in found[0].text) == (f"calculators/{path}", True), found


@pytest.mark.parametrize("path", [".x.py.swp", "physics/.x.py.swo", ".#x.py", "x.py~"])
def test_what_an_editor_lays_there_meanwhile_is_left_alone(path: str) -> None:
    assert find_problems({**HOUSE, path: b"import os"}) == []
    assert find_problems({**HOUSE, path: None}) == []


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """This handbook's own checkout, copied, with what is prepared for it."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=True,
        encoding="utf-8",
    )
    copy = tmp_path / "checkout"
    for name in listed.stdout.split("\0"):
        if (ROOT / name).is_file():
            (copy / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / name, copy / name)
    (copy / ".cache").mkdir()
    for prepared in (ROOT / ".cache").iterdir():
        if prepared.name.startswith(
            ("env-", "npm-", "uv-", "node", "programs", "downloads", "runtime-parts")
        ):
            (copy / ".cache" / prepared.name).symlink_to(prepared)
    return copy


def run_handbook(checkout: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "build_scripts/handbook.py", *arguments],
        cwd=checkout,
        env={name: value for name, value in os.environ.items() if not name.startswith("PYTHON")},
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


LEAVE_A_MARK = "open({!r}, 'w').close()\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ("build", "--site", ".cache/site"),
        ("preview", "--port", "8937"),
        ("test",),
        ("test", "--", "tests/calculators/test_decibel.py"),
        ("pack", "--out", ".cache/packed"),
        ("measure", "--quick"),
        ("picture",),
        ("compute", "wire-gauge"),
    ],
    ids=" ".join,
)
def test_nothing_of_a_strangers_code_is_run_by_any_verb(checkout: Path, arguments: tuple[str, ...]) -> None:
    mark = checkout / "mark"
    registry = checkout / "calculators" / "__init__.py"
    registry.write_text(registry.read_text("utf-8") + LEAVE_A_MARK.format(str(mark)), "utf-8")
    lines = registry.read_text("utf-8").count("\n")
    result = run_handbook(checkout, *arguments)
    assert result.returncode == 1
    assert f"calculators/__init__.py:{lines}: uses open, which this file does not define; " in result.stderr
    assert "Nothing in calculators/ was run." in result.stderr
    assert "Traceback" not in result.stderr
    assert not mark.exists()


def test_each_rebuild_of_the_preview_is_checked_before_it_runs_anything(checkout: Path) -> None:
    mark, module = checkout / "mark", checkout / "calculators" / "numbers" / "decibel.py"
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = str(free.getsockname()[1])
    command = [sys.executable, "build_scripts/handbook.py", "preview", "--port", port]
    with subprocess.Popen(
        command, cwd=checkout, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8"
    ) as preview:
        assert preview.stdout is not None
        try:
            told = "".join(iter_until(preview.stdout, "The handbook is at"))
            module.write_text(module.read_text("utf-8") + LEAVE_A_MARK.format(str(mark)), "utf-8")
            told = "".join(iter_until(preview.stdout, "Not built"))
        finally:
            preview.send_signal(signal.SIGINT)
    assert "uses open, which this file does not define" in told
    assert not mark.exists()


def iter_until(lines: Iterable[str], words: str) -> Iterator[str]:
    for line in lines:
        yield line
        if words in line:
            return


def test_a_compiled_file_beside_its_source_is_never_run(checkout: Path, tmp_path: Path) -> None:
    # Marked as not to be checked against the source, it would be run in its place.
    mark, planted = checkout / "mark", tmp_path / "planted.py"
    planted.write_text(LEAVE_A_MARK.format(str(mark)), "utf-8")
    for folder, module in (
        ("calculators", "__init__"),
        ("build_scripts", "errors"),
        ("build_scripts/environment", "places"),
    ):
        tag = sys.implementation.cache_tag
        target = checkout / folder / "__pycache__" / f"{module}.{tag}.pyc"
        mode = py_compile.PycInvalidationMode.UNCHECKED_HASH
        py_compile.compile(str(planted), str(target), doraise=True, invalidation_mode=mode)
    result = run_handbook(checkout, "compute", "wire-gauge")
    assert result.returncode == 0, result.stderr
    assert not mark.exists()


def test_what_has_passed_is_remembered_until_one_byte_changes(tmp_path: Path) -> None:
    house, cache = tmp_path / "calculators", tmp_path / "cache"
    (house / "__pycache__").mkdir(parents=True)
    cache.mkdir()
    module = house / "__init__.py"
    module.write_text("x = 1\n", "utf-8")
    check_calculators(str(house), str(cache))
    passed = (cache / PASSED).read_text("ascii")
    before = module.stat()
    module.write_text("x = y\n", "utf-8")
    # Size and date tell nothing.
    os.utime(module, ns=(before.st_atime_ns, before.st_mtime_ns))
    with pytest.raises(BuildError, match=re.escape("calculators/__init__.py:1: uses y")):
        check_calculators(str(house), str(cache))
    assert (cache / PASSED).read_text("ascii") == passed
    (house / "link.py").symlink_to(module)
    module.write_text("x = 1\n", "utf-8")
    with pytest.raises(BuildError, match=re.escape("calculators/link.py:1: this is a link")):
        check_calculators(str(house), str(cache))


def test_the_gate_knows_nothing_of_the_calculators_and_costs_compute_little() -> None:
    code = (
        "import sys, time\n"
        "from build_scripts.house_rules.gate import check_calculators\n"
        "check_calculators('calculators', '.cache')\n"
        "taken = []\n"
        "for _ in range(20):\n"
        "    started = time.perf_counter()\n"
        "    check_calculators('calculators', '.cache')\n"
        "    taken.append(time.perf_counter() - started)\n"
        "print(min(taken), any(name.startswith('calculators') for name in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    seconds, imported = done.stdout.split()
    assert imported == "False"
    assert float(seconds) < 0.02
