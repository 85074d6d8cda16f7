"""Run cases.json on CPython.  The same file runs on the shipped WebAssembly in test_wasm.py.

A case: name, module and function of webapp/core, args, expect, tolerance (relative, for floats), kind and
source.  `expect` is the value; of a dict only the keys named; {"error": code} for a CoreError.
kind: "published" printed by the source · "regression" recomputed or produced by this code · "invented".
"""

import importlib
import json
import math
from pathlib import Path

import pytest

from webapp.core.errors import CoreError

CASES = json.loads((Path(__file__).parent / "cases.json").read_text(encoding="utf-8"))


def agrees(found, expected, tolerance):
    """Tell whether a result is what a case expects."""
    if isinstance(expected, bool) or expected is None or isinstance(expected, str):
        return found == expected and type(found) is type(expected)
    if isinstance(expected, (int, float)):
        return isinstance(found, (int, float)) and not isinstance(found, bool) and math.isclose(found, expected, rel_tol=tolerance, abs_tol=0.0)
    if isinstance(expected, dict):
        return all(key in found and agrees(found[key], expected[key], tolerance) for key in expected)
    return len(found) == len(expected) and all(agrees(f, e, tolerance) for f, e in zip(found, expected))


def run(case):
    """Return the result of a case, {"error": code} for a CoreError."""
    module = importlib.import_module("webapp.core." + case["module"])
    try:
        return getattr(module, case["function"])(*case["args"])
    except CoreError as error:
        return {"error": error.code}


@pytest.mark.parametrize("case", CASES, ids=[c["name"] for c in CASES])
def test_case(case):
    found = run(case)
    assert agrees(found, case["expect"], case["tolerance"]), found


def test_cases_are_well_formed():
    names = [c["name"] for c in CASES]
    assert len(set(names)) == len(names)
    for case in CASES:
        assert sorted(case) == ["args", "expect", "function", "kind", "module", "name", "source", "tolerance"]
        assert case["kind"] in ("published", "regression", "invented") and case["source"]


@pytest.mark.parametrize("found, expected, tolerance", [
    (1.01, 1.0, 1e-3), ("1", 1, 0), (True, 1, 0), ([1], [1, 2], 0), ({"a": 1}, {"b": 1}, 0), (None, False, 0)])
def test_the_comparison_refuses(found, expected, tolerance):
    assert not agrees(found, expected, tolerance)
