"""A docstring in the core is a contract: its parameters are the signature's, numbers carry a unit."""

import ast
import re
from pathlib import Path

import pytest

CORE = Path(__file__).parents[2] / "webapp" / "core"
# Modules of formulas and readers, held to the whole form.  Screens answer a request and need a sentence only.
FORMULAS = ["numbers", "units", "vin", "belts", "span", "spread", "reading", "geometry", "roots", "layout", "drive_data", "drive_form",
            "drive", "drive_spread", "drawing", "tensioner", "loads", "vibration", "stepper", "expect", "phototaps", "findings", "cause_table", "companions",
            "spectrum", "releases", "lines", "partials", "envelope", "features", "layers", "network",
            "survey", "pluck"]
SECTION = re.compile(r"^(Parameters|Returns|Raises|Valid|Source|Sources|Example):", re.M)


def _functions(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [n for n in tree.body if isinstance(n, ast.FunctionDef) and not n.name.startswith("_")]


def _all():
    return [(str(p.relative_to(CORE)), f) for p in sorted(CORE.rglob("*.py")) for f in _functions(p)]


def _sections(function):
    """Return {section name: its text} of a docstring."""
    text = ast.get_docstring(function) or ""
    marks = list(SECTION.finditer(text))
    ends = [m.start() for m in marks[1:]] + [len(text)]
    return {m.group(1): " ".join(text[m.end():end].split()) for m, end in zip(marks, ends)}


def _documented(text):
    """Return [[name, item], ...] of a Parameters section: items are parted by a middle dot."""
    out = []
    for item in text.split(" · "):
        names = item.split(":")[0]
        out += [[name.strip(), item] for name in names.split(",")]
    return out


def _names(function):
    return [a.arg for a in function.args.args + function.args.kwonlyargs]


EVERY = _all()
CONTRACT = [(name, f) for name, f in EVERY if name[:-3] in FORMULAS]


def test_public_functions_say_what_they_do():
    for name, function in EVERY:
        where = name + ":" + function.name
        assert ast.get_docstring(function), where + " has no docstring"
        parameters = _sections(function).get("Parameters")
        if parameters is not None:
            documented = sorted(n for n, _ in _documented(parameters))
            if name.startswith("screens"):
                # Every screen takes a request and what was given; its docstring speaks of what is special.
                assert set(documented) <= set(_names(function)), where
            else:
                assert documented == sorted(_names(function)), where


def test_formulas_keep_the_whole_form():
    assert {name[:-3] for name, _f in CONTRACT} == set(FORMULAS)
    for name, function in CONTRACT:
        _keeps_the_whole_form(name + ":" + function.name, function)


def _keeps_the_whole_form(where, function):
    sections = _sections(function)
    short = len((ast.get_docstring(function) or "").splitlines()) == 1
    if short:
        # One line is enough for a look-up that takes plain text and raises nothing.
        assert all(ast.unparse(a.annotation) == "str" for a in function.args.args), where
        return
    assert "Returns" in sections or ast.unparse(function.returns) == "None", where
    assert "Raises" in sections or "Valid" in sections or "Source" in sections, where
    if function.args.args:
        assert "Parameters" in sections, where
        items = dict(_documented(sections["Parameters"]))
        for argument in function.args.args:
            if ast.unparse(argument.annotation) in ("float", "int") and argument.arg not in ("places", "digits"):
                assert re.search(r"\[[^\]]+\]", items[argument.arg]), where + ": " + argument.arg + " has no unit"


@pytest.mark.parametrize("module", ["vin", "belts", "span", "spread", "reading", "geometry", "roots", "layout", "drive", "tensioner",
                                    "loads", "vibration", "stepper", "expect", "phototaps", "photofit", "ribcount"])
def test_each_formula_module_names_its_sources(module):
    for function in _functions(CORE / (module + ".py")):
        text = ast.get_docstring(function)
        computes = any(isinstance(n, ast.BinOp) for n in ast.walk(function)) and "float" in ast.unparse(function.args)
        if computes:
            assert "Source:" in text, function.name + " names no source"


def test_the_reader_of_docstrings_reads():
    tree = ast.parse('def f(a: float, b: str):\n    """X.\n\n    Parameters:  a: length [m] · b: word\n    Returns:     y\n    """')
    assert _documented(_sections(tree.body[0])["Parameters"]) == [["a", "a: length [m]"], ["b", "b: word"]]
