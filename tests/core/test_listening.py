"""What the readings page says about a heard sound; the sounds are synthetic (tests/plucks.py), the page's script is read as text."""

import json
import math
import re

import plucks
import pytest
from wasm import ROOT, on_wasm

from tests.core import drive_samples as samples
from tests.core import test_drive_tension
from webapp.core import door, numbers, pluck, words
from webapp.core.screens import listening

SCRIPT = (ROOT / "static" / "js" / "listen.js").read_text()
ATTACH = (ROOT / "static" / "js" / "attach.js").read_text()
TEMPLATE = (ROOT / "webapp" / "templates" / "_listen.html").read_text()
PLAIN = {"samples": [], "rate": 8000, "band": None, "clipped": 0.0}


def asked(seed=9101, **how):
    take = plucks.make_take(seed, noise="pink", thumps=0, **how)
    return dict(PLAIN, samples=list(take.samples)), take.meta["f1"]


def summed(argument):
    return json.loads(door.long_sum("listen", json.dumps(argument)))


@pytest.fixture
def found(monkeypatch):
    """What `pluck.listen` is to answer; everything else of it stays."""
    answer = pluck.listen([0] * 9000, 8000)
    monkeypatch.setattr(pluck, "listen", lambda samples, rate, band: answer)
    return answer


def test_a_pluck_becomes_a_reading_with_its_interval_and_the_lines_used():
    argument, truth = asked(snr_db=20, f1=70.0)
    told = summed(argument)["value"]
    assert abs(numbers.read_number(told["hz"], "reading") / truth - 1) < 0.01
    low, high = [float(text) for text in re.match(r"([\d.]+) to ([\d.]+) Hz with 95 %", told["between"]).groups()]
    assert low < float(told["hz"]) < high and "synthetic" in told["between"] and told["sentence"] == ""
    picture = told["picture"]
    lines = [float(text) for text in re.search(r"answer: ([\d., ]+) Hz", picture["text"])[1].split(", ")]
    # The first partial and others near its multiples: a stiff string (Fletcher 1964) sounds a little sharp of them.
    assert abs(lines[0] / truth - 1) < 0.01 and all(-0.02 < hz / truth - round(hz / truth) or hz > 6 * truth for hz in lines)
    spots = [float(text) for text in re.findall(r"[\d.]+", picture["line"] + picture["used"])]
    assert max(spots[::2]) <= 600 and max(spots[1::2]) <= 260 and picture["used"].count("M") >= 3
    assert picture["labels"][0]["text"] == "1" and picture["labels"][-1]["text"].endswith(" Hz")


def test_the_reading_comes_from_the_sound_and_not_from_the_band():
    told = []
    for seed in range(9100, 9112):
        argument, truth = asked(seed, snr_db=20, f1=70.0)
        told.append(summed(dict(argument, band=[120.0, 180.0]))["value"])
        assert not told[-1]["hz"] or abs(float(told[-1]["hz"]) / truth - 1) < 0.015
        assert told[-1]["note"] == (words.reason("pluck-outside", {}) if told[-1]["hz"] else "")
    assert len([one for one in told if one["hz"]]) >= 4


@pytest.mark.parametrize(("samples", "said"), [
    ([0] * 14400, "pluck-silent"), ([100, -100] * 2000, "pluck-short"), ([100, -100] * 7200, "pluck-nothing")])
def test_what_is_no_pluck_is_declined_in_words(samples, said):
    told = summed(dict(PLAIN, samples=samples))["value"]
    assert told["hz"] == told["between"] == "" and told["sentence"] == words.reason(said, {})


def test_a_clipped_sound_is_called_that_although_the_core_got_it_filtered(found):
    found["why"] = "noisy"
    assert listening.heard(dict(PLAIN, clipped=0.02), None)["sentence"] == words.reason("pluck-clipped", {})
    assert listening.heard(PLAIN, None)["sentence"] == words.reason("pluck-noisy", {})
    found["why"] = "silent"
    assert listening.heard(dict(PLAIN, clipped=0.02), None)["sentence"] == words.reason("pluck-silent", {})


def test_two_answers_are_a_question_with_both_and_fill_nothing(found):
    found.update(why="two-answers", best_hz=141.2, other_hz=70.6)
    told = listening.heard(PLAIN, None)
    assert told["hz"] == "" and told["sentence"].startswith("70.6 Hz and 141 Hz fit this sound.")


def test_a_bad_sound_is_refused_and_not_a_crash():
    for wrong in ({"samples": "x"}, {"samples": [70000]}, {"rate": 100}, {"band": [5, 1]}, {"samples": [0] * 170000}):
        assert summed(dict(PLAIN, **wrong))["ok"] is False, wrong


def test_the_script_says_only_what_the_page_brings():
    keys = set(re.findall(r'\b(?:say|stop)\("([a-z-]+)"[,)]', SCRIPT)) | set(re.findall(r'Error: "([a-z]+)"', SCRIPT))
    keys |= set(re.findall(r'said\.get\("([a-z-]+)"\)', SCRIPT)) | {"count-1", "count-2", "count-3", "not-started", "again", "stop", "weak", "nothing"}
    keys |= set(re.findall(r"(\w+): false", SCRIPT.split("const RAW")[1].splitlines()[0]))
    keys |= {"not-kept-" + code for line in ATTACH.splitlines() if "new NotKept(" in line for code in re.findall(r'"(\w+)"', line)}
    brought = dict(listening.offer([])["says"])
    # Texts of a declined sound come with the answer.
    assert keys - {"declined"} == set(brought) and len(keys) > 20
    assert all(len(text) > 3 for text in brought.values())
    parts = set(re.findall(r'part\("([a-z]+)"\)', SCRIPT))
    assert parts and all(f"data-listen-{name}" in TEMPLATE for name in parts)


def test_the_page_hands_over_the_band_that_the_drive_lets_expect():
    phone, _data = test_drive_tension.ready("eccentric", new="6PK1500", target=("300", "500"))
    page = phone.get("/1/tension/pluck", *test_drive_tension.typed(phone), ("step", "read"))["context"]
    low, high = json.loads(page["listen"]["band"])
    sentence = page["told"]["expect"]["sentence"]
    assert test_drive_tension.band_of(sentence) == pytest.approx((low, high), abs=1)
    # Nowhere among what is offered as a reading.
    assert [row["value"] for row in page["rows"] + page["listen"]["rows"]] == [""] * 12
    assert phone.get("/1/tension/press", *test_drive_tension.typed(phone, "press", force="25"), ("step", "read"))["context"]["listen"] is None


@pytest.mark.parametrize("name", samples.NAMES)
def test_the_span_to_pluck_is_drawn_between_its_two_pulleys(name):
    phone, data = test_drive_tension.ready(name)
    for one in phone.get("/1/tension")["context"]["spans"]:
        page = phone.get("/1/tension/pluck", *test_drive_tension.typed(phone, span=one["name"]), ("step", "read"))["context"]
        ends = [float(text) for text in re.findall(r"-?[\d.]+", page["route"]["measured"])]
        circles = {p["number"]: p for p in page["route"]["pulleys"]}
        names = [pulley["name"] for pulley in data["pulleys"]]
        for (x, y), pulley in zip((ends[:2], ends[2:]), one["name"].split(" – ")):
            circle = circles[str(names.index(pulley) + 1)]
            away = math.hypot(x - float(circle["x"]), y - float(circle["y"]))
            assert abs(away - float(circle["r"])) < 4, (one["name"], pulley)
    page = phone.get("/1/tension/pluck", *test_drive_tension.typed(phone, span="none of them"), ("step", "read"))
    assert page["context"]["route"] is None


def test_without_a_drive_there_is_no_band():
    offered = listening.offer([])
    listening.expect(offered, {"some": False})
    listening.expect(None, {"expect": {"band": [1.0, 2.0]}})
    assert offered["band"] == "null"


def test_the_phone_hears_the_same():
    argument, _truth = asked(snr_db=12, f1=45.0)
    answer = on_wasm(cases=[{"module": "door", "function": "long_sum", "args": ["listen", json.dumps(argument)]}])["cases"][0]
    assert json.loads(answer["value"]) == summed(argument)


# ---- the sounds kept with a reading ----

NAMES = ["0a" * 32, "1b" * 32, "2c" * 32]


@pytest.mark.parametrize(("sent", "kept"), [
    (["70.1 " + NAMES[0], "70.1 " + NAMES[1], "69.8 " + NAMES[2]], NAMES),
    (["70.1 " + NAMES[0]], [NAMES[0], None, None]), (["69.8 " + NAMES[2]], [None, None, NAMES[2]]),
    # Typed over since: the sound is of another value.
    (["70.2 " + NAMES[0]], None),
    (["70.1", "70.1 x", "70.1 " + "G" * 64, "70.1 a " + NAMES[0], ""], None), ([], None)])
def test_a_sound_stays_with_the_value_that_was_heard_in_it_and_is_played_from_its_line(sent, kept):
    phone, _data = test_drive_tension.ready("eccentric", new="6PK1500", target=("300", "500"))
    typed = test_drive_tension.typed(phone) + [("reading", text) for text in ("70.1", "70.1", "69.8")]
    page = phone.get("/1/tension/pluck", *typed, ("step", "read"))["context"]
    assert page["listen"]["keeps"] and not listening.offer([])["keeps"]
    reply = phone.post("/1/tension/pluck", *typed, *[("sound", text) for text in sent])
    assert reply["do"] == "record" and phone.standing("span_read")[0]["data"].get("sounds") == kept
    links = [{"path": "/sounds/" + name, "label": text + " Hz"} for name, text in zip(kept or [], ("70.1", "70.1", "69.8"), strict=False) if name]
    assert phone.get("/1/tension")["context"]["entries"][0]["sounds"] == links
    assert phone.get("/history")["context"]["entries"][0]["sounds"] == links
    lines = [line for block in phone.get("/sheet")["context"]["loops"] for line in block["lines"] if line["label"] == "Reading"]
    said = [pair[1] for pair in lines[0]["shown"] if pair[0] == "Sound kept at the workshop for"]
    assert lines[0]["sounds"] == links and said == ([", ".join(link["label"] for link in links)] if links else [])
