"""What of the interpreter's exports stays."""

import pytest

from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.exports import find_used_exports

TAKEN = 'var _a=Module["_a"]=wasmExports["a"];var _b=Module["_b"]=wasmExports["b"];'
ENTRY = {"main", "__main_argc_argv"}


@pytest.mark.parametrize(
    ("use", "used"),
    [
        ("", set()),
        ("_b(1)", {"b"}),
        ('Module["_a"]()', {"a"}),
        ("Module._a()", {"a"}),
        ('wasmExports["c"]()', {"c"}),
        ("start(wasmExports.d)", {"d"}),
        ("$_b(1);_bc(2)", set()),
    ],
)
def test_used_is_what_stands_anywhere_but_where_all_are_taken(use: str, used: set[str]) -> None:
    assert set(find_used_exports(TAKEN + use, "")) == used | ENTRY


@pytest.mark.parametrize(
    ("own", "used"), [("exports.b(1)", {"b"}), ("module._a", {"a"}), ("c; bc; _bc", set())]
)
def test_what_our_own_scripts_name_is_used_if_it_is_an_export(own: str, used: set[str]) -> None:
    assert set(find_used_exports(TAKEN, own)) == used | ENTRY


def test_scripts_of_another_shape_are_refused() -> None:
    with pytest.raises(RuntimeBuildError, match="no longer take the interpreter's exports one by one"):
        find_used_exports('const {a, b} = wasmExports;a("b")', "")
