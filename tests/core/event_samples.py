"""Invented events for tests: one good set of data per kind."""

JOB = "5e0a1c9e-4d7b-4b7e-9a53-0f6a6f0c2a11"
OTHER = "9c3f2d10-86c1-4f0f-8e6d-2b1d0a7e4c55"

LOOP = {"loop": "1", "name": "Main belt", "belt": "ribbed", "ribs": 6, "tensioner": "slotted", "marks": "none",
        "pin_hole": "no"}
SHA = "0f" * 32

DATA = {
    "booked_in": {"registration": "AB 123", "vin": None, "car": "Small estate", "engine": None,
                  "distance": {"value": "84210", "unit": "km"}, "complaint": "Squeals when cold", "service": False},
    "facts_recorded": {"loops": [LOOP], "voltage": "12", "start_stop": "none", "alternator_pulley": "solid",
                       "crank_pulley": "damper", "compressor": "clutch", "steering": "electric", "water_pump": "this_belt",
                       "access": "above"},
    "tag_issued": {"token": "t-1"},
    "tag_voided": {"token": "t-1", "reason": "Torn"},
    "gate_passed": {"voltage": "12", "start_stop": "none", "confirmed": ["keys"], "authorised": None},
    "gate_stopped": {"reason": "Fan runs"},
    "check_answered": {"check": "I1", "outcome": "squeal", "note": None},
    "cause_named": {"causes": ["B_WORN"], "names": ["belt worn"], "reason": "Ribs worn to a U", "shown": {"share": "about two in three"}},
    "look_recorded": {"look": "leak", "what": "Leak above the belt", "result": "fine", "note": None},
    "customer_asked": {"what": "Belt and tensioner", "answer": "accepted", "by": "Owner, by phone"},
    "part_listed": {"part": "own-1", "what": "Liner clips", "how_many": "6", "need": "if_needed", "number": None, "why": None},
    "part_moved": {"part": "belt", "what": "Belt", "state": "ordered", "number": "6PK1420", "due": "2026-03-10", "note": None, "shown": {}},
    "work_done": {"item": "bolt", "what": "Tensioner bolt", "result": "done", "torque": {"value": "45", "unit": "N\u00b7m"},
                  "angle_deg": "90", "source": "Typed from the maker's sheet", "note": None},
    "offset_read": {"span": "crank to alternator", "way": "straightedge", "gap": {"value": "1", "unit": "mm"},
                    "over": {"value": "250", "unit": "mm"}, "angle_deg": None, "limit_mm_per_m": "5.8", "limit_source": "Invented",
                    "tool": None, "shown": {}},
    "run_checked": {"item": "idle", "what": "Idle, loads on one by one", "result": "good", "note": None},
    "check_due": {"item": "Re-tension", "grade": "soon", "date": "2026-04-09", "distance": {"value": "1000", "unit": "km"}, "reason": "Run-in"},
    "drive_recorded": {"name": "Two pulleys", "engine": None, "origin": "tape", "copied_from": None, "shared": True, "drive": {
        "v": 1, "rotation": "clockwise", "good_to": {"value": "3", "unit": "mm"}, "belt": {"section": "PK", "ribs": 6},
        "pulleys": [{"name": "crank", "kind": "crank", "face": "ribs", "diameter": {"value": "150", "unit": "mm"}},
                    {"name": "alternator", "kind": "alternator", "face": "ribs", "diameter": {"value": "58", "unit": "mm"},
                     "place": {"way": "across_up", "across": {"value": "235", "unit": "mm"}, "up": {"value": "28.5", "unit": "mm"}}}],
        "tensioner": {"kind": "fixed"}}},
    "belt_recorded": {"place": "old", "marking": "6PK1500", "section": "PK", "ribs": 6,
                      "length": {"value": "1500", "unit": "mm"}, "length_kind": "effective", "double_sided": False,
                      "stretch": False, "ribs_counted": 6, "width": None, "taped": None, "tape_constant": None,
                      "wear": ["glazed"], "wear_note": None, "batch": None},
    "difference_accepted": {"reason": "Parts list says so"},
    "target_set": {"kind": "guideline", "low": {"value": "420", "unit": "N"}, "high": {"value": "720", "unit": "N"},
                   "source": None, "belt_state": "used"},
    "span_read": {"method": "pluck", "span": "crank to alternator", "length": {"value": "300", "unit": "mm"},
                  "section": "PK", "ribs": 6, "mass": None, "belt_length": None, "readings": ["109.8", "110.3", "110.1"],
                  "reading_unit": "Hz", "force": None, "engine_temperature": "cold", "tool": None,
                  "shown": {"answer": "451 N"}},
    "step_recorded": {"step": "cause", "text": "Worn belt"},
    "step_skipped": {"step": "cause", "reason": "Service"},
    "photo_taken": {"sha256": SHA, "subject": "old_belt", "width": 1600, "height": 1200, "size": 210000, "note": None},
    "note_added": {"text": "Fan shroud clip broken", "handover": True},
    "ready_for_signature": {"note": None},
    "signed_off": {"head": SHA, "count": 4, "looked_at": ["cause"], "gaps": None, "second_person": True,
                   "sentence": "Looked at the job."},
    "withdrawn": {"reason": "Wrong job"},
}
WITH_LOOP = ["part_listed", "part_moved", "work_done", "offset_read", "drive_recorded", "belt_recorded", "difference_accepted", "target_set", "span_read"]


def uuid(number):
    """An invented UUID for a small number."""
    return "00000000-0000-4000-8000-%012x" % number


def event(kind, n=1, device="d1", replaces=None, data=None, who="p1", loop=None, seq=None):
    """An event of a kind; with `seq` as the server keeps it."""
    out = {"v": 1, "id": uuid(n + 1000 * ord(device[-1])), "job": JOB, "loop": ("1" if kind in WITH_LOOP else "") if loop is None else loop,
           "kind": kind, "data": dict(DATA[kind]) if data is None else data, "who": who, "device": device, "n": n,
           "at": "2026-03-09T08:05:00Z", "replaces": replaces}
    if seq is not None:
        out["seq"], out["received"], out["hash"], out["prev"] = seq, "2026-03-09T09:00:00Z", "%064x" % seq, "%064x" % (seq - 1)
    return out
