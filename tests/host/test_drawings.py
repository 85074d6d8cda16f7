"""The small drawings: one file, made by its tool, plain strokes without a colour of their own, and each name in use is drawn."""

import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tools import drawings
from webapp import causes
from webapp.core import cause_table, fitting, words
from webapp.core import drawings as core_drawings
from webapp.core.errors import CoreError

SVG = "{http://www.w3.org/2000/svg}"
ROOT = Path(drawings.__file__).resolve().parent.parent
# Answers that words tell at once, so that nothing is drawn: everything said or read off at a counter, a meter or by ear alone.
QUICK = {"I1": ["none"], "I2": "all", "I3": "all", "I4": "all", "C12": ["elsewhere"], "C26": "all", "C27": "all", "C28": "all",
         "C29": "all", "C33": "all"}


def drawn():
    return {part.get("id"): part for part in ElementTree.parse(drawings.FILE).getroot().iter() if part.get("id")}


def named():
    """Every name of a picture that the table, the core or a template gives."""
    found = core_drawings.names()
    for row in causes.BUILT_IN["causes"] + causes.BUILT_IN["checks"]:
        found += [row["drawing"]] if "drawing" in row else []
        found += row.get("drawings", {}).values()
    for template in (ROOT / "webapp" / "templates").glob("*.html"):
        found += re.findall(r'with drawing = "([^"]+)"', template.read_text())
    return found


def test_the_file_is_what_its_tool_makes():
    assert drawings.FILE.read_text() == drawings.text()


def test_the_file_is_plain_strokes():
    root = ElementTree.parse(drawings.FILE).getroot()
    for part in root.iter():
        assert part.tag in (SVG + "svg", SVG + "defs", SVG + "g", SVG + "path")
        assert set(part.attrib) <= {"id", "d", "stroke-width", "stroke-dasharray", "fill", "fill-opacity"}
        assert part.get("fill", "currentColor") == "currentColor"
        assert not (part.text or "").strip() and not (part.tail or "").strip()
        if part.tag == SVG + "path":
            assert re.fullmatch(r"M[MmLlHhVvQqTtAaZz0-9 .\-]+", part.get("d")), part.get("d")
    ids = [part.get("id") for part in root.iter() if part.get("id")]
    assert len(ids) == len(set(ids)) > 100
    assert not {outer.get("d") for outer in root[0]} & {""}


def test_every_name_is_drawn_and_every_drawing_is_named():
    assert sorted(set(named()) - set(drawn())) == []
    assert sorted(set(drawn()) - set(named())) == []


def test_a_check_draws_every_answer_that_is_slow_in_words_or_none():
    for check in causes.BUILT_IN["checks"]:
        outcomes = [row[0] for row in check["outcomes"]]
        if check["setup"] == "computed":
            assert "drawings" not in check
            continue
        quick = QUICK.get(check["id"], [])
        slow = [] if quick == "all" else [code for code in outcomes if code not in quick]
        assert sorted(check.get("drawings", {})) == sorted(slow), check["id"]
        # Two answers of one check are never told by the same picture.
        assert len(set(check.get("drawings", {}).values())) == len(slow), check["id"]


@pytest.mark.parametrize("change", [{"drawing": "a b"}, {"drawing": "<x>"}, {"drawing": ""}, {"drawing": 4}, {"drawings": []},
                                    {"drawings": {"nothing": "arm-steady"}}, {"drawings": {"chirp": "x\"y"}}, {"drawings": {"chirp": None}}])
def test_a_table_with_a_broken_drawing_is_refused(change):
    table = json.loads(json.dumps(causes.BUILT_IN))
    table["checks"][0].update(change)
    with pytest.raises(CoreError) as caught:
        cause_table.check_table(table)
    assert "checks, I1" in caught.value.field


def test_tiles_are_four_to_eight_words():
    for check in causes.BUILT_IN["checks"]:
        for _code, tile, _means in check["outcomes"]:
            assert 4 <= len(tile.split()) <= 8, (check["id"], tile)


def test_a_fact_is_drawn_for_every_answer_or_for_none():
    for name, choices in (("belt", "belt_kind"), ("tensioner", "tensioner"), ("alternator_pulley", "alternator_pulley"),
                          ("crank_pulley", "crank_pulley")):
        given = [core_drawings.of_fact(name, code) for code, _ in words.choice_pairs(choices) if code != "unknown"]
        assert "" not in given and len(set(given)) == len(given)
    assert core_drawings.of_fact("voltage", "12") == ""


def test_every_kind_of_tensioner_has_a_line_that_is_drawn_beyond_those_of_every_drive():
    shared = {core_drawings.of_work(item) for item in ("clean", "seats", "turned")} | {""}
    for kind, _order in fitting.ORDER:
        lines = fitting.lines(kind, "ribbed", "yes", ["Crank", "Alternator"])
        found = [core_drawings.of_work(line["item"]) for line in lines]
        assert set(found) - shared, kind
        assert found.count("seat-right") == 2
    known = {line[0] for line in fitting.LINES} | {"seat"}
    assert not [item for item in core_drawings._WORK if item not in known]
