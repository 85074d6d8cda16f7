"""The saved drives as screens and as files. Values are invented; the worked drives are in tests/core/drives."""

import json

import pytest
from test_screens import Phone, booked, errors_of

from tests.core import drive_samples
from webapp.core import drive_entry, drive_file, library, words
from webapp.core.errors import CoreError

FILE = "/jobs/{job}/1/drive/file"
AT = "2026-03-01T08:05:00Z"


def saved(name="Van 2.0 diesel", sample="automatic", who="ines", **changes):
    data = {"name": name, "engine": "L4 2.0", "origin": "tape", "copied_from": None, "shared": True,
            "drive": drive_entry.from_drive(drive_samples.load(sample))}
    data.update(changes)
    return library.saved("id-" + name, data, ["", who, AT, AT])


def text_of(sample="automatic"):
    return drive_file.write(saved(sample=sample), "Ines")


def changed(**changes):
    """The file's text with some of the envelope or, by a path with __, of the drive changed."""
    held = json.loads(text_of())
    for path, value in changes.items():
        part = held
        keys = [int(key) if key.isdigit() else key for key in path.split("__")]
        for key in keys[:-1]:
            part = part[key]
        part[keys[-1]] = value
    return json.dumps(held)


class Shelf(Phone):
    """A phone that holds some saved drives."""

    drives = ()

    def given(self):
        rows = [{key: one[key] for key in one if key != "data"} for one in self.drives]
        return dict(super().given(), drives=rows, drive=self.drives[0] if self.drives else None)


# ---- files ----

@pytest.mark.parametrize("sample", drive_samples.NAMES)
def test_a_file_brings_the_same_drive_back(sample):
    found = drive_file.read(text_of(sample))
    assert found["drive"] == saved(sample=sample)["data"]["drive"]
    assert drive_file.write(saved(drive=found["drive"]), "Ines") == text_of(sample)
    assert (found["name"], found["engine"], found["measured_by"], found["measured_at"]) == ("Van 2.0 diesel", "L4 2.0", "Ines", AT)


@pytest.mark.outside("CPython json")
@pytest.mark.parametrize("sample", drive_samples.NAMES)
def test_a_file_is_json_for_any_other_reader_with_the_numbers_as_they_were(sample):
    held = json.loads(text_of(sample))
    told = drive_samples.load(sample)
    assert (held["form"], held["version"]) == ("spanwright-drive", 1)
    for pulley, one in zip(held["drive"]["pulleys"], told["pulleys"], strict=True):
        assert {key: pulley[key] for key in one} == one
    assert {key: held["drive"]["tensioner"][key] for key, value in told["tensioner"].items() if value is not None} \
        == {key: value for key, value in told["tensioner"].items() if value is not None}


def test_a_drive_with_a_number_missing_goes_out_and_comes_in():
    one = saved()
    del one["data"]["drive"]["pulleys"][3]["diameter"]
    found = drive_file.read(drive_file.write(one, ""))
    assert drive_entry.lacking(found["drive"]) == ["pulleys.3.diameter"] and found["measured_by"] is None


@pytest.mark.parametrize("text, place, part", [
    ("", "", "line 1, sign 1"), ("not json", "", "line 1, sign 1"), ("[]", "", "not a file of a drive"),
    ('{"form": "spanwright-unsent", "version": 1}', "", "not a file of a drive"),
    (changed(version=3), "version", "form 3; Spanwright here reads form 1 and 2"), (changed(version=True), "version", "form true"), (changed(name=""), "name", "fill this in"),
    (changed(name="x" * 61), "name", "at most 60"), (changed(name=7), "name", "has to be text"), (changed(engine=["a"]), "engine", "has to be text"),
    (changed(measured_at="yesterday"), "measured_at", "time is damaged"), (changed(origin="guess"), "origin", "one of the choices"),
    (changed(colour="red"), "colour", "does not know this part"), (changed(drive=None), "drive", "damaged"),
    (changed(drive__belt=["PK"]), "belt", "damaged"), (changed(drive__pulleys={"a": 1}), "pulleys", "has to be a list"),
    (changed(drive__pulleys=[]), "pulleys", "at least two"), (changed(drive__pulleys__2=None), "Pulley 3", "damaged"),
    (changed(drive__pulleys__2__name="crank"), "Pulley 3 (crank), name", "Two pulleys are called crank"),
    (changed(drive__pulleys__1__diameter_mm=1e300), "Pulley 2 (compressor), diameter_mm", "between 8 and 1500"),
    (changed(drive__pulleys__1__x_mm="12"), "Pulley 2 (compressor), x_mm", "plain number"),
    (changed(drive__pulleys__1__kind="wheel"), "Pulley 2 (compressor), kind", "one of the choices"),
    (changed(drive__pulleys__0__kind="idler"), "pulleys", "crankshaft"),
    (changed(drive__belt__section="QQ"), "belt, section", "QQ"), (changed(drive__belt__ribs=6.5), "belt, ribs", "whole number"),
    (changed(drive__tensioner__pulley="nobody"), "tensioner, pulley", "no pulley called nobody"),
    (changed(drive__tensioner__torque_nm=True), "tensioner, torque_nm", "plain number"),
    (changed(drive__version=9), "version", "another version"),
    (text_of().replace('"x_mm": 250', '"x_mm": NaN'), "", "line 32"), ("[" * 5000, "", "too deeply"),
    (text_of().replace('"name": "idler"', '"name": "idler", "name": "b"'), "", "stands twice"), ("x" * 60001, "", "at most 60000"),
    (changed(drive__pulleys=[{}] * 25), "pulleys", "at most 24")])
def test_a_bad_file_is_refused_at_its_place(text, place, part):
    with pytest.raises(CoreError) as caught:
        drive_file.read(text)
    assert drive_file.place_words(caught.value.field, text) == place
    assert part in words.sentence(caught.value)
    phone = booked()
    said = errors_of(phone.post(FILE, text=text, shared="no"))["text"]
    assert text == "" or (part in said and said.startswith(place))
    assert len(phone.events) == 2


def test_a_mark_in_front_of_the_text_does_no_harm():
    assert drive_file.read("\ufeff" + text_of())["name"] == "Van 2.0 diesel"


@pytest.mark.parametrize("name, expected", [("Van 2.0 diesel, six ribs", "drive-van-2-0-diesel-six-ribs.json"), ("Öl / ../x", "drive-l-x.json"),
                                            ("漢字", "drive.json"), ("a" * 90, "drive-" + "a" * 40 + ".json")])
def test_a_files_name_is_plain(name, expected):
    assert drive_file.file_name(name) == expected


# ---- into a job ----

def test_a_file_becomes_the_belts_drive_and_says_who_measured_it():
    phone = booked()
    reply = phone.post(FILE, text=text_of(), shared="yes")
    assert reply["goto"] == f"/jobs/{phone.job}/1/drive"
    data = phone.folded["drives"][0]["data"]
    assert (data["name"], data["origin"], data["shared"], data["copied_from"]) == ("Van 2.0 diesel", "file", True, None)
    assert "by Ines on 1 Mar 2026" in phone.folded["notes"][0]["data"]["text"]
    assert [one["name"] for one in library.of_job(phone.folded)] == ["Van 2.0 diesel"]


def test_a_second_file_replaces_the_first_and_the_first_leaves_the_library():
    phone = booked()
    phone.post(FILE, text=text_of(), shared="yes")
    assert "Van 2.0 diesel" in phone.get(FILE)["context"]["standing"]
    phone.post(FILE, text=text_of("eccentric").replace("Van 2.0 diesel", "Other"), shared="yes")
    assert len(phone.folded["drives"]) == 1
    assert [one["name"] for one in library.of_job(phone.folded)] == ["Other"]
    entry = phone.folded["drives"][0]
    phone.post("/jobs/{job}/withdraw", event=entry["id"], reason="Wrong car")
    assert library.of_job(phone.folded) == []


def test_a_drive_that_is_not_offered_stays_on_its_job():
    phone = booked()
    phone.post(FILE, text=text_of(), shared="no")
    assert library.of_job(phone.folded) == [] and len(phone.folded["drives"]) == 1


def test_a_drive_too_long_for_a_record_is_refused_with_its_text():
    load = {"torque_nm": 11.1234, "power_w": 2222.1234, "amperes": 99.1234, "volts": 14.1234, "efficiency": 0.5123}
    pulleys = [{"name": "\U0001f41f" * 38 + str(i), "kind": "crank" if i == 0 else "idler", "x_mm": i * 90.123, "y_mm": 0.123, "diameter_mm": 60.123,
                "load": load, "inertia_kgm2": 0.12345678} for i in range(24)]
    phone = booked()
    reply = phone.post(FILE, text=changed(drive__pulleys=pulleys, drive__tensioner={}), shared="no")
    assert "at most 16000" in errors_of(reply)["text"]
    assert len(json.loads(reply["context"]["text"]["value"])["drive"]["pulleys"]) == 24


def test_nobody_and_no_such_belt_are_turned_away():
    phone = booked()
    phone.who = ""
    assert phone.post(FILE, text=text_of())["status"] == 422
    assert phone.post("/jobs/{job}/3/drive/file", text=text_of())["status"] == 404
    assert phone.get("/jobs/{job}/3/drive/file")["status"] == 404


# ---- the list ----

def test_the_list_is_searched_by_name_engine_and_belt():
    shelf = Shelf()
    assert not shelf.get("/drives")["context"]["some"]
    shelf.drives = [saved(), saved("Truck, slotted", "slotted", engine="V6"), saved("Hybrid", "two_arm", who="Tove elsewhere")]

    def names(sought):
        return [row["name"] for row in shelf.get("/drives/_list", ("q", sought))["context"]["rows"]]

    assert names("") == ["Van 2.0 diesel", "Truck, slotted", "Hybrid"]
    assert names("VAN") == ["Van 2.0 diesel"] and names("v6") == ["Truck, slotted"] and names("pk 1420") == ["Van 2.0 diesel", "Hybrid"]
    assert names("<b>") == []
    rows = shelf.get("/drives")["context"]["rows"]
    assert [(row["belt"], row["pulleys"], row["who"]) for row in rows] == [
        ("6 PK 1420", "6 pulleys", "Ines"), ("AV10 1100", "3 pulleys", "Ines"), ("6 PK 1420", "6 pulleys", "Tove elsewhere")]


def test_a_long_list_says_how_much_more_there_is():
    shelf = Shelf()
    shelf.drives = [saved(f"Van {i}") for i in range(75)]
    context = shelf.get("/drives")["context"]
    assert (len(context["rows"]), context["more"]) == (60, "15")


def test_one_drive_is_shown_and_given_out_as_a_file():
    shelf = Shelf()
    assert shelf.get("/drives/none")["status"] == shelf.get("/drives/none/file")["status"] == 404
    shelf.drives = [saved()]
    context = shelf.get("/drives/x")["context"]
    assert (context["belt"], context["turns"], context["who"]) == ("6 PK 1420", "clockwise", "Ines") and context["view"]["answers"]
    reply = shelf.get("/drives/x/file")
    assert (reply["do"], reply["name"], reply["type"]) == ("file", "drive-van-2-0-diesel.json", "application/json")
    assert reply["text"] == text_of()


# ---- sheet and history ----

def test_the_sheet_tells_the_drive_in_words():
    phone = booked()
    phone.post(FILE, text=text_of())
    line = phone.get("/jobs/{job}/sheet")["context"]["loops"][0]["lines"][0]
    assert line["text"] == "Van 2.0 diesel. L4 2.0. From a file"
    shown = dict(line["shown"])
    assert shown["Belt"] == "6 PK 1420" and shown["Tensioner"] == "Automatic, spring arm"
    # Crank (0, 0) d 150 to compressor (250, 15) d 120, both on ribs: sqrt(250^2 + 15^2 - (75 - 60)^2) = 250 (plane geometry, by hand).
    assert shown["Longest span, computed"] == "crank to compressor, 250 mm"


def test_entries_that_replace_each_other_are_one_line_of_the_history():
    phone = booked()
    for sample in ("automatic", "eccentric", "slotted"):
        phone.post(FILE, text=changed(measured_by=None, measured_at=None, drive={"pulleys": drive_samples.load(sample)["pulleys"]}))
    entries = phone.get("/jobs/{job}/history")["context"]["entries"]
    assert [entry["kind"] for entry in entries] == ["Drive recorded", "Tag made", "Booked in"]
    assert entries[0]["several"].startswith("3 entries") and "alternator (ribs)" in entries[0]["text"]
