"""Parts: codes of the GS1 standard, the pick list, what is in the hand, the customer. Values are invented unless a source is named."""

import random

import pytest
import zxingcpp

from tests.core import drive_samples
from tests.core.test_screens import Phone, booked, errors_of, gated
from webapp.core import belts, card, door, drive_entry, events, gaps, gs1, picklist, stocklist, tensioner
from webapp.core.errors import CoreError
from webapp.core.screens import inhand

TODAY = "2026-03-09"


# ---- codes: GS1 General Specifications ----

# Worked examples of GS1's public pages, from memory; their last digit was worked out there.
@pytest.mark.parametrize("digits", ["6291041500213", "614141123452", "96385074", "09520123456788", "03453120000011",
                                    "106141412345678908"])
def test_the_check_digit_of_published_examples(digits):
    assert gs1.check_digit(digits[:-1]) == digits[-1]


def test_the_check_digit_agrees_with_zxing_cpp_on_its_own_barcodes():
    """zxing-cpp works out the last digit of an EAN-13 and an EAN-8 by itself."""
    draw = random.Random(2711)
    for _ in range(40):
        for count, kind in ((12, zxingcpp.BarcodeFormat.EAN13), (7, zxingcpp.BarcodeFormat.EAN8)):
            digits = "".join(draw.choices("0123456789", k=count))
            assert zxingcpp.create_barcode(digits, kind).text[-1] == gs1.check_digit(digits)


def test_every_single_wrong_digit_is_found():
    """ISO/IEC 15420 and the General Specifications say that weights 3 and 1 find every single wrong digit."""
    right = "6291041500213"
    assert gs1.item_number("6 291041-500213") == "0" + right
    for i in range(13):
        for digit in "0123456789":
            if digit != right[i]:
                with pytest.raises(CoreError) as caught:
                    gs1.item_number(right[:i] + digit + right[i + 1:])
                assert caught.value.code == "check-digit"


@pytest.mark.parametrize("text", ["(01)09520123456788(17)201120(10)ABC123(21)77", "(01)03453120000011(17)191125(10)ABCD1234",
                                  "(10)A-1(240)X/2(30)12", "(21)7(01)09520123456788(91)own", "(00)106141412345678908",
                                  "(01)09520123456788(11)260131(37)4(400)PO-7(422)276"])
@pytest.mark.parametrize("kind", [zxingcpp.BarcodeFormat.DataMatrix, zxingcpp.BarcodeFormat.Code128], ids=["DataMatrix", "128"])
def test_elements_are_read_as_zxing_cpp_writes_and_reads_them(text, kind):
    """zxing-cpp lays the elements out with FNC1, reads the picture, and splits the elements by its own table."""
    picture = zxingcpp.create_barcode(text, kind, gs1=True).to_image(scale=4)
    code = zxingcpp.read_barcodes(picture)[0]
    raw = code.bytes.decode("ascii")
    assert code.content_type == zxingcpp.ContentType.GS1
    for scanned in (code.symbology_identifier + raw, gs1.SEPARATOR + raw, code.text):
        found = gs1.elements(scanned, TODAY)
        again = "".join(f"({name}){value[2:].replace('-', '') if name in ('11', '17') else value}" for name, _, value in found)
        assert again == code.text


@pytest.mark.parametrize("value,today,date", [("260229", "2026-03-09", None), ("280200", "2026-03-09", "2028-02-29"),
                                              ("270200", "2026-03-09", "2027-02-28"), ("761231", "2026-03-09", "2076-12-31"),
                                              ("771231", "2026-03-09", "1977-12-31"), ("020101", "2060-01-01", "2102-01-01"),
                                              ("261301", "2026-03-09", None)])
def test_the_century_and_the_last_day_of_a_month(value, today, date):
    """General Specifications 7.12: a year 51 to 99 above the current one is of the last century, 50 to 99 below of the next."""
    if date is None:
        with pytest.raises(CoreError) as caught:
            gs1.elements("(17)" + value, today)
        assert caught.value.code == "gs1-date"
    else:
        assert gs1.elements("(17)" + value, today)[0][2] == date


@pytest.mark.parametrize("text,code", [("]d20109520123456789", "check-digit"), ("(01)0952012345678", "gs1-length"),
                                       ("(10)", "gs1-length"), ("(10)" + "A" * 21, "gs1-length"), ("(30)1A", "gs1-signs"),
                                       ("(10)a b", "gs1-signs"), ("(7999)1", "gs1-unknown"), ("]C1", "gs1-unknown"),
                                       ("(01)09520123456788x)", "gs1-length"), ("]d2770123", "gs1-unknown")])
def test_what_is_no_element_string_is_refused(text, code):
    assert gs1.is_elements(text)
    with pytest.raises(CoreError) as caught:
        gs1.elements(text, TODAY)
    assert caught.value.code == code


# ---- the pick list ----

BELT = dict(section="PK", ribs=6, length={"value": "1432", "unit": "mm"}, length_kind="effective", marking="6PK1432", ribs_counted=6)


def with_old_belt(drive=None, causes=(), **changes):
    """A job past the safety questions with an old belt, on a recorded drive if one is named."""
    phone = gated()
    add(phone, "belt_recorded", dict(belts.blank("old"), **dict(BELT, **changes)), "1")
    if drive:
        add(phone, "drive_recorded", {"name": "Sample", "engine": None, "origin": "tape", "copied_from": None, "shared": False,
                                      "drive": drive_entry.from_drive(drive_samples.load(drive))}, "1")
    if causes:
        add(phone, "cause_named", {"causes": list(causes), "names": list(causes), "reason": "seen", "shown": {}})
    return phone


def add(phone, kind, data, loop="", replaces=None):
    given = phone.given()
    event = events.make(given, 0, kind, phone.job, data, loop, replaces)
    events.check(event, phone.folded)
    phone.events.append(event)
    phone.n += 1
    return event["id"]


def codes(phone):
    return {part["code"]: part["state"] for part in picklist.of(phone.folded, "1")}


def test_the_list_is_what_a_runner_would_be_sent_for():
    """Expected by common practice, no source: trade lists for a seized overrunning pulley and its belt."""
    phone = with_old_belt(causes=["OAP_LOCK"])
    found = {part["code"]: part["need"] for part in picklist.of(phone.folded, "1")}
    assert {"belt", "overrun", "overrun_cap", "overrun_tool"} <= {code for code, need in found.items() if need == "must"}
    assert {"tensioner", "locking_pin", "brush"} <= {code for code, need in found.items() if need == "if_needed"}


def test_a_service_job_gets_the_belt_and_what_goes_along():
    phone = booked(kind="service")
    assert [part["code"] for part in picklist.of(phone.folded, "1") if part["need"] == "must"] == ["belt"]
    assert "brush" in codes(phone)
    assert [part["need"] for part in picklist.of(booked().folded, "1") if part["code"] == "belt"] == ["if_needed"]


def test_a_part_goes_from_ordered_to_picked_and_is_open_again_when_it_goes_back():
    phone = with_old_belt(causes=["B_WORN"])
    assert card.step_state(phone.folded, "1", "parts") == ["open", ""]
    assert phone.post("/jobs/{job}/1/parts/belt", state="ordered", number="6PK1432", due="2026-03-12")["do"] == "record"
    assert card.step_state(phone.folded, "1", "parts") == ["open", "0 of 1 settled. Ordered: Belt, due 2026-03-12."]
    phone.post("/jobs/{job}/1/parts/belt", state="arrived", hand="6PK1432")
    went = phone.post("/jobs/{job}/1/parts/belt", state="picked", hand="6 pk 1432")
    assert went["goto"].endswith("/1/parts") and phone.folded["moves"][-1]["data"]["shown"]["kind"] == "good"
    assert card.step_state(phone.folded, "1", "parts") == ["done", "1 of 1 settled."]
    assert errors_of(phone.post("/jobs/{job}/1/parts/belt", state="returned"))["note"] == "Say why."
    phone.post("/jobs/{job}/1/parts/belt", state="returned", note="Box was torn")
    assert card.step_state(phone.folded, "1", "parts") == ["open", "0 of 1 settled. Returned, open again: Belt."]
    add(phone, "step_recorded", {"step": "parts", "text": "All there"}, "1")
    assert card.step_state(phone.folded, "1", "parts")[0] == "open"


def test_taking_the_last_move_back_undoes_it():
    phone = with_old_belt(causes=["B_WORN"])
    phone.post("/jobs/{job}/1/parts/belt", state="picked")
    add(phone, "withdrawn", {"reason": "mis-tap"}, "1", phone.folded["moves"][-1]["id"])
    assert codes(phone)["belt"] == "open"


def test_a_part_that_people_add_is_on_the_list_and_another_cause_leaves_no_order_behind():
    phone = with_old_belt(causes=["B_WORN"])
    assert set(errors_of(phone.post("/jobs/{job}/1/parts", need="must"))) == {"what", "how_many"}
    phone.post("/jobs/{job}/1/parts", what="Mount bolts", how_many="4", need="must", why="single use")
    own = phone.folded["parts"][0]["data"]["part"]
    phone.post("/jobs/{job}/1/parts", what="Mount bolts", how_many="4", need="must")
    assert own.startswith("own-") and phone.folded["parts"][1]["data"]["part"] != own, "two people may add at the same time"
    add(phone, "withdrawn", {"reason": "twice"}, "1", phone.folded["parts"][1]["id"])
    assert phone.get("/jobs/{job}/1/parts/" + own)["status"] == 200
    assert phone.get("/jobs/{job}/1/parts/own-2")["status"] == 404 and phone.get("/jobs/{job}/9/parts")["status"] == 404
    phone.post("/jobs/{job}/1/parts/tensioner", state="ordered", note="to be sure")
    add(phone, "cause_named", {"causes": ["MISFIRE"], "names": ["Misfire"], "reason": "seen", "shown": {}})
    assert codes(phone) == {own: "open", "tensioner": "ordered"}


# ---- what is in the hand ----

def hand(phone, text="", code="belt", **query):
    reply = phone.ask("GET", "/jobs/{job}/1/parts/" + code, [("hand", text)] + list(query.items()))
    return reply["context"]["verdict"]


def told(verdict):
    return verdict["kind"], " ".join(verdict["reasons"])


def test_one_rib_less_is_a_stop_that_nobody_passes_without_a_reason():
    phone = with_old_belt(causes=["B_WORN"])
    verdict = hand(phone, "5PK1432")
    assert verdict["word"] == "STOP" and verdict["reasons"][0] == "One rib less: 6 needed, 5 in the hand."
    refused = phone.post("/jobs/{job}/1/parts/belt", state="picked", hand="5PK1432", number="typed")
    assert "STOP" in errors_of(refused)["note"] and refused["context"]["number"]["value"] == "typed"
    assert refused["context"]["hand"]["value"] == "5PK1432"
    phone.post("/jobs/{job}/1/parts/belt", state="picked", hand="5PK1432", note="Maker's bulletin, says Maud")
    taken = [row for row in gaps.of(phone.folded) if "taken although it differs" in row[1]]
    assert len(taken) == 1 and "Maud" in taken[0][1]


def test_a_longer_belt_is_a_stop_with_the_place_of_the_pointer():
    """The tensioner's own sums are checked against handbook formulas in test_tensioner; here their answer has to be said."""
    phone = with_old_belt("automatic", ["B_WORN"])
    kind, text = told(hand(phone, "6PK1432"))
    assert kind == "good" and "The pointer would stand at" in text
    kind, text = told(hand(phone, "6PK1440"))
    assert kind == "stop" and "8 mm longer" in text and "The pointer would stand at" in text and "% of its travel" in text
    drive = drive_samples.load("automatic")
    drive["belt"]["effective_mm"] = 1440
    assert f"stand at {100 * tensioner.rest(drive)['travel_used']:.0f} % of its travel" in text
    assert told(hand(with_old_belt(), "6PK1452"))[0] == "stop"


def test_the_belt_named_as_wrong_is_no_measure_for_the_new_one():
    phone = with_old_belt(causes=["B_WRONG"], marking="6PK1500", length={"value": "1500", "unit": "mm"})
    assert told(hand(phone, "6PK1500"))[0] == "open"
    phone = with_old_belt("automatic", ["B_WRONG"], marking="6PK1500", length={"value": "1500", "unit": "mm"})
    kind, text = told(hand(phone, "6PK1500"))
    assert kind == "stop" and "recorded drive" in text


@pytest.mark.parametrize("text,kind,said", [
    ("fan motor", "open", "Neither"), ("6PK", "open", "length"), ("6DPK1432", "stop", "both faces"),
    ("6PK1435", "watch", "3 mm longer"), ("https://spanwright.example/t/0123456789abcdef", "stop", "tag of a car, not a part. Scan the code on the part"),
    ("https://example.com/manual", "open", "web page"), ("6291041500214", "open", "would have to be 3"),
    ("6291041500213", "open", "No stock list"), ("(10)A1", "open", "names no item"), ("(7999)1", "open", "not known here"),
    ("(01)09520123456788(17)260308", "stop", "expired on 2026-03-08"), ("(01)09520123456788|", "open", "No stock list")])
def test_what_a_belt_is_held_against(text, kind, said):
    found = told(hand(with_old_belt(causes=["B_WORN"]), text))
    assert found[0] == kind and said in found[1], found


def test_a_tag_of_this_car_and_a_voided_one_are_told_apart_from_parts():
    phone = with_old_belt(causes=["B_WORN"])
    token = phone.folded["tags"][0]["token"]
    address = "https://spanwright.example/t/" + token
    kind, text = told(hand(phone, address))
    assert kind == "stop" and "tag of this very car" in text
    assert phone.post("/jobs/{job}/tag", act="void", reason="Lost under the hood")["do"] == "record"
    kind, text = told(hand(phone, address))
    assert kind == "stop" and "voided: Lost under the hood. Throw it away" in text


def test_a_stretch_fit_belt_is_not_told_by_its_length_alone():
    """Trade knowledge, common practice: the printed length of a stretch-fit belt looks like an ordinary one."""
    kind, text = told(hand(with_old_belt(stretch=True), "6PK1432"))
    assert kind == "open" and "packet" in text
    assert told(hand(with_old_belt(), "6PK1432 stretch"))[0] == "stop"


def test_a_solid_alternator_pulley_is_a_stop():
    phone = with_old_belt(causes=["OAP_LOCK"])
    kind, text = told(hand(phone, code="overrun", pulley="solid"))
    assert kind == "stop" and "solid pulley instead of an overrunning one" in text
    assert told(hand(phone, code="overrun", pulley="one_way"))[0] == "good"
    assert told(hand(phone, code="overrun", pulley="decoupler"))[0] == "stop"
    assert hand(phone, code="belt", pulley="solid") is None
    assert told(hand(phone, "6PK1432", code="overrun", pulley="one_way"))[0] == "stop", "a belt is no pulley"


def test_another_number_than_the_one_written_down_is_a_stop():
    phone = with_old_belt(causes=["OAP_LOCK"])
    assert told(hand(phone, "AB-100 7", code="overrun"))[0] == "open"
    phone.post("/jobs/{job}/1/parts/overrun", state="ordered", number="AB-100 7")
    assert told(hand(phone, "ab1007", code="overrun"))[0] == "good"
    kind, text = told(hand(phone, "AB-100 8", code="overrun"))
    assert kind == "stop" and "AB-100 7 was written down" in text


def test_separators_survive_the_field_that_shows_them():
    text = "0109520123456788" + "10A1" + gs1.SEPARATOR + "217"
    phone = with_old_belt()
    shown = phone.ask("GET", "/jobs/{job}/1/parts/belt", [("hand", text)])["context"]
    again = phone.ask("GET", "/jobs/{job}/1/parts/belt", [("hand", shown["hand"]["value"])])["context"]
    assert shown["verdict"]["read"] == again["verdict"]["read"] == [
        ["Item (01)", "09520123456788"], ["Batch (10)", "A1"], ["Serial number (21)", "7"]]


def test_bad_input_is_told_beside_its_field():
    phone = with_old_belt(causes=["B_WORN"])
    refused = phone.post("/jobs/{job}/1/parts/belt", state="ordered", due="2026-02-30", note="x" * 301, hand="y" * 201)
    assert set(errors_of(refused)) == {"due", "note", "hand"} and refused["context"]["due"]["value"] == "2026-02-30"
    assert "state" in errors_of(phone.post("/jobs/{job}/1/parts/belt", state="eaten"))
    nobody = Phone(who="")
    nobody.events, nobody.job = phone.events, phone.job
    assert "" in errors_of(nobody.post("/jobs/{job}/1/parts/belt", state="picked"))
    assert inhand.readable("a" + gs1.SEPARATOR + "b") == "a | b"


# ---- the customer ----

def test_the_job_waits_for_the_customer_until_the_answer():
    phone = with_old_belt(causes=["B_WORN"])
    assert "Parts: Belt." in phone.get("/jobs/{job}/asked")["context"]["what"]["value"]
    assert "by" in errors_of(phone.post("/jobs/{job}/asked", what="Belt", answer="offered"))
    phone.post("/jobs/{job}/asked", what="Belt and idler", answer="offered", by="Owner, by telephone")
    assert card.waiting_for(phone.folded) == "customer" and card.waits_in_words(phone.folded) == "Customer asked, no answer yet"
    assert [row for row in gaps.of(phone.folded) if "has not answered" in row[1]]
    offer = phone.folded["asked"][0]["id"]
    refused = phone.post("/jobs/{job}/asked", offer=offer, answer="declined", by="")
    assert "by" in errors_of(refused) and refused["context"]["offers"][0]["error"]
    phone.post("/jobs/{job}/asked", offer=offer, answer="declined", by="Owner, at the desk")
    assert card.waiting_for(phone.folded) == "technician" and phone.folded["asked"][0]["data"]["what"] == "Belt and idler"
    assert "Declined" in phone.get("/jobs/{job}/1/parts")["context"]["customer"]["sentence"]
    assert "answered or taken back" in errors_of(phone.post("/jobs/{job}/asked", offer=offer, answer="accepted", by="Owner"))[""]


def test_parts_and_answers_stand_on_the_sheet():
    phone = with_old_belt(causes=["OAP_LOCK"])
    phone.post("/jobs/{job}/asked", what="Wiper blades", answer="declined", by="Owner")
    phone.post("/jobs/{job}/1/parts", what="Mount bolts", how_many="4", need="must", why="single use")
    phone.post("/jobs/{job}/1/parts/overrun", state="picked", pulley="solid", note="Maud: maker's bulletin")
    given = dict(phone.given(), table={"causes": [], "checks": []}, job=phone.folded)
    from webapp.core.screens import sheet
    lines = sheet.part_lines(phone.folded, "1", given) + sheet.asked_lines(phone.folded, given)
    text = " ".join(line["label"] + " " + line["text"] for line in lines)
    for words in ("4, Mount bolts. single use", "Alternator pulley Picked. STOP: A solid pulley", "Maud", "Declined: Wiper blades"):
        assert words in text


# ---- the stock list ----

LINES = [{"number": "VR-6 1432", "name": "Belt", "kind": "", "marking": "6PK1432", "quantity": "2", "place": "Rack 4", "item": "06291041500213"},
         {"number": "VR-5 1432", "name": "Belt", "kind": "", "marking": "5 pk 1432", "quantity": "1", "place": "", "item": "09520123456788"},
         {"number": "OAP-77", "name": "Pulley", "kind": "", "marking": "", "quantity": "0", "place": "", "item": "03453120000011"}]


class Stocked(Phone):
    """A device that holds a stock list, and hands a screen the lines that the core asks for."""

    def ask(self, method, path, query=(), form=()):
        request = {"method": method, "path": path.replace("{job}", self.job), "query": list(query), "form": list(form)}
        self.keys = door.stock_keys(request, self.events, TODAY) if "/parts" in path else []
        return super().ask(method, path, query, form)

    def given(self):
        lines = [line for line in LINES if set(stocklist.keys_of(line)) & set(self.keys)] if hasattr(self, "keys") else []
        return dict(super().given(), stock={"known": True, "lines": lines})


def stocked(*causes):
    phone, old = Stocked(), with_old_belt(causes=causes)
    phone.events, phone.job, phone.n = old.events, old.job, old.n
    return phone


@pytest.mark.parametrize("text,kind,said", [
    ("6291041500213", "good", "Stock list: VR-6 1432"), ("vr61432", "good", "Same section"),
    ("(01)06291041500213(10)L1", "good", "VR-6 1432"), ("]d20109520123456788", "stop", "One rib less"),
    ("OAP-77", "open", "no belt marking"), ("6PK1432", "good", "Same section"), ("4006381333931", "open", "not in the stock list")])
def test_a_barcode_or_number_of_the_list_is_judged_by_its_line(text, kind, said):
    found = told(hand(stocked("B_WORN"), text))
    assert found[0] == kind and said in found[1], found


def test_another_item_than_the_one_written_down_is_a_stop():
    phone = stocked("OAP_LOCK")
    assert told(hand(phone, "3453120000011", code="overrun"))[0] == "open"
    phone.post("/jobs/{job}/1/parts/overrun", state="ordered", number="OAP-77")
    assert told(hand(phone, "3453120000011", code="overrun"))[0] == "good"
    assert told(hand(phone, "6291041500213", code="overrun"))[0] == "stop"


def test_the_list_says_what_is_there_and_what_is_short():
    phone = stocked("OAP_LOCK", "B_WORN")
    phone.post("/jobs/{job}/1/parts/overrun", state="ordered", number="oap 77")
    phone.post("/jobs/{job}/1/parts", what="Spare belt", how_many="3", need="must", number="VR-6 1432")
    rows = {row["what"]: row["stock"] for group in phone.get("/jobs/{job}/1/parts")["context"]["groups"] for row in group["rows"]}
    assert rows["Belt"] == {"kind": "good", "text": "2 in stock, Rack 4"}
    assert rows["Alternator pulley"] == {"kind": "watch", "text": "None in stock"}
    assert rows["Spare belt"] == {"kind": "watch", "text": "Short: 2 of 3 in stock, Rack 4"}
    assert rows["Cleaning brush for the grooves"] is None
