"""The lists: modules and what of each, names, attributes and syntax that a calculator is written in.

What is in none of them is refused. Before something is added: can it read a file, run a text as code, or give
back a module, a frame or the attribute of a name that is put together? Then it does not belong here.
"""

import ast
from collections.abc import Mapping
from dataclasses import dataclass, field


def _split(names: str) -> frozenset[str]:
    return frozenset(names.split())


# From the 53 bits of a float these give the same 53 bits on every machine; the rest of `math` does not.
EXACT_MATH = _split(
    "ceil comb copysign e fabs factorial floor fmod frexp fsum gcd inf "
    "isclose isfinite isinf isnan isqrt lcm "
    "ldexp modf nan nextafter perm pi prod remainder sqrt tau trunc ulp"
)
# A picture shows no digits.
DRAWING_MATH = EXACT_MATH | _split(
    "acos asin atan atan2 cbrt cos degrees dist exp hypot log log10 log2 pow radians sin tan"
)

MODULES: Mapping[str, frozenset[str]] = {
    module: _split(names)
    for module, names in {
        "__future__": "annotations",
        "bisect": "bisect bisect_left bisect_right insort insort_left insort_right",
        "collections": "ChainMap Counter OrderedDict defaultdict deque",
        "collections.abc": "Callable Collection Container Generator Hashable Iterable Iterator Mapping "
        "MutableMapping MutableSequence MutableSet Reversible Sequence Set Sized",
        "dataclasses": "dataclass field fields replace",
        "decimal": "Context Decimal ROUND_CEILING ROUND_DOWN ROUND_FLOOR ROUND_HALF_DOWN ROUND_HALF_EVEN "
        "ROUND_HALF_UP ROUND_UP",
        "difflib": "get_close_matches",
        "fractions": "Fraction",
        "functools": "cache cached_property cmp_to_key lru_cache partial reduce",
        "heapq": "heapify heappop heappush heappushpop heapreplace merge nlargest nsmallest",
        "html": "escape unescape",
        "itertools": "accumulate batched chain combinations combinations_with_replacement compress "
        "count cycle "
        "dropwhile filterfalse groupby islice pairwise permutations product repeat starmap takewhile tee "
        "zip_longest",
        "json": "dumps loads",
        "operator": "add eq ge gt itemgetter le lt mul ne neg sub truediv",
        # Only `random.Random(4711)`, as the rules have it: with a seed it draws the same on every machine.
        "random": "",
        "re": "ASCII DOTALL IGNORECASE MULTILINE Match Pattern VERBOSE compile "
        "escape findall finditer fullmatch "
        "match search split sub",
        "string": "ascii_letters ascii_lowercase ascii_uppercase digits hexdigits punctuation",
        "textwrap": "dedent fill indent shorten wrap",
        "types": "MappingProxyType",
        "typing": "Any ClassVar Final Literal NamedTuple Never Self TYPE_CHECKING "
        "assert_never cast get_args "
        "overload override",
        "unicodedata": "category combining normalize name",
        "urllib.parse": "quote urlencode",
    }.items()
} | {"math": EXACT_MATH}

BASES = frozenset({("typing", "NamedTuple")})
"""What stands at the head of a class only: called, it makes one from texts."""

BUILTINS = _split(
    "ArithmeticError AssertionError Ellipsis Exception False IndexError KeyError LookupError None "
    "NotImplemented NotImplementedError OverflowError StopIteration True TypeError ValueError "
    "ZeroDivisionError abs all any ascii bin bool bytes callable chr "
    "classmethod dict divmod enumerate filter "
    "float frozenset int isinstance issubclass iter len list map max min next object ord property range "
    "repr reversed round set slice sorted staticmethod str sum super tuple zip"
)
ATTRIBUTES = _split(
    # texts
    "capitalize casefold count decode encode endswith expandtabs find index "
    "isalnum isalpha isascii isdecimal "
    "isdigit isidentifier islower isnumeric isprintable isspace istitle isupper join "
    "ljust lower lstrip maketrans "
    "partition removeprefix removesuffix replace rfind rindex rjust rpartition "
    "rsplit rstrip split splitlines "
    "startswith strip swapcase title translate upper zfill center "
    # numbers
    "as_integer_ratio bit_count bit_length conjugate denominator fromhex hex imag "
    "is_integer numerator real "
    "as_tuple compare copy_abs copy_negate copy_sign is_finite is_infinite is_nan "
    "is_signed is_zero limit_denominator "
    "normalize quantize remainder_near scaleb to_integral_value sqrt create_decimal plus prec rounding "
    # collections
    "add append appendleft clear copy difference difference_update discard elements extend extendleft "
    "fromkeys get insert intersection intersection_update isdisjoint issubset issuperset "
    "items keys most_common "
    "move_to_end pop popitem popleft remove reverse rotate setdefault "
    "sort subtract symmetric_difference total "
    "union update values maxlen "
    # patterns and what they find
    "end expand findall finditer flags fullmatch group groupdict groups lastgroup match pattern "
    "search span start string sub subn "
    # what a generator with a seed draws
    "choice getrandbits randint random randrange sample seed shuffle "
    # what fields of calculators and of Python's own objects have in common, harmless in both
    "code default errors exp kind label ln log10 name offset path power re read "
    "reason stop step text type value "
    "write"
)
DUNDER_ATTRIBUTES = frozenset({"__getitem__", "__value__"})
DUNDER_METHODS = _split(
    "__add__ __bool__ __contains__ __getitem__ __init__ __iter__ __len__ __lt__ "
    "__missing__ __mul__ __neg__ "
    "__post_init__ __sub__ __truediv__"
)
EXPRESSIONS = frozenset({"type(self).__name__", "super().__init__"})
"""What is allowed only as it stands here, word for word."""


@dataclass(frozen=True)
class Place:
    """What one file may have beyond the common lists."""

    modules: Mapping[str, frozenset[str]] = field(default_factory=dict)
    doors: frozenset[str] = frozenset()
    """What of the modules stands only in one of the expressions, and bears no other name."""

    expressions: frozenset[str] = frozenset()
    """What is allowed only as it stands here, word for word."""

    builtins: frozenset[str] = frozenset()
    attributes: frozenset[str] = frozenset()
    powers: bool = False
    """Whether `**` and the inexact functions of `math` may be used."""


COMMON = Place()
DRAWING = Place(modules={"math": DRAWING_MATH}, powers=True)
PLACES: Mapping[str, Place] = {
    "results/drawing.py": DRAWING,
    # The registry imports its own calculators, and of each takes the one name.
    "__init__.py": Place(
        modules={"importlib": frozenset({"import_module"})},
        doors=frozenset({"import_module"}),
        expressions=frozenset(
            {
                "import_module(f\"calculators.{slug.replace('-', '_')}.calculator\").CALCULATOR",
                "import_module(f\"calculators.club.{slug.replace('-', '_')}.calculator\").CALCULATOR",
            }
        ),
    ),
    # Tables are read from beside this file and from the club's folder: a name with a slash in it leads
    # nowhere else.
    "parts/__init__.py": Place(
        modules={"pkgutil": frozenset({"get_data"}), "tomllib": frozenset({"loads"})},
        doors=frozenset({"get_data"}),
        builtins=frozenset({"OSError"}),
        expressions=frozenset(
            {
                "get_data(__name__, re.sub(r'\\W', '', name) + '.toml')",
                "get_data('calculators.club', re.sub(r'\\W', '', name) + '.toml')",
            }
        ),
    ),
    # It finds what has a name without underscores, and what it shows of that is words and numbers only.
    "results/case.py": Place(expressions=frozenset({"getattr(record, name)"})),
    "forms/rows.py": Place(expressions=frozenset({"getattr(record, item.name)"})),
    "forms/fields.py": Place(attributes=frozenset({"metadata"})),
    # Filled with plain texts, a template shows nothing but them.
    "notation/showing.py": Place(
        expressions=frozenset(
            {
                "self.template.format_map({name: str(part.write(system) if isinstance(part, "
                "(Figure, Phrase)) "
                "else part) for name, part in self.parts})"
            }
        )
    ),
    "__main__.py": Place(
        modules={
            "argparse": frozenset(),
            "io": frozenset(),
            "os": frozenset(),
            "pathlib": frozenset({"Path"}),
            "sys": frozenset({"argv", "exit", "stderr", "stdout"}),
        },
        doors=frozenset({"Path"}),
        builtins=frozenset({"BrokenPipeError", "OSError", "UnicodeDecodeError", "print"}),
        attributes=frozenset({"add_argument", "fields", "flush", "help", "imperial", "json", "slug"})
        | {"parse_known_intermixed_args", "strerror"},
        expressions=frozenset(
            {
                "os.environ.get('HANDBOOK_COMMAND', 'python -m calculators')",
                "argparse.ArgumentParser(prog=command, add_help=False, allow_abbrev=False)",
                "isinstance(stream, io.TextIOWrapper)",
                # Rows that somebody at the terminal names: a text comes of it, and nothing else.
                "isinstance(sys.stdin, io.TextIOWrapper)",
                "sys.stdin.reconfigure(encoding='utf-8', errors='strict')",
                "sys.stdin.read()",
                "Path(text[1:]).read_text(encoding='utf-8')",
                "stream.reconfigure(encoding='utf-8', errors='backslashreplace')",
                "os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())",
            }
        ),
    ),
}


def find_place(path: str) -> Place:
    """Return what the file at `path`, from calculators/, may have beyond the common lists."""
    return PLACES.get(path) or (DRAWING if path.endswith("/picture.py") else COMMON)


SYNTAX: tuple[type[ast.AST], ...] = (
    *(ast.Module, ast.FunctionDef, ast.ClassDef, ast.Lambda, ast.arguments, ast.arg, ast.Return),
    *(
        ast.Import,
        ast.ImportFrom,
        ast.alias,
        ast.Assign,
        ast.AnnAssign,
        ast.AugAssign,
        ast.TypeAlias,
        ast.TypeVar,
    ),
    *(ast.For, ast.While, ast.If, ast.Break, ast.Continue, ast.Pass, ast.Raise, ast.Try, ast.ExceptHandler),
    *(ast.Nonlocal, ast.Expr, ast.NamedExpr, ast.IfExp, ast.BoolOp, ast.BinOp, ast.UnaryOp, ast.Compare),
    *(ast.Call, ast.keyword, ast.Attribute, ast.Subscript, ast.Slice, ast.Starred, ast.Name, ast.Constant),
    *(ast.JoinedStr, ast.FormattedValue, ast.List, ast.Tuple, ast.Dict, ast.Set, ast.Yield, ast.YieldFrom),
    *(ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp, ast.comprehension),
    *(
        ast.Match,
        ast.match_case,
        ast.pattern,
        ast.operator,
        ast.unaryop,
        ast.boolop,
        ast.cmpop,
        ast.expr_context,
    ),
)
SPELLED: Mapping[type[ast.AST], str] = {
    ast.Assert: "assert",
    ast.AsyncFor: "async for",
    ast.AsyncFunctionDef: "async def",
    ast.AsyncWith: "async with",
    ast.Await: "await",
    ast.Delete: "del",
    ast.Global: "global",
    ast.TryStar: "except*",
    ast.With: "with",
}
"""How what is not in SYNTAX is written."""
