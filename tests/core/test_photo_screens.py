"""The photo screen refuses bad taps in words, keeps everything tapped and typed, and records good ones once."""

import json
import math

import pytest

from tests.core import contexts
from webapp.core import door, drive_entry, drive_file, drive_spread, library
from webapp.core.errors import CoreError
from webapp.core.screens import drivespan, driveview

RIMS = [[[400, 700], [600, 500], [600, 900]], [[1000, 700], [1100, 600], [1200, 700]]]
SIZED = {"size": "pulley", "dia_0": "150", "dia_0_unit": "mm"}

DISTANCE = {"size": "distance", "known_unit": "mm"}


@pytest.fixture(scope="module")
def ask(demo_workshop):
    """Send a form to the photo page of a job with a photo of its route."""
    cases = [(request, given) for request, given in contexts.requests(demo_workshop)
             if request["method"] == "POST" and request["path"].endswith("/1/drive/photo") and request["form"] == contexts.TAPS]
    request, given = next((r, g) for r, g in cases if door.handle(r, g)["do"] == "record")

    def send(taps, **typed):
        form = [["taps", taps if isinstance(taps, str) else json.dumps(taps)]] + [[name, typed[name]] for name in typed]
        return door.handle(dict(request, form=form), dict(given))

    def again(data):
        """The page once that drive is recorded."""
        event = dict(given["events"][-1], id=contexts.IDS[3], kind="drive_recorded", loop="1", data=data, replaces=None)
        return door.handle(dict(request, method="GET", form=[]), dict(given, events=given["events"] + [event]))
    send.again = again

    def drawn(taps, **typed):
        """What the page draws and tells while taps are set."""
        query = [["taps", json.dumps(taps)]] + [[name, typed[name]] for name in typed]
        return door.handle(dict(request, method="GET", path=request["path"].replace("/photo", "/_photo"), form=[], query=query), dict(given))
    send.drawn = drawn
    return send


@pytest.mark.parametrize("taps,typed,sentence", [
    ("", SIZED, "Tap at least two pulleys"),
    ("{", SIZED, "did not arrive whole"),
    ("[" * 5000, SIZED, "did not arrive whole"),
    ("x" * 7000, SIZED, "did not arrive whole"),
    ('{"rims": [[[NaN, 1]]], "size": []}', SIZED, "did not arrive whole"),
    ('{"rims": [[[1e9, 1]]], "size": []}', SIZED, "did not arrive whole"),
    ('{"rims": [[[true, 1]]], "size": []}', SIZED, "did not arrive whole"),
    ('{"rims": 7, "size": "x"}', SIZED, "did not arrive whole"),
    ({"rims": RIMS * 7, "size": []}, SIZED, "did not arrive whole"),
    ({"rims": RIMS[:1], "size": []}, SIZED, "Tap at least two pulleys"),
    ({"rims": RIMS + [[[1, 1]]], "size": []}, SIZED, "Pulley 3 has 1 of its three"),
    ({"rims": [RIMS[0], [[0, 0], [50, 50], [100, 100]]], "size": []}, SIZED, "Pulley 2: its rim points lie on one line"),
    ({"rims": [[[0, 0], [50, 50], [100, 100]], RIMS[1]], "size": []}, SIZED, "Pulley 1: its rim points lie on one line"),
    ({"rims": [RIMS[0], [[1000, 700], [1300, 600], [1200, 700]]], "size": []}, SIZED, "did not arrive whole"),
    ({"rims": RIMS, "size": []}, {}, "One known size is needed"),
    ({"rims": RIMS, "size": []}, dict(SIZED, dia_0=""), "One known size is needed"),
    ({"rims": RIMS, "size": []}, dict(SIZED, dia_0="-4"), "at least"),
    ({"rims": RIMS, "size": []}, dict(SIZED, dia_0="wide"), "plain number"),
    ({"rims": RIMS, "size": []}, {"size": "pulley", "dia_9": "150", "dia_9_unit": "mm"}, "One known size is needed"),
    ({"rims": RIMS, "size": [[1, 1]]}, dict(DISTANCE, known="100"), "Tap the known size in the picture"),
    ({"rims": RIMS, "size": [[1, 1], [3, 1]]}, dict(DISTANCE, known="100"), "too close together"),
    ({"rims": RIMS, "size": [[100, 100], [120, 100]]}, dict(DISTANCE, known="2900"), "too close together"),
    ({"rims": RIMS, "size": [[100, 100], [200, 100]]}, dict(DISTANCE, known="2900"), "more than 3 m"),
    ({"rims": RIMS, "size": [[0, 0], [500, 0], [0, 400], [500, 400]]}, {"size": "rectangle", "wide": "297", "wide_unit": "mm", "high": "210",
                                                                       "high_unit": "mm"}, "four corners in turn")])
def test_bad_taps_are_refused_in_words(ask, taps, typed, sentence):
    reply = ask(taps, **typed)
    assert reply["do"] == "page" and reply["status"] == 422
    assert any(sentence in problem[2] for problem in reply["context"]["problems"]), reply["context"]["problems"]
    assert reply["context"]["taps"] == (taps if isinstance(taps, str) else json.dumps(taps))
    assert reply["context"]["known"]["value"] == typed.get("known", "")
    assert reply["context"]["rows"][0]["diameter"] == typed.get("dia_0", "")


def test_good_taps_record_a_drive_from_a_photo(ask):
    reply = ask({"rims": RIMS, "size": []}, kind_1="alternator", face_1="ribs", **dict(SIZED, dia_0="150,50"))
    assert reply["do"] == "record" and len(reply["events"]) == 1
    data = reply["events"][0]["data"]
    assert data["origin"] == "photo"
    crank, other = data["drive"]["pulleys"]
    # The known diameter stands as typed; the rest follows from 400 px for 150.5 mm.
    assert crank["diameter"] == {"value": "150.50", "unit": "mm"} and crank["place"] is None
    assert other["kind"] == "alternator" and float(other["diameter"]["value"]) == pytest.approx(75.25, abs=0.1)
    assert float(other["place"]["across"]["value"]) == pytest.approx(188.1, abs=0.2) and float(other["place"]["up"]["value"]) == pytest.approx(0, abs=0.1)
    told = drive_entry.to_drive(data["drive"])["pulleys"]
    assert told[0]["good_to_mm"] is None and 2 < told[1]["good_to_mm"] < 20


def test_one_size_and_few_points_take_a_square_phone_for_granted(ask):
    def notes(rims, **typed):
        return " ".join(ask.drawn({"rims": rims, "size": []}, **typed)["context"]["drawn"]["notes"])
    assert "held square within 5° is taken for granted" in notes(RIMS, **SIZED) and "bring the picture closer" in notes(RIMS, **SIZED)
    around = [[[x + r * math.cos(1.2566 * k), 700 + r * math.sin(1.2566 * k), 4] for k in range(5)] for x, r in ((600, 200), (1100, 100))]
    assert "taken for granted" not in notes(around, **SIZED)
    # One point that misses its rim by a tenth of it shows.
    around[0][0][0] += 40
    assert "times farther from circles" in notes(around, **SIZED)


def test_taps_stay_with_the_drive_and_come_back_to_be_corrected(ask):
    typed = dict(SIZED, kind_1="alternator", face_1="back", points="3")
    data = ask({"rims": RIMS, "size": []}, **typed)["events"][0]["data"]
    kept = dict(data["drive"]["photo"]["typed"])
    assert json.loads(kept["taps"])["rims"] == RIMS and {name: kept[name] for name in typed} == typed
    assert len(data["drive"]["photo"]["sha256"]) == 64
    # The page shows them again, and a pulley measured otherwise since is no longer as good as its taps.
    reply = ask.again(data)
    assert json.loads(reply["context"]["taps"])["rims"] == RIMS and reply["context"]["rows"][1]["faces"][1]["on"]
    assert reply["context"]["rows"][0]["diameter"] == "150" and reply["context"]["replaces"]
    entry = data["drive"]
    entry["pulleys"][1]["diameter"] = {"value": "60", "unit": "mm"}
    changed = drive_entry.to_drive(entry)["pulleys"]
    assert changed[0]["moves_mm"] is not None and changed[1]["moves_mm"] is None and changed[1]["good_to_mm"] == 3.0


def test_the_error_of_each_span_flows_into_tension_and_length(ask):
    data = ask({"rims": RIMS, "size": []}, kind_1="alternator", **SIZED)["events"][0]["data"]
    told = drive_entry.to_drive(data["drive"])
    half = drive_spread.spread(told)["spans_mm"]
    # One pulley known and the other not: the photo leaves millimetres open, and says so wherever the span goes.
    assert all(one > 2 for one in half)
    spans = drivespan.spans({"drive": told, "shop": {"length_unit": "mm"}})["spans"]
    assert {one["length_error"]["value"] for one in spans} == {f"{math.ceil(one * 10) / 10:.1f}" for one in half}
    answers = driveview.view(told, {"length_unit": "mm", "force_unit": "N"})
    length = next(one for one in answers["answers"] if one["id"] == "length")
    assert "tapped on a photo" in length["source"] and "±" in length["between"]


@pytest.mark.parametrize("part, bad", [
    ("seen", "x"), ("seen", {"where": 5, "moves": "1"}), ("seen", {"where": "", "moves": "1 2 x"}), ("seen", {"where": "", "moves": "9" * 500}),
    ("seen", {"where": "", "moves": "1", "more": ""}), ("photo", []), ("photo", {"sha256": "x", "typed": []}), ("photo", {"sha256": "0" * 64}),
    ("photo", {"sha256": "0" * 64, "typed": [["a"]]}), ("photo", {"sha256": "0" * 64, "typed": [["a", "b"]] * 81}),
    ("photo", {"sha256": "0" * 64, "typed": [["a", 5]]})])
def test_a_record_with_damaged_taps_is_refused(ask, part, bad):
    entry = ask({"rims": RIMS, "size": []}, **SIZED)["events"][0]["data"]["drive"]
    if part == "photo":
        entry["photo"] = bad
    else:
        entry["pulleys"][1]["seen"] = bad
    with pytest.raises(CoreError):
        drive_entry.to_drive(entry)


def file_of(data):
    return drive_file.write(library.saved("00000000-0000-4000-8000-000000000001", data, ["", "Ada", "2026-03-01T08:05:00Z", "2026-03-01T08:06:00Z"]), "Ada")


def test_the_file_of_a_drive_tells_how_good_its_photo_is_and_loses_nothing(ask):
    """What a photo leaves open moves its pulleys together; as one number a pulley, lengths came out up to a fifth too good."""
    data = ask({"rims": RIMS, "size": []}, face_1="ribs", **SIZED)["events"][0]["data"]
    text = file_of(data)
    held = json.loads(text)
    assert held["version"] == 2 and [len(pulley["moves_mm"]) for pulley in held["drive"]["pulleys"]] == [7, 7]
    back = drive_file.read(text)["drive"]
    spreads = [drive_spread.spread(dict(drive_entry.to_drive(entry), belt={"section": "PK"})) for entry in (data["drive"], back)]
    assert spreads[1]["spans_mm"] == pytest.approx(spreads[0]["spans_mm"], rel=1e-4) and spreads[0]["spans_mm"][0] > 1
    assert spreads[1]["wraps_deg"] == pytest.approx(spreads[0]["wraps_deg"], rel=1e-4)
    assert file_of(dict(data, drive=back)) == text and back["good_to"] == drive_entry.TAPE_GOOD_TO
    # A file of the plain form cannot hold them.
    with pytest.raises(CoreError) as caught:
        drive_file.read(json.dumps(dict(held, version=1)))
    assert (caught.value.code, caught.value.field) == ("unknown-key", "drive.pulleys.0.moves_mm")
    held["drive"]["pulleys"][1]["moves_mm"] = [[0, 0, 0]] * 6
    with pytest.raises(CoreError) as caught:
        drive_file.read(json.dumps(held))
    assert (caught.value.code, caught.value.field) == ("not-a-list", "drive.pulleys.1.moves_mm")


def test_a_pulley_measured_anew_leaves_the_photo_in_the_file_as_well(ask):
    data = ask({"rims": RIMS, "size": []}, **SIZED)["events"][0]["data"]
    data["drive"]["pulleys"][1]["diameter"] = {"value": "60", "unit": "mm"}
    first, second = json.loads(file_of(data))["drive"]["pulleys"]
    assert "moves_mm" in first and "moves_mm" not in second and second["good_to_mm"] == 3


def test_a_second_crankshaft_is_an_idler(ask):
    reply = ask({"rims": RIMS, "size": []}, kind_1="crank", **SIZED)
    assert [p["kind"] for p in reply["events"][0]["data"]["drive"]["pulleys"]] == ["crank", "idler"]
