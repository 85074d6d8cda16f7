"""The core on the shipped WebAssembly: the same cases, the same screens, the same bytes as on CPython."""

import copy
import hashlib
import json
import math
import re
import subprocess
import sys

import contexts
import pytest
from test_cases import CASES, agrees
from test_cases import run as on_cpython
from wasm import BUNDLE, END_OF_LIST, LISTED, ROOT, on_wasm

from webapp import build
from webapp.core import door, events, routes

# The two maths libraries differ in the last bit of some functions.
SAME = 1e-12

EVENT = {"v": 1, "id": "0b8f7a1c-4a2d-4a57-9d52-2f6f2f9d7c11", "job": "7d9c1f4e-22aa-4b0e-8d3b-5a6f0c1e2d3f", "loop": "1",
         "kind": "span_read", "who": "p-1", "device": "d-1", "n": 12, "at": "2026-03-09T08:05:00Z", "replaces": None,
         "data": {"z": "last", "a": [True, None, -5, "tab\t"], "m": {"value": "412.5", "unit": "mm"},
                  "text": "quote \" back \\ Ä € 漢 😀"}}
# Made by hand from the rules in the docstring of `events.canonical`; JSON's own escapes (RFC 8259, section 7).
CANONICAL = (
    '{"v":1,"id":"0b8f7a1c-4a2d-4a57-9d52-2f6f2f9d7c11","job":"7d9c1f4e-22aa-4b0e-8d3b-5a6f0c1e2d3f","loop":"1",'
    '"kind":"span_read","data":{"a":[true,null,-5,"tab\\u0009"],"m":{"unit":"mm","value":"412.5"},'
    '"text":"quote \\" back \\\\ \\u00c4 \\u20ac \\u6f22 \\ud83d\\ude00","z":"last"},"who":"p-1","device":"d-1",'
    '"n":12,"at":"2026-03-09T08:05:00Z","replaces":null}')
# A regression value: `sha256sum` of that text. A change means that old records no longer verify.
VECTOR = "f16c3b75a47b371216593d358dca0ac061521fdc979f951b9ec1ea17064067f5"


@pytest.fixture(scope="module")
def asked(demo_workshop):
    return contexts.requests(demo_workshop)


@pytest.fixture(scope="module")
def expected(asked):
    """[(request, given, CPython's answer), ...] of every row of the table, one of those answers that have the same shape."""
    found, seen = [], set()
    for request, given in asked:
        answer = json.loads(json.dumps(door.handle(*copy.deepcopy((request, given)))))
        kind = (routes.match(request["method"], request["path"])[0][:2], shape(answer))
        if kind not in seen:
            seen.add(kind)
            found.append((request, given, answer))
    return found


def shape(value):
    """What an answer is built of: names, kinds, flags, what is empty, the kinds of rows in a list; not its words and numbers."""
    if isinstance(value, dict):
        return tuple((key, shape(value[key])) for key in sorted(value))
    if isinstance(value, list):
        return frozenset(map(shape, value))
    return bool(value) if isinstance(value, str) else value if isinstance(value, bool) else type(value)


@pytest.fixture(scope="module")
def answers(expected):
    calls = [("canonical", EVENT)] + [("handle", request, given) for request, given, _answer in expected]
    return on_wasm(cases=CASES, calls=calls)


@pytest.mark.parametrize("index", range(len(CASES)), ids=[case["name"] for case in CASES])
def test_case(answers, index):
    answer = answers["cases"][index]
    assert "value" in answer, answer
    assert agrees(answer["value"], CASES[index]["expect"], CASES[index]["tolerance"]), answer["value"]


@pytest.mark.parametrize("index", range(len(CASES)), ids=[case["name"] for case in CASES])
def test_both_interpreters_give_the_same(answers, index):
    assert same(on_cpython(CASES[index]), answers["cases"][index]["value"])


def test_an_event_has_the_same_bytes_on_both(answers):
    assert events.canonical(EVENT) == CANONICAL
    assert answers["calls"][0] == {"value": CANONICAL}
    assert hashlib.sha256(CANONICAL.encode("ascii")).hexdigest() == VECTOR


def test_every_screen_answers_the_same_on_both(expected, answers):
    differ = []
    for (request, _given, here), answer in zip(expected, answers["calls"][1:], strict=True):
        if answer != {"value": here} and not same(here, answer.get("value")):
            differ.append((request["method"], request["path"], answer.get("error") or first_difference(here, answer["value"])))
    assert not differ


def test_answers_of_one_shape_differ_in_words_only():
    page = {"do": "page", "rows": [{"name": "a", "is_done": True}, {"name": "b", "is_done": True}], "status": 200}
    assert shape(page) == shape({"do": "page", "rows": [{"name": "c", "is_done": True}], "status": 422})
    for other in ({"rows": []}, {"rows": [{"name": "a", "is_done": False}]}, {"rows": [{"name": "", "is_done": True}]}, {"status": None}, {"more": "x"}):
        assert shape({**page, **other}) != shape(page)


def same(expected, found):
    """Tell whether two results are equal, floats to the last bits."""
    if isinstance(expected, dict):
        return isinstance(found, dict) and sorted(expected) == sorted(found) and all(same(expected[k], found[k]) for k in expected)
    if isinstance(expected, (list, tuple)):
        return isinstance(found, list) and len(expected) == len(found) and all(map(same, expected, found))
    if isinstance(expected, bool) or not isinstance(expected, (int, float)):
        return expected == found
    return not isinstance(found, bool) and isinstance(found, (int, float)) and math.isclose(expected, found, rel_tol=SAME, abs_tol=SAME)


def first_difference(expected, found, where=""):
    if isinstance(expected, dict) and isinstance(found, dict):
        for key in sorted(set(expected) | set(found)):
            if not same(expected.get(key), found.get(key)):
                return first_difference(expected.get(key), found.get(key), f"{where}.{key}")
    if isinstance(expected, list) and isinstance(found, list) and len(expected) == len(found):
        for i, (one, other) in enumerate(zip(expected, found)):
            if not same(one, other):
                return first_difference(one, other, f"{where}[{i}]")
    return f"{where}: {expected!r} here, {found!r} on the phone"


def test_vendored_files_are_as_listed():
    done = subprocess.run([sys.executable, str(ROOT / "tools" / "vendor.py"), "--check"], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


def test_the_worker_imports_files_that_exist_and_nothing_at_run_time():
    # The service worker, and the worker that a page starts for a long sum.
    seen, todo = set(), [ROOT / "static" / "sw.js", ROOT / "static" / "js" / "worker" / "long.js"]
    while todo:
        path = todo.pop()
        seen.add(path)
        text = path.read_text()
        # A service worker refuses both of these; MicroPython's own are reached under Node only.
        if "vendor" not in path.parts:
            assert not re.search(r"\bimport\s*\(", text), path
        for name in re.findall(r'^import [^"\n]*"(\.[^"]+)";$', text, re.MULTILINE):
            # The server serves sw.js from the root, so its imports start at /static.
            found = (ROOT / name if path.name == "sw.js" else path.parent / name).resolve()
            assert found.is_file(), (path, name)
            if found not in seen:
                todo.append(found)
    own = set((ROOT / "static" / "js" / "worker").glob("*.js"))
    assert own == {path for path in seen if path.parent.name == "worker"}


def test_the_bundle_holds_every_module_of_the_core():
    modules = LISTED["modules"]
    wanted = {path.relative_to(ROOT / "webapp").with_suffix(".mpy").as_posix() for path in (ROOT / "webapp" / "core").rglob("*.py")}
    assert {name for name, _size in modules} == wanted and sum(size for _name, size in modules) == len(BUNDLE) - END_OF_LIST


# What the list and the card of a job need, the card of a job with a drive included, which says whether the drive is whole, and
# that of a job with photos, which says what each shows.
# A screen's own modules are imported when it is asked for.
FIRST_MODULES = {"belts", "card", "codes", "door", "drive_entry", "drive_form", "errors", "events", "forms", "numbers", "photoproof", "reply", "routes", "screens",
                 "screens.jobs", "screens.photos", "sections", "times", "units", "words"}
# What the card needs besides, only once a job has entries of these kinds: it says how those steps stand.
STEP_MODULES = {"part_moved": {"picklist", "companions", "evidence", "findings", "cause_table", "drive_data"}, "offset_read": {"alignment"},
                "work_done": {"fitting"}, "run_checked": {"proving"}}
LOADED = """
import json, sys
from webapp.core import door
for request, given in json.load(sys.stdin):
    door.handle(request, given)
print(json.dumps([name[len("webapp.core."):] for name in sys.modules if name.startswith("webapp.core.")]))
"""


def test_the_first_answer_loads_no_module_that_it_does_not_need(asked):
    """Each costs a stopped worker about a millisecond before it answers, more on a phone."""
    first = [pair for pair in asked if pair[0]["method"] == "GET" and re.fullmatch(r"/jobs(/[0-9a-f-]{36})?", pair[0]["path"])]
    plain = [pair for pair in first if not {event["kind"] for event in pair[1].get("events", [])} & set(STEP_MODULES)]
    assert 2 < len(plain) < len(first)
    assert _loaded_by(plain) - FIRST_MODULES == set()
    assert _loaded_by(first) - FIRST_MODULES <= set().union(*STEP_MODULES.values())


def _loaded_by(asked):
    done = subprocess.run([sys.executable, "-c", LOADED], input=json.dumps(asked), capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    return set(json.loads(done.stdout))


def test_the_phone_keeps_all_that_a_long_sum_imports():
    made = build.make(ROOT / "static")
    todo, kept = [ROOT / "static" / "js" / "worker" / "long.js"], {*made.assets, *made.later}
    while todo:
        path = todo.pop()
        assert "/" + path.relative_to(ROOT).as_posix() in kept, path
        todo += [(path.parent / name).resolve() for name in re.findall(r'^import [^"\n]*"(\.[^"]+)";$', path.read_text(), re.MULTILINE)]
