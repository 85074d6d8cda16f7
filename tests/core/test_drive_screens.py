"""A drive entered one pulley at a time through the core's one door. Every number is invented unless a source stands beside it."""

import json

import pytest

from tests.core import drive_samples
from tests.core.test_measuring_screens import Phone
from webapp.core import card, door, drive, drive_entry, drive_form, events, library

DRIVE = "/1/drive"
ABOUT = [("name", "Van, six ribs"), ("engine", "2.0"), ("rotation", "clockwise"), ("alternator_pulley", "one_way"),
         ("crank_pulley", "damper"), ("good_to", "3"), ("good_to_unit", "mm"), ("shared", "yes")]


def across_up(across, up):
    return [("place_way", "across_up")] + [(name, value) for key, number, sides in (("across", across, ("right", "left")), ("up", up, ("up", "down")))
                                           for name, value in ((f"place_{key}", str(abs(number))), (f"place_{key}_unit", "mm"),
                                                               (f"place_{key}_side", sides[number < 0]))]


def from_two(first, a, second, b, side=""):
    return [("place_way", "from_two"), ("place_first", first), ("place_first_distance", a), ("place_first_distance_unit", "mm"),
            ("place_second", second), ("place_second_distance", b), ("place_second_distance_unit", "mm"), ("place_side", side)]


def pulley(kind, face, diameter, place, **more):
    return [("kind", kind), ("face", face), ("diameter", diameter), ("diameter_unit", "mm")] + place + list(more.items())


def sized(pulley, place):
    return [("kind", pulley["kind"]), ("face", pulley["face"]), ("diameter", str(pulley["diameter_mm"])), ("diameter_unit", "mm"),
            ("name", pulley["name"]), ("turns", pulley.get("turns") or "")] + place


@pytest.fixture
def phone():
    """A job on which the drive has its crankshaft."""
    phone = Phone("automatic")
    assert phone.post(DRIVE + "/about", *ABOUT)["goto"].endswith("/drive/pulleys/0")
    assert phone.post(DRIVE + "/pulleys/0", ("face", "ribs"), ("diameter", "150"), ("diameter_unit", "mm"))["goto"].endswith("/pulleys/new")
    return phone


def standing(phone):
    return card.drive_of(events.fold(phone.events), "1")["data"]


def state(phone):
    return card.step_state(events.fold(phone.events), "1", "drive")


def test_a_drive_of_six_pulleys_is_the_drive_that_was_measured():
    sample = drive_form.form(drive_samples.load("automatic"))
    phone = Phone("automatic")
    phone.post(DRIVE + "/about", *ABOUT)
    for i, one in enumerate(sample["pulleys"]):
        form = sized(one, [] if one["kind"] == "crank" else across_up(one["x_mm"], one["y_mm"]))
        reply = phone.post(DRIVE + ("/pulleys/new" if i else "/pulleys/0"), *form)
        assert reply["do"] == "record" and reply["goto"].endswith("/pulleys/new")
        assert state(phone) == ["open", f"Begun: {i + 1} pulley{'s' if i else ''} so far."]
    phone.post(DRIVE + "/belt", ("section", "PK"), ("ribs", "6"), ("length", "1420"), ("length_unit", "mm"), ("double_sided", "no"))
    arm = sample["tensioner"]
    form = [("kind", "automatic"), ("pulley", arm["pulley"]), ("at_way", "typed")]
    form += [(key, str(arm[key])) for key in ("torque_nm", "at_deg", "rate_nm_per_deg", "friction") if arm[key] is not None]
    form += [(key + end, str(arm[key][k])) for key in ("stops_deg", "marks_deg") if arm[key] for k, end in ((0, "_low"), (1, "_high"))]
    place = across_up(arm["pivot_x_mm"], arm["pivot_y_mm"])
    assert phone.post(DRIVE + "/tensioner", *(form + [(name.replace("place_", "pivot_"), value) for name, value in place]))["do"] == "record"
    data = standing(phone)
    ours, expected = drive.solve(drive_entry.to_drive(data["drive"])), drive.solve(sample)
    assert [s["length_mm"] for s in ours["spans"]] == pytest.approx([s["length_mm"] for s in expected["spans"]], rel=1e-9)
    assert [w["sense"] for w in ours["wraps"]] == [w["sense"] for w in expected["wraps"]]
    assert state(phone) == ["done", "Van, six ribs"] and data["origin"] == "tape" and data["shared"] is True
    page = phone.get(DRIVE)["context"]
    assert page["lacking"] == [] and page["next"]["label"] == "Done" and len(page["rows"]) == 6
    # One entry stands, the ones before it are kept as replaced.
    assert len(phone.standing("drive_recorded")) == 1


def test_two_distances_ask_which_spot_and_then_place_the_pulley(phone):
    phone.post(DRIVE + "/pulleys/new", *pulley("alternator", "ribs", "58", across_up(300, 0)))
    refused = phone.post(DRIVE + "/pulleys/new", *pulley("water_pump", "ribs", "120", from_two("crank", "400", "alternator", "500")))
    assert refused["status"] == 422 and [p[0] for p in refused["context"]["problems"]] == ["place_side"]
    assert refused["context"]["f"]["diameter"]["value"] == "120"
    assert phone.post(DRIVE + "/pulleys/new", *pulley("water_pump", "ribs", "120", from_two("crank", "400", "alternator", "500", "left")))["do"] == "record"
    placed = drive_entry.to_drive(standing(phone)["drive"])["pulleys"][2]
    # The converse of Pythagoras: 300, 400, 500.
    assert [placed["x_mm"], placed["y_mm"]] == pytest.approx([0, 400], abs=1e-9)


@pytest.mark.parametrize("field,form", [
    ("kind", pulley("", "ribs", "58", across_up(1, 1))),
    ("kind", pulley("crank", "ribs", "58", across_up(1, 1))),
    ("face", pulley("idler", "", "58", across_up(1, 1))),
    ("diameter", pulley("idler", "back", "5,8,1", across_up(1, 1))),
    ("diameter", pulley("idler", "back", "-70", across_up(1, 1))),
    ("diameter", pulley("idler", "back", "1e3", across_up(1, 1))),
    ("diameter", pulley("idler", "back", "NaN", across_up(1, 1))),
    ("diameter", pulley("idler", "back", "99999", across_up(1, 1))),
    ("diameter_unit", None),
    ("place_up", pulley("idler", "back", "70", [("place_way", "across_up"), ("place_across", "20"), ("place_across_unit", "mm")])),
    ("place_across", pulley("idler", "back", "70", across_up(90000, 3))),
    ("place_second", pulley("idler", "back", "70", from_two("crank", "90", "crank", "90"))),
    ("place_first", pulley("idler", "back", "70", from_two("nobody", "90", "crank", "90"))),
    ("name", pulley("idler", "back", "70", across_up(1, 1), name="crank")),
    ("name", pulley("idler", "back", "70", across_up(1, 1), name="x" * 41)),
    ("turns", pulley("idler", "back", "70", across_up(1, 1), turns="sideways")),
    ("rim", pulley("idler", "back", "70", across_up(1, 1), rim="square")),
    ("inertia_kgm2", pulley("idler", "back", "70", across_up(1, 1), inertia_kgm2="900")),
    ("load_torque_nm", pulley("idler", "back", "70", across_up(1, 1), load_torque_nm="many")),
])
def test_a_wrong_value_is_told_at_its_field_and_nothing_typed_is_lost(phone, field, form):
    if form is None:
        form, field = [(n, "ell" if n == "diameter_unit" else v) for n, v in pulley("idler", "back", "70", across_up(1, 1))], "diameter"
    before = len(phone.events)
    reply = phone.post(DRIVE + "/pulleys/new", *form)
    assert reply["status"] == 422 and field in [problem[0] for problem in reply["context"]["problems"]], reply["context"]["problems"]
    assert len(phone.events) == before
    typed = dict(form)
    assert reply["context"]["f"]["diameter"]["value"] == typed["diameter"] and reply["context"]["f"]["name"]["value"] == typed.get("name", "")


def test_distances_that_cannot_meet_are_told_at_once(phone):
    phone.post(DRIVE + "/pulleys/new", *pulley("alternator", "ribs", "58", across_up(300, 0)))
    reply = phone.post(DRIVE + "/pulleys/new", *pulley("idler", "back", "70", from_two("crank", "100", "alternator", "100", "left")))
    assert reply["status"] == 422 and [p[0] for p in reply["context"]["problems"]] == ["place_second_distance"]


def test_an_overlap_is_recorded_and_told_at_both_pulleys(phone):
    """The other pulley may be the wrong one, so the entry is kept."""
    assert phone.post(DRIVE + "/pulleys/new", *pulley("alternator", "ribs", "58", across_up(20, 10)))["do"] == "record"
    page = phone.get(DRIVE)["context"]
    assert page["faults"][0]["kind"] == "stop" and page["faults"][0]["pulleys"] == ["crank", "alternator"]
    assert phone.get(DRIVE + "/pulleys/1")["context"]["faults"]


def test_a_drive_with_a_number_missing_gives_all_that_does_not_need_it(phone):
    phone.post(DRIVE + "/pulleys/new", *pulley("alternator", "ribs", "58", across_up(300, 0)))
    phone.post(DRIVE + "/pulleys/new", *pulley("idler", "back", "", across_up(150, 20)))
    phone.post(DRIVE + "/belt", ("section", "PK"), ("ribs", "6"), ("length", ""), ("length_unit", "mm"), ("double_sided", "no"))
    page = phone.get(DRIVE)["context"]
    assert [row["text"] for row in page["lacking"]] == ["idler: diameter", "The belt's length"]
    assert [row["path"].split("#")[1] for row in page["lacking"]] == ["diameter", "length"]
    spans = drive.solve(drive_entry.to_drive(standing(phone)["drive"]))["spans"]
    assert [s["length_mm"] is None for s in spans] == [False, True, True]


def test_a_pulley_moves_along_the_belt_goes_and_comes_back(phone):
    for kind, at in (("alternator", 300), ("compressor", -300)):
        phone.post(DRIVE + "/pulleys/new", *pulley(kind, "ribs", "100", across_up(at, 100)))
    before = [p["name"] for p in standing(phone)["drive"]["pulleys"]]
    page = json.dumps(phone.get(DRIVE)["context"]["rows"])
    assert before == ["crank", "alternator", "compressor"] and "compressor" in page
    phone.post(DRIVE, *order("up", "2", "compressor"))
    assert [p["name"] for p in standing(phone)["drive"]["pulleys"]] == ["crank", "compressor", "alternator"]
    phone.post(DRIVE, *order("remove", "1", "compressor"))
    assert [p["name"] for p in standing(phone)["drive"]["pulleys"]] == ["crank", "alternator"]
    assert phone.get(DRIVE)["context"]["removed"] == "compressor"
    phone.post(DRIVE, *order("undo"))
    assert [p["name"] for p in standing(phone)["drive"]["pulleys"]] == ["crank", "compressor", "alternator"]


def order(what, place="", name=""):
    return [("do", what), ("pulley", place), ("name", name)]


@pytest.mark.parametrize("form", [order("up", "0", "crank"), order("down", "1", "alternator"), order("remove", "0", "crank"),
                                  order("remove", "1", "crank"), order("up", "x", "alternator"), order("undo"), order("spin", "1", "alternator"), []])
def test_a_change_that_makes_no_sense_changes_nothing(phone, form):
    phone.post(DRIVE + "/pulleys/new", *pulley("alternator", "ribs", "58", across_up(300, 0)))
    before = standing(phone)
    assert phone.post(DRIVE, *form)["do"] == "go"
    assert standing(phone) == before


def test_copying_a_saved_drive_says_where_it_came_from():
    phone = Phone()
    entry = drive_entry.from_drive(drive_samples.load("slotted"))
    data = {"name": "Slotted", "engine": None, "origin": "tape", "copied_from": None, "shared": True, "drive": entry}
    saved = library.saved("00000000-0000-4000-8000-00000000000a", data, ["", "ada", "2026-03-01T08:05:00Z", "2026-03-01T08:06:00Z"])
    row = {key: saved[key] for key in saved if key != "data"}
    given = dict(phone.given(), drives=[row], drive=saved)
    request = {"method": "POST", "path": "/jobs/" + given["events"][0]["job"] + DRIVE + "/copy", "query": [], "form": [["saved", saved["id"]]]}
    reply = door.handle(request, given)
    assert reply["do"] == "record"
    copied = reply["events"][0]["data"]
    assert [copied["origin"], copied["copied_from"], copied["drive"]] == ["copied", saved["id"], entry]
    lost = door.handle(dict(request, form=[["saved", "none"]]), dict(phone.given(), drives=[row], drive=None))
    assert lost["do"] == "page" and lost["status"] in (404, 422)


def test_tape_work_waits_for_the_safety_questions():
    phone = Phone(gate=False)
    assert "/gate" in phone.get(DRIVE + "/about")["goto"]
    assert phone.get(DRIVE)["do"] == "page"


@pytest.mark.parametrize("kind", ["automatic", "eccentric", "slotted", "lead_screw", "hydraulic", "stretch_fit", "fixed", "two_arm", "unknown"])
def test_every_kind_of_tensioner_can_be_recorded_with_nothing_else_known(phone, kind):
    phone.post(DRIVE + "/pulleys/new", *pulley("tensioner", "back", "70", across_up(100, 120)))
    assert phone.post(DRIVE + "/tensioner", ("kind", kind), ("pulley", "tensioner"))["do"] == "record"
    assert standing(phone)["drive"]["tensioner"]["kind"] == kind
    assert phone.get(DRIVE)["status"] == 200 and phone.get(DRIVE + "/tensioner")["status"] == 200


def test_a_spring_arms_slips_are_told_at_their_fields(phone):
    phone.post(DRIVE + "/pulleys/new", *pulley("tensioner", "back", "70", across_up(100, 120)))
    reply = phone.post(DRIVE + "/tensioner", ("kind", "automatic"), ("pulley", "nobody"), ("torque_nm", "-3"), ("friction", "2"),
                       ("stops_deg_low", "10"))
    assert reply["status"] == 422
    assert {"pulley", "torque_nm", "friction", "stops_deg_high"} <= {problem[0] for problem in reply["context"]["problems"]}


def test_what_was_measured_from_a_pulley_keeps_its_place_when_it_goes_and_follows_its_name(phone):
    phone.post(DRIVE + "/pulleys/new", *pulley("alternator", "ribs", "58", across_up(300, 0)))
    phone.post(DRIVE + "/pulleys/new", *pulley("water_pump", "ribs", "120", from_two("crank", "400", "alternator", "500", "left")))
    phone.post(DRIVE + "/tensioner", ("kind", "eccentric"), ("pulley", "alternator"),
               *[(n.replace("place_", "pivot_"), v) for n, v in from_two("crank", "300", "coolant pump", "500", "right")])
    phone.post(DRIVE + "/pulleys/1", *pulley("alternator", "ribs", "58", across_up(300, 0), name="dynamo"))
    entry = standing(phone)["drive"]
    assert [entry["pulleys"][2]["place"]["second"], entry["tensioner"]["pulley"]] == ["dynamo", "dynamo"]
    phone.post(DRIVE, *order("remove", "1", "dynamo"))
    entry = standing(phone)["drive"]
    assert entry["pulleys"][1]["place"] == {"way": "across_up", "across": {"value": "0", "unit": "mm"}, "up": {"value": "400", "unit": "mm"}}
    assert entry["tensioner"]["pulley"] is None and entry["tensioner"]["pivot"]["way"] == "from_two"
    phone.post(DRIVE, *order("remove", "1", "coolant pump"))
    assert standing(phone)["drive"]["tensioner"]["pivot"]["way"] == "across_up"
    assert [row["name"] for row in phone.get(DRIVE)["context"]["rows"]] == ["crank"]


def test_a_minus_sign_means_left_or_down_whichever_switch_is_on(phone):
    for k, side in enumerate(("right", "left")):
        form = [("place_way", "across_up"), ("place_across", "\u221242,5"), ("place_across_unit", "mm"), ("place_across_side", side),
                ("place_up", "0"), ("place_up_unit", "mm"), ("place_up_side", "down")]
        phone.post(DRIVE + "/pulleys/new", *pulley("idler", "back", "70", form))
        assert standing(phone)["drive"]["pulleys"][k + 1]["place"]["across"] == {"value": "-42.5", "unit": "mm"}
        page = phone.get(DRIVE + f"/pulleys/{k + 1}")["context"]["place"]
        assert page["across"]["value"] == "42.5" and [o["value"] for o in page["across_side"]["options"] if o["on"]] == ["left"]


def test_the_arms_angle_comes_from_the_places_of_pivot_and_roller(phone):
    """A 3-4-5 triangle: from the pivot 30 to the left and 40 down."""
    phone.post(DRIVE + "/pulleys/new", *pulley("tensioner", "back", "70", across_up(100, 120)))
    form = [("kind", "automatic"), ("pulley", "tensioner"), ("torque_nm", "30"), ("at_way", "drawn")]
    refused = phone.post(DRIVE + "/tensioner", *form)
    assert [p[0] for p in refused["context"]["problems"]] == ["at_way"]
    pivot = [(n.replace("place_", "pivot_"), v) for n, v in across_up(130, 160)]
    assert phone.post(DRIVE + "/tensioner", *form, *pivot)["do"] == "record"
    # atan2(-40, -30), by any table of the 3-4-5 triangle 53.13 degrees past -180.
    assert standing(phone)["drive"]["tensioner"]["at_deg"] == "-126.9"


def test_the_belts_step_fills_the_belt_in(phone):
    def page():
        context = phone.get(DRIVE + "/belt")["context"]
        return [context["ribs"]["value"], context["length"]["value"], context["source"]]

    assert page() == ["6", "", ""], "the ribs come from the facts"
    phone.post("/1/belts/old", ("step", "marking"), ("marking", "AV10x1000 La"), ("stretch", "no"))
    assert page()[1] == "" and "outside length" in page()[2], "an outside length is no effective one"
    phone.post("/1/belts/old", ("step", "marking"), ("marking", "5PK1420"), ("stretch", "no"))
    assert page()[:2] == ["5", "1420"] and "old belt, 5PK1420" in page()[2]


def test_two_spots_are_told_while_the_distances_are_typed(phone):
    phone.post(DRIVE + "/pulleys/new", *pulley("alternator", "ribs", "58", across_up(300, 0)))

    def told(*pairs):
        return phone.get(DRIVE + "/_spots", ("placing", "place"), ("own", ""), *pairs)["context"]["spots"]

    found = told(*from_two("crank", "400", "alternator", "500"))
    assert [o["label"] for o in found["tiles"]["options"]] == ["A: 0 mm right, 400 mm up", "B: 0 mm right, 400 mm down"]
    assert "do not meet" in told(*from_two("crank", "100", "alternator", "100"))["why"]
    for unfinished in (from_two("crank", "100", "alternator", ""), from_two("crank", "", "alternator", ""), [("place_way", "across_up")], []):
        assert told(*unfinished) == {"some": False, "why": "", "tiles": None, "picture": None}


def test_a_drive_too_large_for_a_record_is_refused_in_words(phone):
    """Forty signs of four bytes each in every name: the record's limit comes before the limit of 24 pulleys."""
    long = "\U0001d70b" * 38
    for i in range(23):
        place = across_up(300, 0) if i < 1 else from_two("crank", "400.125", long + " 0", "500.125", "left")
        reply = phone.post(DRIVE + "/pulleys/new", *pulley("idler", "back", "70.125", place, name=f"{long} {i:x}"))
        if reply["do"] == "page":
            break
    assert reply["status"] == 422 and reply["context"]["problems"][0][2] == "Too long: at most 16000 characters."
    assert 3 < len(standing(phone)["drive"]["pulleys"]) < 24 and phone.get(DRIVE)["status"] == 200


def test_no_more_pulleys_than_the_form_takes(phone):
    for i in range(23):
        assert phone.post(DRIVE + "/pulleys/new", *pulley("idler", "back", "70", across_up(100 * i, 0)))["do"] == "record"
    reply = phone.post(DRIVE + "/pulleys/new", *pulley("idler", "back", "70", across_up(1, 1)))
    assert reply["status"] == 422 and reply["context"]["problems"][0][2] == "Too many: at most 24."


def test_like_cars_come_first_among_the_saved_drives():
    phone = Phone()
    booked = dict(phone.events[0]["data"], car="Ossaly 1.6 van", engine="L4 1.6 diesel")
    phone.events[0]["data"] = booked
    rows = [{"id": str(i), "job": "", "name": name, "engine": engine, "belt": "6 PK 1420", "pulleys": "5", "who": "ada",
             "at": "2026-03-01T08:05:00Z", "received": "", "origin": "tape"}
            for i, (name, engine) in enumerate([("Saloon", "V6 3.0"), ("Van, later front", "L4 1.6 diesel"), ("Hatchback", "L4 1.6")])]
    request = {"method": "GET", "path": "/jobs/" + phone.events[0]["job"] + DRIVE + "/copy", "query": [], "form": []}
    page = door.handle(request, dict(phone.given(), drives=rows))["context"]["rows"]
    assert [[row["name"], row["alike"]] for row in page] == [["Van, later front", True], ["Hatchback", False], ["Saloon", False]]
