"""The shared core keeps to what CPython and MicroPython 1.27 both have.

Source of the list: differences seen by running both interpreters; the ledger is in DEVELOPERS.md.
"""

import ast
from pathlib import Path

import pytest

CORE = Path(__file__).parents[2] / "webapp" / "core"
FILES = sorted(CORE.rglob("*.py"))

METHODS = {"title", "ljust", "rjust", "zfill", "removeprefix", "removesuffix", "isalnum", "casefold", "expandtabs",
           "swapcase", "translate", "maketrans", "format_map", "fromkeys", "isidentifier", "isprintable"}
CALLS = {"sum", "round", "format", "eval", "exec", "open", "input", "print", "vars", "globals", "locals"}
MATH = {"acos", "asin", "atan", "atan2", "ceil", "cos", "cosh", "degrees", "e", "erf", "erfc", "exp", "expm1", "fabs",
        "floor", "fmod", "inf", "isfinite", "isinf", "isnan", "log", "log10", "log2", "modf", "nan", "pi", "pow",
        "radians", "sin", "sinh", "sqrt", "tan", "tanh", "trunc"}
FLOAT_FORMATS = ("f", "e", "g", "F", "E", "G")


def _percent_floats(text):
    """Tell whether a % template rounds a float."""
    rest = text.replace("%%", "")
    for part in rest.split("%")[1:]:
        kind = part.lstrip("+-# 0123456789.")[:1]
        if kind in FLOAT_FORMATS and kind:
            return True
    return False


def _is_ascii(node):
    return isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.isascii()


def _calls(node, inside):
    func = node.func
    if isinstance(func, ast.Name):
        if func.id in CALLS:
            yield func.id + "()"
        if func.id == "isinstance" and "int" in ast.dump(node.args[1]) and "'bool'" not in inside:
            yield "isinstance of int without a test for bool"
    if isinstance(func, ast.Attribute):
        if func.attr in METHODS:
            yield "." + func.attr
        if func.attr == "__init__" and not isinstance(func.value, ast.Call):
            yield "Class.__init__"
        if func.attr in ("strip", "lstrip", "rstrip") and node.args and not _is_ascii(node.args[0]):
            yield "strip of wide characters"
        if func.attr == "format":
            yield ".format()"


def _imports(node):
    if isinstance(node, ast.Import):
        for name in node.names:
            if name.name not in ("math", "json"):
                yield "import " + name.name
    if isinstance(node, ast.ImportFrom) and node.level == 0:
        yield "import " + str(node.module)


def _shapes(node):
    if isinstance(node, (ast.Match, ast.AsyncFunctionDef, ast.Await, ast.AsyncFor, ast.AsyncWith, ast.TryStar)):
        yield type(node).__name__
    if isinstance(node, ast.arguments) and node.posonlyargs:
        yield "positional-only /"
    if isinstance(node, (ast.List, ast.Tuple, ast.Set)) and isinstance(node.ctx if hasattr(node, "ctx") else ast.Load(), ast.Load):
        if any(isinstance(x, ast.Starred) for x in node.elts):
            yield "[*a]"
    if isinstance(node, ast.Dict) and None in node.keys:
        yield "{**a}"
    if isinstance(node, ast.JoinedStr):
        yield "f-string"
    if isinstance(node, ast.Slice) and node.step is not None:
        yield "slice with a step"
    if isinstance(node, ast.ClassDef) and len(node.bases) > 1:
        yield "two base classes"
    if isinstance(node, ast.Raise) and node.cause is not None:
        yield "raise from"
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "math" and node.attr not in MATH:
        yield "math." + node.attr
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod) and isinstance(node.left, ast.Constant):
        if isinstance(node.left.value, str) and _percent_floats(node.left.value):
            yield "% format of a float"


def offences(source):
    """List what in a source text MicroPython lacks or does differently."""
    tree = ast.parse(source)
    found = []
    functions = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
    for node in ast.walk(tree):
        found += [*_imports(node), *_shapes(node)]
        if isinstance(node, ast.Call):
            around = [f for f in functions if f.lineno <= node.lineno <= f.end_lineno]
            found += _calls(node, ast.dump(around[-1]) if around else "")
    return found


@pytest.mark.parametrize("path", FILES, ids=[str(p.relative_to(CORE)) for p in FILES])
def test_core_keeps_to_the_dialect(path):
    assert offences(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("source", [
    "import re", "from typing import Any", "from webapp.core import span", "match x:\n case 1: pass", "def f(a, /): pass",
    "x = [*a, 1]", "x = (*a, 1)", "x = {**a}", "x = 'a'.zfill(3)", "x = sum(a)", "x = round(a)", "x = '%.2f' % a",
    "x = '%5.1e' % a", "x = f'{a}'", "x = '{}'.format(a)", "x = a[::-1]", "import math\nx = math.hypot(a, b)",
    "class A(B, C): pass", "raise A from b", "def f(x):\n return isinstance(x, int)", "async def f(): pass",
    "x = a.strip('\u00a0')", "ValueError.__init__(self, a)", "print(1)",
])
def test_the_check_catches(source):
    assert offences(source) != []


@pytest.mark.parametrize("source", [
    "import json, math\nfrom . import span\nfrom .errors import CoreError", "x = '%04x' % a", "x = '%d %%' % a",
    "def f(x: float | None = None) -> dict:\n return isinstance(x, int) and not isinstance(x, bool)",
    "first, *rest = a", "x = a[1:3]", "super().__init__(a)",
])
def test_the_check_lets_pass(source):
    assert offences(source) == []


def test_the_core_is_found():
    assert {"events.py", "span.py", "reading.py"} <= {p.name for p in FILES}
