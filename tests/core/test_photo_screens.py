"""The photo screen refuses bad taps in words, keeps everything tapped and typed, and records good ones once."""

import json

import pytest

from tests.core import contexts
from webapp.core import door

RIMS = [[[400, 800], [600, 600], [600, 1000]], [[1000, 800], [1100, 700], [1200, 800]]]
SIZED = {"size": "pulley", "size_pulley": "1", "known": "150", "known_unit": "mm"}


@pytest.fixture(scope="module")
def ask(demo_workshop):
    """Send a form to the photo page of a job with a photo of its route."""
    cases = [(request, given) for request, given in contexts.requests(demo_workshop)
             if request["method"] == "POST" and request["path"].endswith("/1/drive/photo") and request["form"] == contexts.TAPS]
    request, given = next((r, g) for r, g in cases if door.handle(r, g)["do"] == "record")

    def send(taps, **typed):
        form = [["taps", taps if isinstance(taps, str) else json.dumps(taps)]] + [[name, typed[name]] for name in typed]
        return door.handle(dict(request, form=form), given)
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
    ({"rims": RIMS, "size": []}, {}, "One known size is needed"),
    ({"rims": RIMS, "size": []}, dict(SIZED, known=""), "Please fill this in"),
    ({"rims": RIMS, "size": []}, dict(SIZED, known="-4"), "at least"),
    ({"rims": RIMS, "size": []}, dict(SIZED, known="wide"), "plain number"),
    ({"rims": RIMS, "size": []}, dict(SIZED, size_pulley="9"), "One known size is needed"),
    ({"rims": RIMS, "size": [[1, 1]]}, dict(SIZED, size="distance"), "Tap the known size in the picture"),
    ({"rims": RIMS, "size": [[1, 1], [3, 1]]}, dict(SIZED, size="distance"), "too close together"),
    ({"rims": RIMS, "size": [[100, 100], [120, 100]]}, dict(SIZED, size="distance", known="2900"), "too close together"),
    ({"rims": RIMS, "size": [[100, 100], [200, 100]]}, dict(SIZED, size="distance", known="2900"), "more than 3 m"),
    ({"rims": RIMS, "size": [[0, 0], [500, 0], [0, 400], [500, 400]]}, {"size": "rectangle", "wide": "297", "wide_unit": "mm", "high": "210",
                                                                       "high_unit": "mm"}, "four corners in turn")])
def test_bad_taps_are_refused_in_words(ask, taps, typed, sentence):
    reply = ask(taps, **typed)
    assert reply["do"] == "page" and reply["status"] == 422
    assert any(sentence in problem[2] for problem in reply["context"]["problems"]), reply["context"]["problems"]
    assert reply["context"]["taps"] == (taps if isinstance(taps, str) else json.dumps(taps))
    assert reply["context"]["known"]["value"] == typed.get("known", "")


def test_good_taps_record_a_drive_from_a_photo(ask):
    reply = ask({"rims": RIMS, "size": []}, kind_1="alternator", face_1="ribs", **dict(SIZED, known="150,50"))
    assert reply["do"] == "record" and len(reply["events"]) == 1
    data = reply["events"][0]["data"]
    assert data["origin"] == "photo"
    crank, other = data["drive"]["pulleys"]
    # The known diameter stands as typed; the rest follows from 400 px for 150.5 mm.
    assert crank["diameter"] == {"value": "150.50", "unit": "mm"} and crank["place"] is None
    assert other["kind"] == "alternator" and other["diameter"] == {"value": "75.3", "unit": "mm"}
    assert other["place"] == {"way": "across_up", "across": {"value": "188.1", "unit": "mm"}, "up": {"value": "0", "unit": "mm"}}
    assert 10 < float(data["drive"]["good_to"]["value"]) < 40


def test_a_second_crankshaft_is_an_idler(ask):
    reply = ask({"rims": RIMS, "size": []}, kind_1="crank", **SIZED)
    assert [p["kind"] for p in reply["events"][0]["data"]["drive"]["pulleys"]] == ["crank", "idler"]
