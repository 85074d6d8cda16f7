"""The job card's screens as functions, through the core's one door. Values are invented unless a source is named."""

import uuid

import pytest

from webapp.core import card, door, events, forms, gaps, times, words

PEOPLE = [{"id": "ines", "name": "Ines", "roles": ["technician"], "active": True},
          {"id": "maud", "name": "Maud", "roles": ["supervisor"], "active": True},
          {"id": "gone", "name": "Gone", "roles": ["technician"], "active": False}]
SHOP = {"name": "Halden Lane", "address": "", "length_unit": "mm", "force_unit": "N", "distance_unit": "km", "paper": "a4",
        "origin": "https://spanwright.example", "tape_constants": {}}
BOOKING = {"registration": "hl07 kzr", "vin": "", "car": "Estate 1.9", "engine": "", "distance": "184210,5",
           "distance_unit": "km", "complaint": "squeals when cold", "kind": "fault"}
FACTS = {"count": "1", "voltage": "12", "start_stop": "none", "alternator_pulley": "one_way", "crank_pulley": "damper",
         "compressor": "clutch", "steering": "electric", "water_pump": "this_belt", "access": "above",
         "name1": "Main belt", "ribs1": "6", "belt1": "ribbed", "tensioner1": "automatic", "marks1": "limits",
         "pin_hole1": "yes"}
CONFIRMED = [("confirmed", code) for code, _ in words.choice_pairs("gate")]


class Phone:
    """One device: asks the core and keeps what it records."""

    def __init__(self, who="ines", people=None, host="phone"):
        self.events, self.who, self.people, self.host, self.n, self.job = [], who, people or PEOPLE, host, 1, ""
        self.found = {"jobs": [], "voided": False}
        self.outbox = {"waiting": 1, "photos": 0, "sounds": 0, "refused": [], "refused_photos": [], "full": False, "last_sync": ""}

    def given(self):
        board = [card.summary(events.fold(self.events))] if self.events else []
        return {"now": "2026-03-09T08:05:00Z", "who": self.who, "device": "phone-1", "n": self.n, "host": self.host,
                "ids": [str(uuid.uuid4()) for _ in range(40)], "events": list(self.events), "people": self.people,
                "shop": dict(SHOP), "board": board, "found": self.found,
                "outbox": self.outbox}

    def ask(self, method, path, query=(), form=()):
        reply = door.handle({"method": method, "path": path.replace("{job}", self.job), "query": [list(p) for p in query],
                             "form": [list(p) for p in form]}, self.given())
        if reply["do"] == "record":
            self.events += reply["events"]
            self.n += len(reply["events"])
            self.job = self.events[0]["job"] if self.events else ""
        return reply

    def get(self, path, *query):
        return self.ask("GET", path, query)

    def post(self, path, *pairs, **form):
        return self.ask("POST", path, (), list(form.items()) + list(pairs))

    @property
    def folded(self):
        return events.fold(self.events)


def booked(**changes):
    phone = Phone()
    assert phone.post("/book", **dict(BOOKING, **changes))["do"] == "record"
    return phone


def gated():
    phone = booked()
    assert phone.post("/jobs/{job}/facts", **FACTS)["do"] == "record"
    assert phone.post("/jobs/{job}/gate", *CONFIRMED, voltage="12", start_stop="none")["do"] == "record"
    return phone


def errors_of(reply):
    """{field: sentence} of every field on the page that shows an error."""
    assert reply["do"] == "page" and reply["status"] == 422
    return {p[0]: p[2] for p in reply["context"]["problems"]}


# ---- booking ----

def test_booking_makes_the_job_and_its_tag_and_goes_to_the_card():
    phone = Phone()
    reply = phone.post("/book", **BOOKING)
    assert [e["kind"] for e in reply["events"]] == ["booked_in", "tag_issued"]
    assert reply["goto"] == "/jobs/" + reply["events"][0]["job"]
    token = reply["events"][1]["data"]["token"]
    assert len(token) == 32 and events.is_hex(token)
    assert len({e["id"] for e in reply["events"]} | {reply["events"][0]["job"]}) == 3
    data = reply["events"][0]["data"]
    assert data["registration"] == "HL07 KZR"
    assert data["distance"] == {"value": "184210.5", "unit": "km"}
    assert data["service"] is False and data["vin"] is None


@pytest.mark.parametrize("name, typed", [
    ("registration", ""), ("registration", "   "), ("registration", "A" * 17), ("complaint", ""), ("complaint", "x" * 601),
    ("kind", ""), ("kind", "holiday"), ("distance", "NaN"), ("distance", "1e309"), ("distance", "-5"),
    ("distance", "12 miles"), ("distance", "1.2.3"), ("distance_unit", "furlong"), ("vin", "ABC"),
    ("vin", "1M8GDM9AXKP04278O"), ("car", "x" * 61)])
def test_bad_booking_is_said_beside_its_field_and_nothing_typed_is_lost(name, typed):
    phone = Phone()
    form = dict(BOOKING, **{name: typed})
    reply = phone.post("/book", **form)
    field = "distance" if name == "distance_unit" else name
    assert field in errors_of(reply)
    assert phone.events == []
    shown = {f["name"]: f for f in reply["context"]["fields"]}
    shown["distance"] = reply["context"]["distance"]
    assert shown[field]["error"]
    for key in ("registration", "complaint", "car", "vin", "distance"):
        assert shown[key]["value"] == form[key]


def test_a_wrong_check_digit_warns_and_may_be_booked_anyway():
    """1M8GDM9AXKP042788 is the worked example of 49 CFR 565.15 as commonly reprinted (from memory): digit X."""
    good, bad = "1M8GDM9AXKP042788", "1M8GDM9A1KP042788"
    assert Phone().post("/book", **dict(BOOKING, vin=good))["do"] == "record"
    reply = Phone().post("/book", **dict(BOOKING, vin=bad))
    assert "X" in errors_of(reply)["vin"]
    assert reply["context"]["ask_vin"] is True
    again = Phone().post("/book", **dict(BOOKING, vin=bad, vin_anyway="yes"))
    assert again["events"][0]["data"]["vin"] == bad


def test_the_check_digit_is_not_judged_outside_north_america():
    """First sign W is a European region code (ISO 3780), where the ninth sign is the maker's own."""
    assert Phone().post("/book", **dict(BOOKING, vin="WVWZZZ1JZXW000001"))["do"] == "record"


def test_booking_needs_a_person_and_keeps_what_was_typed():
    phone = Phone(who="")
    assert phone.get("/book") == {"do": "go", "goto": "/who?next=/book"}
    reply = phone.post("/book", **BOOKING)
    assert reply["status"] == 422 and "who is working" in reply["context"]["problems"][0][2]
    assert reply["context"]["fields"][0]["value"] == "hl07 kzr"


def test_correcting_a_booking_replaces_it():
    phone = booked()
    shown = {f["name"]: f for f in phone.get("/jobs/{job}/booking")["context"]["fields"]}
    assert shown["registration"]["value"] == "HL07 KZR"
    phone.post("/jobs/{job}/booking", **dict(BOOKING, registration="HL70 KZR"))
    job = phone.folded
    assert job["booked"]["data"]["registration"] == "HL70 KZR"
    assert [e["state"] for e in job["history"]] == ["replaced", "stands", "stands"]


# ---- facts and safety ----

def test_facts_record_each_loop_and_may_be_corrected():
    phone = booked()
    two = dict(FACTS, count="2", name2="Air-con belt", ribs2="", belt2="stretch", tensioner2="stretch_fit", marks2="none",
               pin_hole2="no")
    phone.post("/jobs/{job}/facts", **two)
    assert phone.folded["loops"] == [["1", "Main belt"], ["2", "Air-con belt"]]
    phone.post("/jobs/{job}/facts", **FACTS)
    assert phone.folded["loops"] == [["1", "Main belt"]]
    assert phone.events[-1]["replaces"] == phone.events[-2]["id"]


def test_one_question_a_screen_each_answer_saved_at_once():
    phone = booked()
    path = card.step_path(phone.folded, "", "booked")
    picked = {"voltage": "12", "start_stop": "none", "count": "2", "belt1": "ribbed", "ribs1": "6", "tensioner1": "automatic",
              "marks1": "limits", "pin_hole1": "yes", "belt2": "vbelt", "tensioner2": "slotted", "alternator_pulley": "solid",
              "crank_pulley": "damper", "compressor": "none", "steering": "electric", "water_pump": "this_belt",
              "access": "above"}
    asked = []
    while "/facts/" in path:
        asked.append(path.split("/")[-1])
        assert phone.get(path)["template"] == "ask.html"
        saved = len(phone.events)
        path = phone.post(path, answer=picked[asked[-1]])["goto"]
        assert len(phone.events) == saved + 1 or (asked[-1] == "count" and picked["count"] == "1")
    assert asked == ["voltage", "start_stop", "count", "belt1", "ribs1", "tensioner1", "marks1", "pin_hole1", "belt2",
                     "tensioner2", "alternator_pulley", "crank_pulley", "compressor", "steering", "water_pump", "access"]
    data = phone.folded["facts"]["data"]
    assert [(p["belt"], p["ribs"], p["tensioner"]) for p in data["loops"]] == [("ribbed", 6, "automatic"), ("vbelt", None, "slotted")]
    assert data["access"] == "above" and path == "/jobs/" + phone.job


def test_the_same_answer_again_records_nothing():
    phone = booked()
    phone.post("/jobs/{job}/facts/voltage", answer="12")
    count = len(phone.events)
    assert phone.post("/jobs/{job}/facts/voltage", answer="12")["do"] == "go"
    assert len(phone.events) == count


@pytest.mark.parametrize("ask, picked, status", [("voltage", "13", 422), ("voltage", "", 422), ("ribs1", "99", 422),
                                                 ("count", "unknown", 422), ("belt2", "ribbed", 404), ("nothing", "x", 404)])
def test_a_bad_answer_records_nothing(ask, picked, status):
    phone = booked()
    count = len(phone.events)
    assert phone.post("/jobs/{job}/facts/" + ask, answer=picked)["status"] == status
    assert len(phone.events) == count


@pytest.mark.parametrize("name, typed", [("voltage", ""), ("count", "4"), ("ribs1", "0"), ("ribs1", "61"), ("ribs1", "six"),
                                         ("ribs1", "9" * 40), ("name1", ""), ("tensioner1", "rope")])
def test_bad_facts_are_said_beside_their_field(name, typed):
    phone = booked()
    assert name in errors_of(phone.post("/jobs/{job}/facts", **dict(FACTS, **{name: typed})))
    assert phone.folded["facts"] is None


def test_the_gate_takes_voltage_and_start_stop_from_the_facts():
    phone = booked()
    phone.post("/jobs/{job}/facts", **FACTS)
    context = phone.get("/jobs/{job}/gate")["context"]
    assert [o["value"] for o in context["voltage"]["options"] if o["on"]] == ["12"]
    assert [o["value"] for o in context["start_stop"]["options"] if o["on"]] == ["none"]
    assert not [o for o in context["confirmed"]["options"] if o["on"]]


@pytest.mark.parametrize("form, field", [
    ({"voltage": "unknown", "start_stop": "none"}, "voltage"), ({"voltage": "12", "start_stop": "unknown"}, "start_stop"),
    ({"voltage": "12", "start_stop": "awake"}, "start_stop"), ({"voltage": "48", "start_stop": "asleep"}, "authorised"),
    ({"voltage": "high", "start_stop": "none"}, "authorised"), ({"voltage": "", "start_stop": "none"}, "voltage")])
def test_the_gate_stays_shut(form, field):
    phone = booked()
    reply = phone.post("/jobs/{job}/gate", *CONFIRMED, **form)
    assert field in errors_of(reply)
    assert phone.folded["gate"] is None


@pytest.mark.parametrize("left_out", [code for code, _ in words.choice_pairs("gate")])
def test_every_line_of_the_gate_has_to_be_confirmed(left_out):
    phone = booked()
    some = [pair for pair in CONFIRMED if pair[1] != left_out]
    assert "confirmed" in errors_of(phone.post("/jobs/{job}/gate", *some, voltage="12", start_stop="none"))


def test_48_volts_passes_only_with_the_named_trained_person():
    phone = booked()
    phone.post("/jobs/{job}/gate", *CONFIRMED, voltage="48", start_stop="asleep", authorised="R. Lind, 48 V course")
    assert phone.folded["gate"]["data"]["authorised"] == "R. Lind, 48 V course"


@pytest.mark.parametrize("form, who", [
    ({"voltage": "48", "start_stop": "none"}, "trained"), ({"voltage": "12", "start_stop": "awake"}, "asleep|sleep"),
    ({"voltage": "unknown", "start_stop": "none"}, "supervisor"), ({"voltage": "12", "start_stop": "unknown"}, "Nobody")])
def test_stopping_says_who_may_proceed(form, who):
    phone = booked()
    phone.post("/jobs/{job}/gate", stop="yes", **form)
    reason = phone.folded["gate_stop"]["data"]["reason"]
    assert any(word in reason for word in who.split("|"))
    assert phone.get("/jobs/{job}")["context"]["next"]["name"] == "Safety"


def test_the_gate_goes_back_to_where_it_was_asked_and_nowhere_else():
    phone = booked()
    target = "/jobs/" + phone.job + "/1/belts"
    assert phone.get("/jobs/{job}/gate", ("next", target))["context"]["next"] == target
    reply = phone.post("/jobs/{job}/gate", *CONFIRMED, voltage="12", start_stop="none", next="https://else.example/")
    assert reply["goto"] == "/jobs/" + phone.job


@pytest.mark.parametrize("path, safe", [
    ("/jobs", True), ("/jobs/1?loop=2#x", True), ("//else.example", False), ("https://else.example", False), ("", False),
    ("/\\else.example", False), ("/a b", False), ("/a\nb", False), ("javascript:alert(1)", False), ("/" + "a" * 300, False)])
def test_only_paths_of_this_app_are_gone_to(path, safe):
    assert forms.local_path(path, "/jobs/x") == (path if safe else "/jobs/x")


# ---- steps, notes, photos ----

def test_a_step_is_recorded_corrected_and_answered_another_way():
    phone = gated()
    path = "/jobs/{job}/1/step/aligned"
    phone.post(path, text="straightedge: no gap at 0.5 mm")
    phone.post(path, text="straightedge: no gap at 0.3 mm")
    assert card.step_state(phone.folded, "1", "aligned") == ["done", "straightedge: no gap at 0.3 mm"]
    phone.post(path, do="skip", reason="nothing disturbed")
    assert card.step_state(phone.folded, "1", "aligned") == ["skipped", "nothing disturbed"]
    phone.post(path, text="measured after all")
    assert card.step_state(phone.folded, "1", "aligned") == ["done", "measured after all"]


@pytest.mark.parametrize("form, field", [({"text": ""}, "text"), ({"text": "x" * 1001}, "text"),
                                         ({"do": "skip", "reason": " "}, "reason"), ({"do": "skip", "reason": "x" * 301}, "reason")])
def test_an_empty_or_endless_step_is_refused(form, field):
    phone = gated()
    reply = phone.post("/jobs/{job}/1/step/fitted", **form)
    assert field in errors_of(reply)
    assert reply["context"][field]["value"] == form[field].strip()


@pytest.mark.parametrize("path", ["/jobs/{job}/2/step/fitted", "/jobs/{job}/0/step/fitted", "/jobs/{job}/1/step/cause",
                                  "/jobs/{job}/1/step/dance", "/jobs/{job}/9/step/fitted"])
def test_a_step_that_the_job_does_not_have_is_not_there(path):
    phone = gated()
    assert phone.get(path)["status"] == 404
    assert phone.post(path, text="x")["status"] == 404


def test_a_note_and_a_handover():
    phone = booked()
    phone.post("/jobs/{job}/notes", text="liner is off", handover="yes")
    phone.post("/jobs/{job}/notes", text="ordinary", handover="no")
    assert phone.get("/jobs/{job}")["context"]["handover"]["text"] == "liner is off"
    assert "text" in errors_of(phone.post("/jobs/{job}/notes", text="", handover="yes"))


def test_a_photo_goes_on_the_card():
    phone = booked()
    form = {"sha256": "ab" * 32, "subject": "plate", "width": "1600", "height": "1200", "size": "123456", "loop": "",
            "next": "/jobs/" + phone.job}
    reply = phone.post("/jobs/{job}/photos", **form)
    assert reply["goto"] == "/jobs/" + phone.job
    assert phone.get("/jobs/{job}")["context"]["photos"][0]["thumb"] == "/photos/" + "ab" * 32 + "/thumb"


@pytest.mark.parametrize("name, value", [("sha256", ""), ("sha256", "XY" * 32), ("width", "0"), ("size", "big"),
                                         ("subject", "cat"), ("loop", "7"), ("height", "1e5")])
def test_a_photo_that_did_not_arrive_is_not_recorded(name, value):
    phone = booked()
    form = {"sha256": "ab" * 32, "subject": "plate", "width": "1600", "height": "1200", "size": "123456", "loop": ""}
    reply = phone.post("/jobs/{job}/photos", **dict(form, **{name: value}))
    assert reply["status"] == 422 and reply["context"]["problems"]
    assert phone.folded["photos"] == []


# ---- history and taking back ----

def test_taking_back_asks_first_and_leaves_the_entry_in_the_history():
    phone = booked()
    phone.post("/jobs/{job}/notes", text="wrong car", handover="no")
    entry = phone.events[-1]["id"]
    asked = phone.get("/jobs/{job}/withdraw", ("event", entry))["context"]
    assert asked["entry"]["text"] == "wrong car"
    assert "reason" in errors_of(phone.post("/jobs/{job}/withdraw", event=entry, reason=""))
    phone.post("/jobs/{job}/withdraw", event=entry, reason="meant the van")
    assert phone.folded["notes"] == []
    shown = phone.get("/jobs/{job}/history")["context"]["entries"]
    assert shown[0]["replaced"] == "wrong car" and shown[1]["gone"] is True


@pytest.mark.parametrize("kind", ["booked_in", "tag_issued"])
def test_booking_and_tag_cannot_be_taken_back(kind):
    phone = booked()
    entry = [e["id"] for e in phone.events if e["kind"] == kind][0]
    assert phone.get("/jobs/{job}/withdraw", ("event", entry))["status"] == 404
    assert phone.post("/jobs/{job}/withdraw", event=entry, reason="x")["status"] == 404
    assert phone.get("/jobs/{job}/withdraw", ("event", "nothing"))["status"] == 404


def test_history_marks_what_is_unsent_unverified_and_late():
    phone = booked()
    entries = phone.get("/jobs/{job}/history")["context"]["entries"]
    assert all("Not sent yet" in e["marks"] for e in entries)
    for i, event in enumerate(phone.events):
        event.update(seq=i + 1, received=event["at"], hash="%064x" % i, verified=False)
    assert "Person not verified" in phone.get("/jobs/{job}/history")["context"]["entries"][0]["marks"]
    sign(phone)
    phone.post("/jobs/{job}/notes", text="forgot a clip", handover="no")
    newest = phone.get("/jobs/{job}/history")["context"]["entries"][0]
    assert "Late: after the signature" in newest["marks"]


def test_answers_on_the_drive_that_replace_each_other_are_one_line_of_the_history():
    phone = booked()
    for ask, answer in (("voltage", "12"), ("start_stop", "none"), ("belt1", "ribbed"), ("ribs1", "6")):
        assert phone.post("/jobs/{job}/facts/" + ask, answer=answer)["do"] == "record"
    answers = [e for e in phone.events if e["kind"] == "facts_recorded"]
    assert len(answers) == 4, "the records stay"
    lines = phone.get("/jobs/{job}/history")["context"]["entries"]
    assert [line["kind"] for line in lines] == [words.label("kind", kind) for kind in ("facts_recorded", "tag_issued", "booked_in")]
    assert (lines[0]["id"], lines[0]["several"], lines[0]["replaced"]) == (answers[-1]["id"], "4 entries, one for each answer", "")
    phone.post("/jobs/{job}/notes", text="in between", handover="no")
    phone.post("/jobs/{job}/facts/voltage", answer="48")
    phone.who = "maud"
    phone.post("/jobs/{job}/facts/voltage", answer="12")
    lines = phone.get("/jobs/{job}/history")["context"]["entries"]
    assert [line["several"] for line in lines] == ["", "", "", "4 entries, one for each answer", "", ""]
    assert lines[0]["replaced"] and lines[1]["replaced"]


# ---- what the workshop refused ----

def refused_photo(phone, name, *jobs):
    rows = [{"sha256": name, "sentence": "That is not a picture.", "jobs": [{"id": job, "registration": "HL07"} for job in jobs]}]
    phone.outbox = {"waiting": 0, "photos": 0, "sounds": 0, "refused": [], "refused_photos": rows, "full": False, "last_sync": ""}


def test_giving_a_photo_up_takes_its_entries_back_with_the_reason_and_forgets_it():
    phone, name = booked(), "0f" * 32
    for subject in ("old_belt", "other"):
        phone.post("/jobs/{job}/photos", sha256=name, subject=subject, width="64", height="48", size="900", loop="")
    refused_photo(phone, name, phone.job, "another")
    reply = phone.post("/jobs/{job}/photos/" + name)
    assert (reply["goto"], reply["drop"]) == ("/outbox", []), "another job still shows it"
    assert [e["kind"] for e in reply["events"]] == ["withdrawn", "withdrawn"] and phone.folded["photos"] == []
    assert reply["events"][0]["data"]["reason"] == "The workshop refused the picture. That is not a picture."
    refused_photo(phone, name, phone.job)
    assert phone.post("/jobs/{job}/photos/" + name)["drop"] == [name]
    phone.who = ""
    assert phone.post("/jobs/{job}/photos/" + name)["goto"] == "/who?next=/outbox"
    assert phone.post("/jobs/{job}/photos/" + "1e" * 32) == {"do": "go", "goto": "/outbox"}, "not refused any more"


def test_a_reading_whose_sound_is_given_up_stands_with_a_note():
    phone, name = booked(), "0f" * 32
    refused_photo(phone, name, phone.job)
    phone.outbox["refused_photos"][0]["sound"] = True
    shown = phone.get("/outbox")["context"]["refused_files"][0]
    assert (shown["what"], shown["sound"]) == ("sound", "/sounds/" + name)
    reply = phone.post("/jobs/{job}/photos/" + name)
    assert (reply["drop"], [event["kind"] for event in reply["events"]]) == ([name], ["note_added"])
    assert phone.folded["notes"][0]["data"]["text"].endswith("the workshop refused it. That is not a picture.")


def test_only_a_refused_photo_that_no_job_shows_is_removed_without_a_trace():
    phone, name = booked(), "0f" * 32
    path = "/outbox/photos/" + name
    assert phone.post(path)["drop"] == []
    refused_photo(phone, name, phone.job)
    assert phone.post(path)["drop"] == [] and phone.get("/outbox")["context"]["refused_files"][0]["jobs"]
    refused_photo(phone, name)
    assert phone.post(path)["drop"] == [name] and phone.post(path)["events"] == []


# ---- the list ----

def test_the_list_is_ordered_by_the_servers_order_and_not_by_clocks():
    phone = booked()
    summary = card.summary(phone.folded)
    rows = [("unsent, clock slow by days", [1, 3], "2026-03-01T08:05:00Z"), ("first", [0, 7], "2026-03-12T08:05:00Z"),
            ("second", [0, 12], "2026-03-02T08:05:00Z"), ("unsent later", [1, 5], "2026-03-02T08:05:00Z")]
    board = [dict(summary, id=name, registration=name, turn=turn, at=at) for name, turn, at in rows]
    reply = door.handle({"method": "GET", "path": "/jobs", "query": [], "form": []}, dict(phone.given(), board=board))
    shown = [row["registration"] for group in reply["context"]["groups"] for row in group["rows"]]
    assert shown == ["first", "second", "unsent, clock slow by days", "unsent later"]


# ---- signing ----

def sign(phone):
    """Seal the job as the server does."""
    job = phone.folded
    data = {"head": job["head"], "count": job["count"], "looked_at": ["cause"], "gaps": "only looked at",
            "second_person": True, "sentence": "A new belt, and nothing else was found."}
    event = events.make(dict(phone.given(), who="maud"), 0, "signed_off", phone.job, data)
    event.update(seq=len(phone.events) + 1, received=event["at"], hash="f" * 64, verified=True)
    phone.events.append(event)


def test_signing_shows_what_is_missing_first():
    phone = booked()
    context = phone.get("/jobs/{job}/sign")["context"]
    assert context["gaps"] == gaps.of(phone.folded)
    assert [g[0] for g in context["gaps"]][:3] == ["booked", "cause", "gate"]
    assert context["gaps_field"] is not None


def test_who_worked_on_the_job_hands_it_over():
    phone = gated()
    phone.host = "server"
    assert phone.get("/jobs/{job}/sign")["context"]["only_ready"] is True
    phone.who = "maud"
    assert phone.get("/jobs/{job}/sign")["context"]["only_ready"] is False
    phone.host = "phone"
    assert phone.get("/jobs/{job}/sign")["context"]["only_ready"] is True


def test_a_one_person_workshop_may_sign_its_own_job():
    phone = gated()
    phone.host, phone.people = "server", PEOPLE[:1]
    context = phone.get("/jobs/{job}/sign")["context"]
    assert context["alone"] is True and context["only_ready"] is False


def test_a_refused_signature_keeps_what_was_typed_but_not_the_pin():
    phone = gated()
    given = dict(phone.given(), errors={"pin": "Wrong PIN.", "head": "The job has changed."},
                 typed={"sentence": "All well.", "gaps": "no photo", "looked_at": ["cause"], "pin": "1234"})
    path = "/jobs/" + phone.job + "/sign"
    reply = door.handle({"method": "GET", "path": path, "query": [], "form": []}, given)
    context = reply["context"]
    assert reply["status"] == 422
    assert context["sentence"]["value"] == "All well." and context["gaps_field"]["value"] == "no photo"
    assert [o["value"] for o in context["looked_at"]["options"] if o["on"]] == ["cause"]
    assert context["pin"]["value"] == "" and context["pin"]["error"] == "Wrong PIN."
    assert [p[2] for p in context["problems"]] == ["Wrong PIN.", "The job has changed."]


def test_ready_for_signature():
    phone = gated()
    reply = phone.post("/jobs/{job}/ready", note="bolt still to be checked")
    assert reply["do"] == "record"
    assert card.waiting_for(phone.folded) == "supervisor"
    assert phone.get("/jobs/{job}/sign")["context"]["ready"]["note"] == "bolt still to be checked"
    assert phone.post("/jobs/{job}/ready", note="x" * 301)["status"] == 422
    assert phone.get("/jobs/{job}")["context"]["lapsed"] == ""
    phone.post("/jobs/{job}/notes", text="it squeals again", handover="no")
    for path in ("/jobs/{job}", "/jobs/{job}/sign"):
        context = phone.get(path)["context"]
        assert context["lapsed"].startswith("No longer ready for signature: Ines entered more work (Note).")
    assert context["ready"] is None
    phone.post("/jobs/{job}/ready", note="")
    assert phone.get("/jobs/{job}")["context"]["lapsed"] == ""


# ---- the sheet ----

def test_the_sheet_before_and_after_the_signature():
    phone = gated()
    before = phone.get("/jobs/{job}/sheet")["context"]
    assert before["signature"] is None and before["gaps"]
    for i, event in enumerate(phone.events):
        event.update(seq=i + 1, received=event["at"], hash="%064x" % (i + 1), verified=True)
    sign(phone)
    signature = phone.get("/jobs/{job}/sheet")["context"]["signature"]
    assert signature["count"] == str(len(phone.events) - 1)
    assert signature["head"] == ("%064x" % (len(phone.events) - 1))[:16]
    assert signature["stands"] is True and signature["by"] == {
        "who": "Maud", "at": "2026-03-09T08:05:00Z", "shown": "9 Mar 2026, 08:05 UTC", "note": ""}
    phone.post("/jobs/{job}/notes", text="late", handover="no")
    after = phone.get("/jobs/{job}/sheet")["context"]
    assert after["signature"]["stands"] is False
    phone.post("/jobs/{job}/photos", sha256="ab" * 32, subject="plate", width="64", height="48", size="900", loop="", remark="From bay 2")
    assert [(line["label"], line["text"]) for line in phone.get("/jobs/{job}/sheet")["context"]["late"]] \
        == [("Note", "late"), ("Photo taken", words.label("photo_subject", "plate") + ". From bay 2")]


def test_the_sheet_shows_a_reading_as_it_was_shown_then():
    phone = gated()
    data = {"method": "pluck", "span": "Crank to alternator", "length": {"value": "412.5", "unit": "mm"}, "section": "PK",
            "ribs": 6, "mass": None, "belt_length": None, "readings": ["74.1", "73.8", "74.4"], "reading_unit": "Hz",
            "force": None, "engine_temperature": "cold", "tool": None,
            "shown": {"tension": "402", "low": "371", "high": "425", "unit": "N", "other": "90 lbf",
                      "verdict": "Inside the target", "working": "T = 4 m L² f²"}}
    phone.events.append(events.make(phone.given(), 0, "span_read", phone.job, data, "1"))
    line = phone.get("/jobs/{job}/sheet")["context"]["loops"][0]["lines"][0]
    assert "74.1, 73.8, 74.4 Hz" in line["text"] and "412.5 mm" in line["text"] and "cold" in line["text"]
    assert line["shown"][0] == ["Tension", "402 N per strand, between 371 and 425 N (95 %); 90 lbf"]
    assert ["Working", "T = 4 m L² f²"] in line["shown"]


@pytest.mark.parametrize("shown", [{}, {"tension": "402"}, {"low": "1"}, {"tension": "402", "unit": "N"}, {"odd": "x"}])
def test_a_reading_with_parts_missing_still_prints(shown):
    phone = gated()
    data = {"method": "press", "span": "a", "length": {"value": "400", "unit": "mm"}, "section": None, "ribs": None,
            "mass": None, "belt_length": None, "readings": ["5"], "reading_unit": "mm", "force": {"value": "20", "unit": "N"},
            "engine_temperature": "hot", "tool": "spring gauge", "shown": shown}
    phone.events.append(events.make(phone.given(), 0, "span_read", phone.job, data, "1"))
    for path in ("sheet", "sign", "history"):
        assert phone.get("/jobs/{job}/" + path)["status"] == 200


# ---- tags, codes, lists, people ----

def test_voiding_a_tag_makes_a_new_one():
    phone = booked()
    old = phone.folded["tags"][0]["token"]
    assert "reason" in errors_of(phone.post("/jobs/{job}/tag", reason=""))
    phone.post("/jobs/{job}/tag", reason="lost")
    tags = phone.folded["tags"]
    assert tags[0] == {"token": old, "at": tags[0]["at"], "voided": "lost"}
    assert tags[1]["voided"] is None and tags[1]["token"] != old


def test_a_tag_opens_its_job():
    phone = booked()
    summary = card.summary(phone.folded)
    phone.found = {"jobs": [summary], "voided": False}
    assert phone.get("/t/" + "0" * 32) == {"do": "go", "goto": "/jobs/" + phone.job}
    phone.found = {"jobs": [summary], "voided": True}
    reply = phone.get("/t/" + "0" * 32)
    assert reply["status"] == 404 and reply["context"]["voided"] is True
    phone.found = {"jobs": [], "voided": False}
    assert "not a tag of this workshop" in phone.get("/t/" + "0" * 32)["context"]["otherwise"]


def test_a_typed_code_opens_its_job_and_a_wrong_sign_is_named():
    phone = booked()
    code = card.summary(phone.folded)["code"]
    phone.found = {"jobs": [card.summary(phone.folded)], "voided": False}
    assert phone.get("/find", ("code", code.lower().replace(" ", "-")))["goto"] == "/jobs/" + phone.job
    wrong = ("4" if code[0] != "4" else "5") + code[1:]
    reply = phone.get("/find", ("code", wrong))
    assert reply["status"] == 422 and reply["context"]["code"]["value"] == wrong
    phone.found["jobs"] = phone.found["jobs"] * 2
    assert len(phone.get("/find", ("code", code))["context"]["rows"]) == 2


def test_the_jobs_list_is_grouped_by_who_is_being_waited_for():
    phone = booked()
    group = phone.get("/jobs")["context"]["groups"][0]
    assert group["code"] == "technician" and group["rows"][0]["waits"] == "Facts of the drive"
    assert phone.get("/jobs", ("mine", "1"))["context"]["groups"] == []
    phone.post("/jobs/{job}/notes", text="looked", handover="no")
    mine = phone.get("/jobs/_list", ("mine", "1"))
    assert mine["template"] == "_jobs_list.html" and len(mine["context"]["groups"]) == 1
    assert phone.get("/")["template"] == "jobs.html"


def test_choosing_who_works():
    phone = Phone()
    shown = phone.get("/who", ("next", "/book"))["context"]
    assert [p["name"] for p in shown["people"]] == ["Ines", "Maud"] and shown["goto"] == "/book"
    assert phone.post("/who", person="maud", next="/book") == {"do": "be", "person": "maud", "goto": "/book"}
    for person in ("gone", "", "nobody"):
        assert phone.post("/who", person=person)["status"] == 422


def test_a_job_that_is_not_here_says_so():
    phone = Phone()
    phone.job = str(uuid.uuid4())
    for row in [r for r in door.routes.TABLE if r[0] == "GET" and "{job}" in r[1] and r[3] in ("jobs", "steps", "sheet")]:
        path = row[1].replace("{loop}", "1").replace("{step}", "fitted")
        assert phone.get(path)["status"] == 404


# ---- times ----

@pytest.mark.parametrize("at, words_", [
    ("2026-03-09T08:04:00Z", "just now"), ("2026-03-09T07:45:00Z", "20 min ago"), ("2026-03-09T05:05:00Z", "3 h ago"),
    ("2026-03-07T08:05:00Z", "2 days ago"), ("2026-03-09T08:07:00Z", "just now"),
    ("2026-03-11T08:05:00Z", "in the future: a clock is wrong"), ("2025-12-31T08:05:00Z", "68 days ago")])
def test_ago(at, words_):
    assert times.ago(at, "2026-03-09T08:05:00Z") == words_


def test_seconds_agree_with_the_standard_library():
    """Outside check: differences of datetime, over leap days and centuries."""
    from datetime import datetime
    stamps = ["2000-02-29T23:59:59Z", "1999-12-31T00:00:00Z", "2024-02-29T12:00:00Z", "2026-03-01T00:00:00Z",
              "2100-02-28T01:02:03Z", "2100-03-01T00:00:00Z", "2399-12-31T23:59:59Z"]
    for a in stamps:
        for b in stamps:
            apart = datetime.fromisoformat(a[:-1]) - datetime.fromisoformat(b[:-1])
            assert times.seconds(a) - times.seconds(b) == apart.total_seconds()
