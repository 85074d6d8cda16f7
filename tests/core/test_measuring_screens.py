"""The measuring screens as functions: belts, target, pluck, press and the quick sums, through the core's one door.

Values are invented unless a source stands beside them.
"""

import math
import uuid

import pytest

from webapp.core import belts, door, events, reading, words
from webapp.core.screens import spanform

JOB = "00000000-0000-4000-8000-000000000001"
BASE = "/jobs/" + JOB
SHOP = {"name": "Millrace", "address": "", "length_unit": "mm", "force_unit": "N", "distance_unit": "km", "paper": "A4",
        "origin": "https://spanwright.example", "tape_constants": {"PK": "14"}}
PEOPLE = [{"id": "ada", "name": "Ada", "roles": ["technician"], "active": True}]
FACTS = {"voltage": "12", "start_stop": "none", "alternator_pulley": "solid", "crank_pulley": "solid", "compressor": "none",
         "steering": "electric", "water_pump": "this_belt", "access": "above"}


class Phone:
    """One job on one device: asks the core and keeps the events that it answers with."""

    def __init__(self, tensioner="slotted", gate=True, marks="none", who="ada", shop=None):
        self.events, self.who, self.shop = [], who, shop or SHOP
        self.add("booked_in", {"registration": "KX21 ABC", "vin": None, "car": None, "engine": None, "distance": None,
                               "complaint": "squeals", "service": False})
        loop = {"loop": "1", "name": "Main belt", "belt": "ribbed", "ribs": 6, "tensioner": tensioner, "marks": marks,
                "pin_hole": "no"}
        self.add("facts_recorded", dict(FACTS, loops=[loop]))
        if gate:
            self.add("gate_passed", {"voltage": "12", "start_stop": "none", "authorised": None,
                                     "confirmed": [code for code, _ in words.choice_pairs("gate")]})

    def given(self):
        return {"now": "2026-03-09T08:05:00Z", "who": self.who, "device": "phone-1", "n": len(self.events) + 1,
                "ids": [str(uuid.uuid4()) for _ in range(12)], "host": "phone", "events": list(self.events),
                "people": PEOPLE, "shop": self.shop}

    def add(self, kind, data, loop=""):
        given = dict(self.given(), who="ada")
        event = events.make(given, 0, kind, JOB, data, loop)
        events.check(event, events.fold(self.events))
        self.events.append(event)

    def ask(self, method, path, query=(), form=()):
        reply = door.handle({"method": method, "path": path, "query": [list(p) for p in query],
                             "form": [list(p) for p in form]}, self.given())
        if reply["do"] == "record":
            self.events += reply["events"]
        return reply

    def get(self, path, *query):
        return self.ask("GET", BASE + path, query=query)

    def post(self, path, *form):
        return self.ask("POST", BASE + path, form=form)

    def standing(self, kind):
        job = events.fold(self.events)
        return [e for e in job["history"] if e["kind"] == kind and e["state"] == "stands"]


PLUCK = [("span", "crank – alternator"), ("length", "300"), ("length_unit", "mm"), ("length_error", "2"),
         ("length_error_unit", "mm"), ("section", "PK"), ("ribs", "6"), ("engine_temperature", "cold"), ("tool", "")]
PRESS = PLUCK + [("force", "100"), ("force_unit", "N"), ("reading_unit", "mm")]


def readings(*values):
    return [("reading", value) for value in values]


def swapped(pairs, **changes):
    """Pairs with some values replaced; a change to None takes the pair out."""
    kept = [(name, changes.pop(name) if name in changes else value) for name, value in pairs]
    return [pair for pair in kept if pair[1] is not None] + [pair for pair in changes.items() if pair[1] is not None]


def problem_fields(reply):
    assert reply["do"] == "page" and reply["status"] == 422, reply
    return [p[0] for p in reply["context"]["problems"]]


# ---- belts ----

def record_belt(phone, place, marking):
    reply = phone.post(f"/1/belts/{place}", ("step", "marking"), ("marking", marking), ("stretch", "no"))
    assert reply["do"] == "record", reply["context"]["problems"]
    return reply


def test_a_belt_is_recorded_step_by_step_and_only_one_entry_stands():
    phone = Phone()
    assert record_belt(phone, "old", "6pk1500")["goto"] == BASE + "/1/belts/old?step=ribs"
    phone.post("/1/belts/old", ("step", "ribs"), ("ribs_counted", "6"), ("width", "21,4"), ("width_unit", "mm"))
    phone.post("/1/belts/old", ("step", "length"), ("taped", "1517"), ("taped_unit", "mm"), ("tape_constant", "14"),
               ("tape_constant_unit", "mm"))
    phone.post("/1/belts/old", ("step", "wear"), ("wear", "glazed"), ("wear", "oil"), ("wear_note", "wet"), ("batch", "3116"))
    assert len(phone.standing("belt_recorded")) == 1
    assert phone.standing("belt_recorded")[0]["data"] == {
        "place": "old", "marking": "6pk1500", "section": "PK", "ribs": 6, "length": {"value": "1500", "unit": "mm"},
        "length_kind": "effective", "double_sided": False, "stretch": False, "ribs_counted": 6,
        "width": {"value": "21.4", "unit": "mm"}, "taped": {"value": "1517", "unit": "mm"},
        "tape_constant": {"value": "14", "unit": "mm"}, "wear": ["glazed", "oil"], "wear_note": "wet", "batch": "3116"}


def test_the_flow_opens_at_the_first_question_without_an_answer():
    phone = Phone()
    assert phone.get("/1/belts/new")["template"] == "belts_marking.html"
    record_belt(phone, "new", "6PK1500")
    assert phone.get("/1/belts/new")["template"] == "belts_ribs.html"
    assert phone.get("/1/belts/new", ("step", "wear"))["template"] == "belts_wear.html"


def test_no_readable_marking_is_an_answer():
    phone = Phone()
    reply = phone.post("/1/belts/old", ("step", "marking"), ("marking", ""), ("unreadable", "yes"), ("section", "PK"))
    assert reply["do"] == "record"
    data = phone.standing("belt_recorded")[0]["data"]
    assert (data["marking"], data["section"], data["length"]) == (None, "PK", None)


@pytest.mark.parametrize("step, form, field", [
    ("marking", [("marking", "")], "marking"),
    ("marking", [("marking", "   ")], "marking"),
    ("marking", [("marking", "PK1500")], "marking"),
    ("marking", [("marking", "6K1500")], "marking"),
    ("marking", [("marking", "1500PK6")], "marking"),
    ("marking", [("marking", "6PK15")], "marking"),
    ("marking", [("marking", "61PK1500")], "marking"),
    ("marking", [("marking", "<script>alert(1)</script>")], "marking"),
    ("marking", [("marking", "6PK" + "1" * 80)], "marking"),
    ("ribs", [("ribs_counted", "0")], "ribs_counted"),
    ("ribs", [("ribs_counted", "-6")], "ribs_counted"),
    ("ribs", [("ribs_counted", "6,5")], "ribs_counted"),
    ("ribs", [("ribs_counted", "six")], "ribs_counted"),
    ("ribs", [("ribs_counted", "61")], "ribs_counted"),
    ("ribs", [("width", "nan"), ("width_unit", "mm")], "width"),
    ("ribs", [("width", "1e309"), ("width_unit", "mm")], "width"),
    ("ribs", [("width", "21.4"), ("width_unit", "in")], "width"),
    ("ribs", [("width", "0.84"), ("width_unit", "mm")], "width"),
    ("ribs", [("width", "21.4"), ("width_unit", "furlong")], "width"),
    ("length", [("taped", "0"), ("taped_unit", "mm")], "taped"),
    ("length", [("taped", "-1500"), ("taped_unit", "mm")], "taped"),
    ("length", [("taped", "1.517"), ("taped_unit", "mm")], "taped"),
    ("length", [("taped", "59.7"), ("taped_unit", "mm")], "taped"),
    ("length", [("taped", "1517"), ("taped_unit", "mm"), ("tape_constant", "1500"), ("tape_constant_unit", "mm")], "tape_constant"),
    ("wear", [("wear", "none_seen"), ("wear", "oil")], "wear"),
    ("wear", [("wear_note", "x" * 301)], "wear_note"),
    ("wear", [("batch", "x" * 41)], "batch"),
])
def test_a_bad_belt_entry_is_refused_beside_its_field_and_stays_typed(step, form, field):
    phone = Phone()
    before = len(phone.events)
    reply = phone.post("/1/belts/old", ("step", step), *form)
    assert problem_fields(reply) == [field]
    assert len(phone.events) == before
    shown = reply["context"][field]
    assert shown["error"]
    typed = dict(form)[field]
    assert [o["value"] for o in shown["options"] if o["on"]] == ["none_seen", "oil"] if field == "wear" else shown["value"] == typed.strip()


def test_inches_under_millimetres_are_named():
    reply = Phone().post("/1/belts/old", ("step", "length"), ("taped", "59.7"), ("taped_unit", "mm"))
    assert reply["context"]["taped"]["error"] == "59.7 mm cannot be right here. Did you mean 59.7 in?"


@pytest.mark.parametrize("old, new, tensioner, kind, word", [
    ("6PK1500", "6 PK 1500", "slotted", "good", "Same"),
    ("6PK1500", "6PK1505", "slotted", "watch", "Differs in length"),
    ("6PK1500", "6PK1515", "slotted", "stop", "Stop: do not fit"),
    ("6PK1500", "7PK1500", "slotted", "stop", "Stop: do not fit"),
    ("6PK1500", "6DPK1500", "automatic", "stop", "Stop: do not fit"),
    ("6PK1500", "6PK1503", "stretch_fit", "stop", "Stop: do not fit"),
    ("AVX10x1000", "AV10x1000", "slotted", "watch", "Differs in cogs"),
])
def test_old_and_new_side_by_side(old, new, tensioner, kind, word):
    """Limits by kind of tensioner: common practice, no source."""
    phone = Phone(tensioner)
    assert phone.get("/1/belts")["context"]["verdict"]["kind"] == "open"
    record_belt(phone, "old", old)
    record_belt(phone, "new", new)
    context = phone.get("/1/belts")["context"]
    assert (context["verdict"]["kind"], context["verdict"]["word"]) == (kind, word)
    assert context["rows"][0] == ["Marking", belts.parse(old)["text"], belts.parse(new)["text"]]


def test_a_difference_is_accepted_with_a_reason_until_a_belt_changes():
    phone = Phone()
    record_belt(phone, "old", "6PK1500")
    record_belt(phone, "new", "6PK1505")
    assert phone.get("/1/belts")["context"]["may_accept"]
    assert problem_fields(phone.post("/1/belts", ("reason", " "))) == ["reason"]
    assert phone.post("/1/belts", ("reason", "Parts list says so"))["do"] == "record"
    assert phone.get("/1/belts")["context"]["accepted"] == {"reason": "Parts list says so", "who": "Ada"}
    record_belt(phone, "new", "6PK1507")
    assert phone.get("/1/belts")["context"]["accepted"] is None


@pytest.mark.parametrize("taped, kind, word", [("1514", "watch", "Same, by tape only"), ("1560", "stop", "Stop: do not fit")])
def test_a_belt_without_marking_is_compared_by_count_and_tape(taped, kind, word):
    phone = Phone()
    phone.post("/1/belts/old", ("step", "marking"), ("unreadable", "yes"), ("section", "PK"))
    phone.post("/1/belts/old", ("step", "ribs"), ("ribs_counted", "6"))
    phone.post("/1/belts/old", ("step", "length"), ("taped", taped), ("taped_unit", "mm"), ("tape_constant", "14"),
               ("tape_constant_unit", "mm"))
    record_belt(phone, "new", "6PK1500")
    verdict = phone.get("/1/belts")["context"]["verdict"]
    assert (verdict["kind"], verdict["word"]) == (kind, word)


def test_what_disagrees_within_one_belt_is_said():
    phone = Phone()
    record_belt(phone, "old", "6PK1500")
    phone.post("/1/belts/old", ("step", "ribs"), ("ribs_counted", "5"), ("width", "17.8"), ("width_unit", "mm"))
    side = phone.get("/1/belts")["context"]["sides"][0]
    assert side["findings"][0] == "6 ribs printed, 5 counted. Count again from both edges."


@pytest.mark.parametrize("marking, state, part", [
    ("6PK1500", "read", ["Ribs", "6"]), ("500J10", "read", ["Length", "1270 mm (50 in)"]),
    ("AV13X1250 La", "read", ["Measured as", "outside length"]), ("", "none", None), ("6PQ1500", "wrong", None)])
def test_a_marking_is_read_while_typed(marking, state, part):
    """500J10 is 50.0 in, J, 10 ribs: ARPM IP-26 form, example of a public sizing page."""
    reply = Phone().ask("GET", "/reads/_marking", query=[("marking", marking)])
    read = reply["context"]["read"]
    assert (reply["status"], read["state"]) == (200, state)
    assert part is None or part in read["lines"]
    assert bool(read["wrong"]) == (state == "wrong")


def test_width_and_tape_are_read_while_typed():
    """PK rib pitch 3.56 mm: ISO 9981. 14 mm: the invented shop's own constant."""
    phone = Phone()
    fits = phone.ask("GET", "/reads/_width", query=[("section", "PK"), ("ribs_counted", "6"), ("width", "21"), ("width_unit", "mm")])
    assert fits["context"]["read"]["state"] == "good"
    other = phone.ask("GET", "/reads/_width", query=[("section", "PK"), ("ribs_counted", "6"), ("width", "17.8"), ("width_unit", "mm")])
    assert "5 ribs" in other["context"]["read"]["sentence"]
    tape = phone.ask("GET", "/reads/_tape", query=[("section", "PK"), ("taped", "1514"), ("taped_unit", "mm"),
                                                    ("tape_constant", "14"), ("tape_constant_unit", "mm")])
    assert "1514 mm taped, less 14 mm, your constant: 1500 mm" in tape["context"]["read"]
    assert phone.ask("GET", "/reads/_tape", query=[("section", "PK"), ("taped", "x")])["context"]["read"] == ""


# ---- the way in ----

@pytest.mark.parametrize("path", ["/1/belts/old", "/1/tension/pluck", "/1/tension/press"])
def test_the_safety_questions_come_first(path):
    phone = Phone(gate=False)
    for method in ("GET", "POST"):
        assert phone.ask(method, BASE + path) == {"do": "go", "goto": f"{BASE}/gate?next={BASE}{path}"}


@pytest.mark.parametrize("path, form", [("/1/belts/old", [("step", "marking"), ("marking", "6PK1500")]),
                                        ("/1/target", [("kind", "guideline"), ("belt_state", "new")]),
                                        ("/1/tension/pluck", PLUCK + readings("110", "111", "109"))])
def test_nobody_records_nothing(path, form):
    phone = Phone(who="")
    record_belt_for_guideline(phone)
    before = len(phone.events)
    reply = phone.post(path, *form)
    assert reply["status"] == 422 and len(phone.events) == before
    assert words.ERRORS["who-first"] in [p[2] for p in reply["context"]["problems"]]


def record_belt_for_guideline(phone):
    data = {"place": "new", "marking": "6PK1500", "section": "PK", "ribs": 6, "length": {"value": "1500", "unit": "mm"},
            "length_kind": "effective", "double_sided": False, "stretch": False, "ribs_counted": 6, "width": None,
            "taped": None, "tape_constant": None, "wear": [], "wear_note": None, "batch": None}
    phone.add("belt_recorded", data, "1")


@pytest.mark.parametrize("path", ["/2/belts", "/9/belts/old", "/1/belts/spare", "/2/tension", "/x/target", "/1/tension/guess"])
def test_what_is_not_there_is_said(path):
    assert Phone().get(path)["status"] == 404


# ---- target ----

MAKER = [("kind", "maker"), ("belt_state", "new"), ("low", "550"), ("high", "650"), ("unit", "N"), ("source", "Manual, 3-12")]


def test_the_makers_target_is_recorded_with_its_source_and_replaced_not_edited():
    phone = Phone()
    phone.post("/1/target", *MAKER)
    phone.post("/1/target", *swapped(MAKER, low="560"))
    assert len(phone.standing("target_set")) == 1
    assert phone.standing("target_set")[0]["data"] == {
        "kind": "maker", "belt_state": "new", "low": {"value": "560", "unit": "N"}, "high": {"value": "650", "unit": "N"},
        "source": "Manual, 3-12"}
    assert phone.get("/1/tension")["context"]["target"]["window"] == "560 to 650"


@pytest.mark.parametrize("changes, fields", [
    ({"kind": "hunch"}, ["kind"]), ({"belt_state": ""}, ["belt_state"]), ({"low": ""}, ["low"]), ({"high": "nan"}, ["high"]),
    ({"low": "0"}, ["low"]), ({"low": "-550"}, ["low"]), ({"high": "1e309"}, ["high"]), ({"low": "550,5,5"}, ["low"]),
    ({"low": "650", "high": "550"}, ["high"]), ({"low": "650", "high": "650"}, ["high"]), ({"source": ""}, ["source"]),
    ({"unit": "stone"}, ["low", "high"]), ({"high": "999999"}, ["high"]), ({"source": "x" * 201}, ["source"]),
])
def test_a_bad_target_is_refused_and_stays_typed(changes, fields):
    phone = Phone()
    reply = phone.post("/1/target", *swapped(MAKER, **changes))
    assert problem_fields(reply) == fields
    assert phone.standing("target_set") == []
    assert reply["context"]["low"]["value"] == dict(swapped(MAKER, **changes))["low"]


def test_swapped_units_are_asked_about_once():
    """120 to 150 lbf for a new 6-rib belt, typed as newtons: 20 to 25 N per rib, where 110 to 200 is seen."""
    phone = Phone()
    record_belt_for_guideline(phone)
    swap = swapped(MAKER, low="120", high="150")
    reply = phone.post("/1/target", *swap)
    assert problem_fields(reply) == ["confirm"]
    assert reply["context"]["doubts"][0] == ("120 N is unusual for this belt, 120 lbf would not be. "
                                             "Which unit does the data give?")
    assert phone.post("/1/target", *swap, ("confirm", "yes"))["do"] == "record"


@pytest.mark.parametrize("tensioner, allowed", [("slotted", True), ("eccentric", True), ("automatic", False),
                                                ("hydraulic", False), ("stretch_fit", False)])
def test_the_guideline_is_only_for_belts_that_somebody_sets(tensioner, allowed):
    phone = Phone(tensioner)
    assert phone.get("/1/target")["context"]["guides"] == []
    record_belt_for_guideline(phone)
    reply = phone.post("/1/target", ("kind", "guideline"), ("belt_state", "new"))
    if allowed:
        data = phone.standing("target_set")[0]["data"]
        window = reading.guideline("PK", 6, "new")
        assert (float(data["low"]["value"]), float(data["high"]["value"])) == (window["low_n"], window["high_n"])
        assert phone.get("/1/tension")["context"]["target"]["guideline"]
    else:
        assert problem_fields(reply) == ["kind"]


# ---- pluck and press ----

def test_a_pluck_from_the_set_up_to_the_saved_reading():
    phone = Phone()
    record_belt_for_guideline(phone)
    phone.post("/1/target", *MAKER)
    first = phone.get("/1/tension/pluck")["context"]
    assert first["belt_known"].startswith("6 PK, 0.108 kg/m") and not first["rare_open"]
    step = [("step", "read")]
    page = phone.get("/1/tension/pluck", *PLUCK, *step)
    assert page["template"] == "tension_readings.html" and page["context"]["told"] == {"some": False}
    one = phone.get("/1/tension/pluck", *PLUCK, *step, *readings("125"))["context"]
    assert one["told"]["decided"] and not one["may_save"] and [r["value"] for r in one["rows"]] == ["125", ""]
    three = phone.get("/1/tension/pluck", *PLUCK, *step, *readings("125", "126,5", "124"))["context"]
    assert three["may_save"] and three["told"]["verdict"]["kind"] in ("good", "watch", "stop", "open")
    reply = phone.post("/1/tension/pluck", *PLUCK, *readings("125", "126,5", "124", ""))
    assert reply["goto"] == BASE + "/1/tension"
    data = phone.standing("span_read")[0]["data"]
    assert data["readings"] == ["125", "126.5", "124"] and data["reading_unit"] == "Hz"
    told = three["told"]
    assert {k: data["shown"][k] for k in ("tension", "low", "high", "unit", "verdict", "sentence")} == {
        "tension": told["tension"], "low": told["low"], "high": told["high"], "unit": "N",
        "verdict": told["verdict"]["word"], "sentence": told["verdict"]["sentence"]}
    row = phone.get("/1/tension")["context"]["entries"][0]
    assert row["tension"] == told["tension"] and row["verdict"]["word"] == told["verdict"]["word"]


def test_the_result_holds_the_tension_that_was_plucked():
    """String formula T = 4 m L^2 f^2 (Rao, Vibration of Continuous Systems, ch. 8); 0.108 kg/m, 0.3 m, 110 Hz: 470.4 N."""
    told = Phone().get("/1/tension/pluck", *PLUCK, ("step", "read"), *readings("110", "110", "110"))["context"]["told"]
    assert float(told["low"]) < 4 * 0.108 * 0.3**2 * 110**2 < float(told["high"])
    assert "470.4 N" in [line for label, line in told["working"] if label == "With the numbers"][0]
    assert [p[0] for p in told["parts"]] == ["Readings", "Span length", "Belt mass", "Stiff ends"]


def test_a_press_finds_the_tension_it_was_made_from():
    """Statics of two straight halves, with the pull that the stretch adds; six PK ribs of 27.5 kN (papers, from memory)."""
    half = math.sqrt(0.15**2 + 0.006**2)
    pull = 500 + 6 * 27500 * (2 * half - 0.3) / 1.5
    force = 2 * pull * 0.006 / half
    form = swapped(PRESS, force=f"{force:.2f}", belt_length="1500", belt_length_unit="mm")
    told = Phone().get("/1/tension/press", *form, ("step", "read"), *readings("6", "6", "6"))["context"]["told"]
    assert float(told["low"]) < 500 < float(told["high"])
    assert float(told["tension"]) == pytest.approx(500, rel=0.12)
    assert "Belt stretch" in [p[0] for p in told["parts"]]


def test_weighing_narrows_the_interval():
    weighed = swapped(PLUCK, mass="163", mass_unit="g", belt_length="1500", belt_length_unit="mm")
    wide, narrow = [Phone().get("/1/tension/pluck", *form, ("step", "read"), *readings("110", "110", "111"))["context"]["told"]
                    for form in (PLUCK, weighed)]
    assert float(narrow["high"]) - float(narrow["low"]) < 0.6 * (float(wide["high"]) - float(wide["low"]))


def test_a_reading_of_another_mode_is_asked_about_and_never_averaged():
    """A string's second mode has twice the frequency: Rao, ch. 8."""
    phone = Phone()
    query = [*PLUCK, ("step", "read"), *readings("110", "221", "111", "109")]
    told = phone.get("/1/tension/pluck", *query)["context"]["told"]
    assert not told["decided"] and [q["place"] for q in told["questions"]] == ["2"] and told["tension"] == ""
    dropped = phone.get("/1/tension/pluck", *query, ("drop", "2"))["context"]
    assert [r["value"] for r in dropped["rows"]] == ["110", "111", "109", ""] and dropped["told"]["decided"]
    kept = phone.get("/1/tension/pluck", *query, ("only", "2"))["context"]
    assert [r["value"] for r in kept["rows"]] == ["221", ""]
    reply = phone.post("/1/tension/pluck", *PLUCK, *readings("110", "221", "111", "109"))
    assert problem_fields(reply) == ["readings"] and phone.standing("span_read") == []


@pytest.mark.parametrize("changes, field", [
    ({"span": ""}, "span"), ({"span": "x" * 61}, "span"), ({"length": ""}, "length"), ({"length": "0"}, "length"),
    ({"length": "-300"}, "length"), ({"length": "nan"}, "length"), ({"length": "1e309"}, "length"), ({"length": "12"}, "length"),
    ({"length": "300", "length_unit": "in"}, "length"), ({"length": "300", "length_unit": "cubit"}, "length"),
    ({"length_error": "-1"}, "length_error"), ({"length_error": "60"}, "length_error"), ({"section": ""}, "section"),
    ({"section": "XX"}, "section"), ({"ribs": ""}, "ribs"), ({"ribs": "0"}, "ribs"), ({"ribs": "6.5"}, "ribs"),
    ({"mass": "163", "mass_unit": "g"}, "belt_length"), ({"mass": "0", "mass_unit": "g"}, "mass"),
    ({"mass": "163", "mass_unit": "kg", "belt_length": "1500", "belt_length_unit": "mm"}, "mass"),
    ({"section": "3V", "ribs": ""}, "mass"), ({"engine_temperature": "lukewarm"}, "engine_temperature"), ({"tool": "x" * 81}, "tool"),
])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_bad_set_up_is_refused_and_stays_typed(method, changes, field):
    phone = Phone()
    form = swapped(PLUCK, **changes) + readings("110", "111", "109")
    path = BASE + "/1/tension/pluck"
    reply = phone.ask("GET", path, query=[*form, ("step", "read")]) if method == "GET" else phone.ask("POST", path, form=form)
    assert problem_fields(reply) == [field]
    assert phone.standing("span_read") == []
    context = reply["context"]
    assert context["f"][field]["error"] and context["f"]["length"]["value"] == dict(form)["length"]
    assert [p[1] for p in context["carried"] if p[0] == "reading"] == ["110", "111", "109"]


@pytest.mark.parametrize("typed, place", [
    (["110", "x", "109"], 2), (["nan", "111", "109"], 1), (["110", "111", "1e309"], 3), (["110", "0", "109"], 2),
    (["110", "-111", "109"], 2), (["110", "111", "109,5,1"], 3), (["110", "111"], 3), (["110"], 2), (["", ""], 1),
    (["110", "111", "99999"], 3)])
def test_a_bad_reading_is_named_by_its_place_and_stays_typed(typed, place):
    phone = Phone()
    reply = phone.post("/1/tension/pluck", *PLUCK, *readings(*typed))
    assert problem_fields(reply)[0] == f"reading-{place}"
    assert phone.standing("span_read") == []
    values = [r["value"] for r in reply["context"]["rows"]]
    assert [v for v in values if v] == [t for t in typed if t]


@pytest.mark.parametrize("changes, typed, field", [
    ({"force": ""}, ["15"], "force"), ({"force": "100", "force_unit": "kgf"}, ["15"], "force"), ({"force": "0"}, ["15"], "force")])
def test_a_bad_force_is_refused(changes, typed, field):
    assert problem_fields(Phone().post("/1/tension/press", *swapped(PRESS, **changes), *readings(*typed))) == [field]


@pytest.mark.parametrize("typed", [["79", "79", "79"], ["0.4", "0.4", "0.4"]])
def test_a_deflection_that_cannot_be_is_refused(typed):
    phone = Phone()
    reply = phone.post("/1/tension/press", *swapped(PRESS, length="150"), *readings(*typed))
    assert reply["status"] == 422 and phone.standing("span_read") == [] and reply["context"]["problems"]


def test_pounds_and_inches_all_the_way():
    """1 lbf = 4.4482216152605 N, 1 in = 25.4 mm: NIST SP 811."""
    imperial = Phone(shop=dict(SHOP, force_unit="lbf", length_unit="in"))
    metric = Phone()
    form = swapped(PLUCK, length="11.811", length_unit="in")
    shown = [p.get("/1/tension/pluck", *f, ("step", "read"), *readings("110", "110", "110"))["context"]["told"]
             for p, f in ((imperial, form), (metric, PLUCK))]
    assert shown[0]["unit"] == "lbf" and shown[0]["other"].endswith(" N")
    assert float(shown[0]["tension"]) * 4.4482216152605 == pytest.approx(float(shown[1]["tension"]), abs=2.5)


def test_the_result_is_read_while_typed():
    phone = Phone()
    reply = phone.get("/1/tension/_result", ("method", "pluck"), *PLUCK, *readings("110", "111", "109"))
    assert reply["template"] == "_result.html" and reply["context"]["told"]["decided"]
    for broken in ([], [("method", "pluck")], [("method", "guess"), *PLUCK], [("method", "pluck"), *PLUCK, ("reading", "x")]):
        assert phone.get("/1/tension/_result", *broken)["context"]["told"]["some"] is False


@pytest.mark.parametrize("tensioner, label", [("automatic", "Read the pointer"), ("slotted", "Set the target"),
                                              ("stretch_fit", "Pluck the span")])
def test_the_next_action_suits_the_tensioner(tensioner, label):
    context = Phone(tensioner).get("/1/tension")["context"]
    assert context["next"]["label"] == label
    assert context["marks_decide"] == (tensioner == "automatic")


def test_every_tensioner_has_its_sentences():
    for code, _label in words.choice_pairs("tensioner"):
        assert words.REASONS["means-" + code] and words.REASONS["tension-" + code]


# ---- quick sums ----

def test_a_quick_span_records_nothing_and_gives_the_same_tension():
    phone = Phone()
    form = swapped(PLUCK, span=None, engine_temperature=None)
    alone = phone.ask("GET", "/sums/span", query=[*form, ("method", "pluck"), ("step", "read"), *readings("110", "111", "109")])
    on_job = phone.get("/1/tension/pluck", *PLUCK, ("step", "read"), *readings("110", "111", "109"))
    assert alone["context"]["told"]["tension"] == on_job["context"]["told"]["tension"]
    assert not alone["context"]["saves"]


@pytest.mark.parametrize("query, status", [
    ([], 200), ([("method", "press")], 200), ([("step", "read")], 422), ([("step", "read"), ("length", "nan")], 422),
    ([("method", "<b>")], 200)])
def test_a_quick_span_bears_any_address(query, status):
    reply = Phone().ask("GET", "/sums/span", query=query)
    assert (reply["do"], reply["status"]) == ("page", status)


def test_two_markings_are_compared_without_a_job():
    context = Phone().ask("GET", "/sums/marking", query=[("marking", "6PK1500"), ("second", "7PK1500")])["context"]
    assert context["verdict"]["kind"] == "stop" and context["reads"][0]["name"] == "6 PK 1500"
    assert Phone().ask("GET", "/sums/marking", query=[("marking", "6PK1500"), ("second", "?")])["context"]["verdict"] is None


@pytest.mark.parametrize("kind, value, unit, line", [
    ("force", "22,5", "lbf", "100.085 N"), ("length", "1", "in", "25.4 mm"), ("distance", "100", "mi", "160.934 km")])
def test_units_are_turned_into_each_other(kind, value, unit, line):
    """NIST SP 811, appendix B.8."""
    reply = Phone().ask("GET", "/sums/convert", query=[("kind", kind), ("value", value), ("value_unit", unit)])
    assert line in reply["context"]["lines"]


@pytest.mark.parametrize("value", ["nan", "1e309", "1,2,3", "abc"])
def test_a_number_that_is_none_is_refused(value):
    reply = Phone().ask("GET", "/sums/convert", query=[("kind", "force"), ("value", value), ("value_unit", "N")])
    assert reply["status"] == 422 and reply["context"]["value"]["error"] and reply["context"]["value"]["value"] == value


def test_the_limits_of_the_forms_are_wider_than_any_span_of_the_guideline():
    low, high = spanform.SPAN_M
    assert low < 0.1 and high > 0.6


def test_a_count_that_speaks_against_the_marking_takes_the_word_same_away():
    phone = Phone()
    record_belt(phone, "old", "6PK1500")
    record_belt(phone, "new", "6PK1500")
    assert phone.get("/1/belts")["context"]["verdict"]["word"] == "Same"
    phone.post("/1/belts/old", ("step", "ribs"), ("ribs_counted", "5"))
    assert phone.get("/1/belts")["context"]["verdict"]["word"] == "Same by marking only"
