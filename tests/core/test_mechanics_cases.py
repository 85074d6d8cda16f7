"""The mechanics' cases on CPython and on the shipped WebAssembly; the form is that of cases.json."""

import json
from pathlib import Path

import pytest
from test_cases import agrees, run
from test_wasm import first_difference, same
from wasm import on_wasm

CASES = json.loads((Path(__file__).parent / "mechanics_cases.json").read_text(encoding="utf-8"))
NAMES = [case["name"] for case in CASES]


def _parameter(case):
    marks = [pytest.mark.outside(case["source"])] if case["kind"] == "published" else []
    return pytest.param(case, id=case["name"], marks=marks)


@pytest.fixture(scope="module")
def on_phone():
    return on_wasm(cases=CASES)["cases"]


@pytest.mark.parametrize("case", [_parameter(case) for case in CASES])
def test_case(case):
    found = run(case)
    assert agrees(json.loads(json.dumps(found)), case["expect"], case["tolerance"]), found


@pytest.mark.parametrize("index", range(len(CASES)), ids=NAMES)
def test_the_phone_gives_the_same(on_phone, index):
    here = json.loads(json.dumps(run(CASES[index])))
    assert "value" in on_phone[index], on_phone[index]
    there = on_phone[index]["value"]
    assert same(here, there), first_difference(here, there)


def test_cases_are_well_formed():
    assert len(set(NAMES)) == len(NAMES)
    for case in CASES:
        assert sorted(case) == ["args", "expect", "function", "kind", "module", "name", "source", "tolerance"]
        assert case["kind"] in ("published", "regression", "invented") and case["source"]
