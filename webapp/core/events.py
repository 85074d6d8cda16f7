"""Events: the form of every record, the one gate that admits it, its exact bytes, and the fold.

A job is the fold of its events. Nothing is edited in place: a correction is a new event that names the
one it replaces. Hosts give ids, times and counters; this module makes none.
"""

from . import words
from .errors import CoreError

VERSION = 1

# The exact bytes of an event hold these keys in this order.
KEYS = ["v", "id", "job", "loop", "kind", "data", "who", "device", "n", "at", "replaces"]

# A canonical event longer than this is refused: it is a form entry, not a file.
MAX_BYTES = 16000

# Each kind with its data keys. A key's rule is (type, *limits); a type ending in "?" may be null.
#   text n         at most n characters, not blank          texts n m    list of at most n texts of m characters
#   int lo hi      whole number                             flag         true or false
#   quantity d     {"value": decimal text, "unit": text} of dimension d in units.UNITS
#   choice name    a code in words.CHOICES[name]            choices name list of such codes
#   hashes n       list of at most n SHA-256, each may be null
#   decimal        decimal text                          date         2026-03-09
#   map            flat map of texts, as shown to the person
#   drive          a drive as `drive_entry` describes it
# "loop": the event belongs to one belt loop.  "server": only the server makes it.
# "gate": touches the belt, so it needs a passed safety gate.
# "later": data keys that came after the first records of the kind; an entry may lack them.
KINDS = {
    "booked_in": {"data": {
        "registration": ("text", 16), "vin": ("text?", 20), "car": ("text?", 60), "engine": ("text?", 60),
        "distance": ("quantity?", "distance"), "complaint": ("text", 600), "service": ("flag",)}},
    "facts_recorded": {"data": {
        "loops": ("loops",), "voltage": ("choice", "voltage"), "start_stop": ("choice", "start_stop"),
        "alternator_pulley": ("choice", "alternator_pulley"), "crank_pulley": ("choice", "crank_pulley"),
        "compressor": ("choice", "compressor"), "steering": ("choice", "steering"),
        "water_pump": ("choice", "water_pump"), "access": ("choice", "access")}},
    "tag_issued": {"data": {"token": ("text", 40)}},
    "tag_voided": {"data": {"token": ("text", 40), "reason": ("text", 200)}},
    "gate_passed": {"data": {
        "voltage": ("choice", "voltage"), "start_stop": ("choice", "start_stop"),
        "confirmed": ("choices", "gate"), "authorised": ("text?", 120)}},
    "gate_stopped": {"data": {"reason": ("text", 200)}},
    # An answer to a check of the table of causes, its outcome or "not_done", "cannot_here", "unclear". The loop, here and
    # up to the looks: the belt that it tells of, "" for the whole car.
    "check_answered": {"loop?": True, "data": {"check": ("text", 30), "outcome": ("text", 30), "note": ("text?", 300)}},
    # shown: how the causes stood when somebody named them; names as people read them, in the order of causes.
    "cause_named": {"loop?": True, "data": {
        "causes": ("texts", 6, 30), "names": ("texts", 6, 80), "reason": ("text", 400), "shown": ("map",)}},
    # What may have caused the cause, or has to be looked at with it.
    "look_recorded": {"loop?": True, "data": {
        "look": ("text", 40), "what": ("text", 200), "result": ("choice", "look_result"), "note": ("text?", 300)}},
    "customer_asked": {"data": {"what": ("text", 300), "answer": ("choice", "customer_answer"), "by": ("text", 80)}},
    # A part that the causes do not bring along; those that they bring are listed by the core.
    "part_listed": {"loop": True, "data": {
        "part": ("text", 40), "what": ("text", 80), "how_many": ("text", 30), "need": ("choice", "part_need"),
        "number": ("text?", 60), "why": ("text?", 300)}},
    "part_moved": {"loop": True, "data": {
        "part": ("text", 40), "what": ("text", 80), "state": ("choice", "part_state"), "number": ("text?", 60),
        "due": ("date?",), "note": ("text?", 300), "shown": ("map",)}},
    # The whole drive each time; name: what the workshop calls it; shared: offered to other jobs from the saved drives.
    "drive_recorded": {"loop": True, "data": {
        "name": ("text", 60), "engine": ("text?", 60), "origin": ("choice", "drive_origin"),
        "copied_from": ("text?", 40), "shared": ("flag",), "drive": ("drive",)}},
    "belt_recorded": {"loop": True, "gate": True, "data": {
        "place": ("choice", "belt_place"), "marking": ("text?", 60), "section": ("text?", 8),
        "ribs": ("int?", 1, 60), "length": ("quantity?", "length"), "length_kind": ("choice?", "length_kind"),
        "double_sided": ("flag",), "stretch": ("flag",), "ribs_counted": ("int?", 1, 60),
        "width": ("quantity?", "length"), "taped": ("quantity?", "length"), "tape_constant": ("quantity?", "length"),
        "wear": ("choices", "wear"), "wear_note": ("text?", 300), "batch": ("text?", 40)},
        "later": {"ribs_source": ("choice?", "ribs_source")}},
    "difference_accepted": {"loop": True, "gate": True, "data": {"reason": ("text", 300)}},
    "target_set": {"loop": True, "data": {
        "kind": ("choice", "target_kind"), "low": ("quantity", "force"), "high": ("quantity", "force"),
        "source": ("text?", 200), "belt_state": ("choice", "belt_state")}},
    "span_read": {"loop": True, "gate": True, "data": {
        "method": ("choice", "method"), "span": ("text", 60), "length": ("quantity", "length"),
        "section": ("text?", 8), "ribs": ("int?", 1, 60), "mass": ("quantity?", "mass"),
        "belt_length": ("quantity?", "length"), "readings": ("texts", 12, 24), "reading_unit": ("text", 8),
        "force": ("quantity?", "force"), "engine_temperature": ("choice", "engine_temperature"),
        "tool": ("text?", 80), "shown": ("map",)},
        # The sound kept with each reading, null for one that has none.
        "later": {"sounds": ("hashes?", 12)}},
    # One line of the order of work; torque and angle as the vehicle maker's data give them.
    "work_done": {"loop": True, "gate": True, "data": {
        "item": ("text", 40), "what": ("text", 200), "result": ("choice", "work_result"), "torque": ("quantity?", "torque"),
        "angle_deg": ("decimal?",), "source": ("text?", 120), "note": ("text?", 300)}},
    "offset_read": {"loop": True, "gate": True, "data": {
        "span": ("text", 60), "way": ("choice", "offset_way"), "gap": ("quantity?", "length"), "over": ("quantity?", "length"),
        "angle_deg": ("decimal?",), "limit_mm_per_m": ("decimal",), "limit_source": ("text", 120), "tool": ("text?", 80),
        "shown": ("map",)}},
    # With a loop: of one belt, on a car that has several.
    "run_checked": {"loop?": True, "gate": True, "data": {
        "item": ("text", 40), "what": ("text", 200), "result": ("choice", "run_result"), "note": ("text?", 300)}},
    # A date, a distance or both; a later job of the same car shows it.
    "check_due": {"data": {
        "item": ("text", 120), "grade": ("choice", "due_grade"), "date": ("date?",), "distance": ("quantity?", "distance"),
        "reason": ("text", 300)},
        # follows: the proposal that it was agreed from, "belt" with its loop for a tension that is measured again after its run-in.
        "later": {"follows": ("text?", 40)}},
    "step_recorded": {"loop?": True, "data": {"step": ("choice", "step"), "text": ("text", 1000)}},
    "step_skipped": {"loop?": True, "data": {"step": ("choice", "step"), "reason": ("text", 300)}},
    "photo_taken": {"loop?": True, "data": {
        "sha256": ("sha256",), "subject": ("choice", "photo_subject"), "width": ("int", 1, 20000),
        "height": ("int", 1, 20000), "size": ("int", 1, 20000000), "note": ("text?", 200)},
        # check: id of the check that it shows, named by `what` as people read it; stage: before or after the work.
        "later": {"check": ("text?", 30), "what": ("text?", 80), "stage": ("choice?", "photo_stage")}},
    "note_added": {"data": {"text": ("text", 1000), "handover": ("flag",)}},
    "ready_for_signature": {"data": {"note": ("text?", 300)}},
    "signed_off": {"server": True, "data": {
        "head": ("sha256",), "count": ("int", 1, 1000000), "looked_at": ("choices", "looked_at"),
        "gaps": ("text?", 600), "second_person": ("flag",), "sentence": ("text", 400)}},
    "withdrawn": {"loop?": True, "data": {"reason": ("text", 200)}},
}

# One loop of the facts: each car has one to three accessory belts.
LOOP_KEYS = {
    "loop": ("text", 1), "name": ("text", 40), "belt": ("choice", "belt_kind"), "ribs": ("int?", 1, 60),
    "tensioner": ("choice", "tensioner"), "marks": ("choice", "marks"), "pin_hole": ("choice", "pin_hole")}
MAX_LOOPS = 3


def _bad(code, field, **values):
    raise CoreError(code, field, values)


def _check_text(value, field, most):
    if not isinstance(value, str):
        _bad("not-text", field)
    if not value.strip():
        _bad("empty", field)
    if len(value) > most:
        _bad("too-long", field, most=str(most))


def _check_int(value, field, low, high):
    if isinstance(value, bool) or not isinstance(value, int):
        _bad("not-whole", field)
    if value < low or value > high:
        _bad("out-of-range", field, low=str(low), high=str(high))


def _check_quantity(value, field, dimension):
    from . import units
    if not isinstance(value, dict) or len(value) != 2 or "value" not in value or "unit" not in value:
        _bad("not-a-quantity", field)
    units.check(value, dimension, field)


def _check_decimal(value, field):
    from . import numbers
    if not isinstance(value, str) or numbers.plain(value, field) != value:
        _bad("not-a-number", field)


def _check_choice(value, field, name):
    if not isinstance(value, str) or not words.is_choice(name, value):
        _bad("not-a-choice", field, value=str(value)[:40])


def _check_list(value, field, most):
    if not isinstance(value, list):
        _bad("not-a-list", field)
    if len(value) > most:
        _bad("too-many", field, most=str(most))


def _check_sha256(value, field):
    if not isinstance(value, str) or len(value) != 64 or not is_hex(value):
        _bad("not-a-hash", field)


def is_hex(text: str) -> bool:
    """Tell whether every character is a lower-case hexadecimal digit."""
    for c in text:
        if c not in "0123456789abcdef":
            return False
    return True


def _check_loops(value, field):
    _check_list(value, field, MAX_LOOPS)
    if not value:
        _bad("empty", field)
    seen = []
    for loop in value:
        if not isinstance(loop, dict):
            _bad("not-a-map", field)
        _check_keys(loop, LOOP_KEYS, {})
        if loop["loop"] not in ("1", "2", "3") or loop["loop"] in seen:
            _bad("not-a-choice", field, value=loop["loop"])
        seen.append(loop["loop"])


def _check_map(value, field):
    if not isinstance(value, dict):
        _bad("not-a-map", field)
    for key in value:
        if not isinstance(value[key], str) or len(value[key]) > 400:
            _bad("not-text", field)


def _check_value(value, field, rule):
    name = rule[0]
    if name.endswith("?"):
        if value is None:
            return
        name = name[:-1]
    if name == "text":
        _check_text(value, field, rule[1])
    elif name == "int":
        _check_int(value, field, rule[1], rule[2])
    elif name == "flag":
        if not isinstance(value, bool):
            _bad("not-a-flag", field)
    elif name == "quantity":
        _check_quantity(value, field, rule[1])
    elif name == "choice":
        _check_choice(value, field, rule[1])
    elif name == "choices":
        _check_list(value, field, 60)
        for item in value:
            _check_choice(item, field, rule[1])
    elif name == "texts":
        _check_list(value, field, rule[1])
        for item in value:
            _check_text(item, field, rule[2])
    elif name == "sha256":
        _check_sha256(value, field)
    elif name == "hashes":
        _check_list(value, field, rule[1])
        for item in value:
            if item is not None:
                _check_sha256(item, field)
    elif name == "loops":
        _check_loops(value, field)
    elif name == "decimal":
        _check_decimal(value, field)
    elif name == "date":
        if not isinstance(value, str) or not is_stamp(value + "T00:00:00Z"):
            _bad("not-a-date", field)
    elif name == "drive":
        # Imported here, so that a job without a drive does not load the drive's modules.
        from . import drive_entry
        drive_entry.check(value, field)
    else:
        _check_map(value, field)


def _check_keys(data, rules, later):
    for key in sorted(data):
        if key in later:
            _check_value(data[key], key, later[key])
        elif key not in rules:
            _bad("unknown-key", str(key)[:40])
    for key in sorted(rules):
        if key not in data:
            _bad("missing-key", key)
        _check_value(data[key], key, rules[key])


def is_uuid(text) -> bool:
    """Tell whether a text is a lower-case UUID in the 8-4-4-4-12 form of RFC 9562."""
    if not isinstance(text, str) or len(text) != 36:
        return False
    parts = text.split("-")
    if [len(p) for p in parts] != [8, 4, 4, 4, 12]:
        return False
    return is_hex("".join(parts))


def is_stamp(text) -> bool:
    """Tell whether a text is a UTC time in the form 2026-03-09T08:05:00Z (RFC 3339)."""
    if not isinstance(text, str) or len(text) != 20:
        return False
    shape = "0000-00-00T00:00:00Z"
    for i in range(20):
        if shape[i] == "0":
            if text[i] not in "0123456789":
                return False
        elif text[i] != shape[i]:
            return False
    if not ("01" <= text[5:7] <= "12" and text[11:13] <= "23" and text[14:16] <= "59" and text[17:19] <= "59"):
        return False
    return 1 <= int(text[8:10]) <= _days_in(int(text[0:4]), int(text[5:7]))


def _days_in(year, month):
    """Days of a month in the Gregorian calendar (RFC 3339, section 5.7 and appendix C)."""
    if month == 2:
        return 29 if year % 4 == 0 and (year % 100 != 0 or year % 400 == 0) else 28
    return 30 if month in (4, 6, 9, 11) else 31


def check_form(event: dict) -> None:
    """Refuse an event whose own form is wrong, whatever the job.

    Parameters:  event: the event as sent, without the server's keys
    Raises:      CoreError with the code and the key it belongs to
    """
    if not isinstance(event, dict):
        _bad("not-a-map", "")
    for key in sorted(event):
        if key not in KEYS:
            _bad("unknown-key", str(key)[:40])
    for key in KEYS:
        if key not in event:
            _bad("missing-key", key)
    if isinstance(event["v"], bool) or event["v"] != VERSION:
        _bad("unknown-version", "v")
    for key in ("id", "job"):
        if not is_uuid(event[key]):
            _bad("not-an-id", key)
    if event["replaces"] is not None and not is_uuid(event["replaces"]):
        _bad("not-an-id", "replaces")
    for key in ("who", "device"):
        _check_text(event[key], key, 40)
    _check_int(event["n"], "n", 1, 2000000000)
    if not is_stamp(event["at"]):
        _bad("not-a-time", "at")
    if not isinstance(event["kind"], str) or event["kind"] not in KINDS:
        _bad("unknown-kind", "kind", value=str(event["kind"])[:40])
    if not isinstance(event["data"], dict):
        _bad("not-a-map", "data")
    kind = KINDS[event["kind"]]
    _check_loop(event, kind)
    if event["kind"] == "withdrawn" and event["replaces"] is None:
        _bad("missing-key", "replaces")
    _check_keys(event["data"], kind["data"], kind.get("later", {}))
    if len(canonical(event)) > MAX_BYTES:
        _bad("too-long", "data", most=str(MAX_BYTES))


def _check_loop(event, kind):
    loop = event["loop"]
    if loop not in ("", "1", "2", "3") or not isinstance(loop, str):
        _bad("not-a-choice", "loop", value=str(loop)[:40])
    if "loop?" in kind:
        return
    if ("loop" in kind) != (loop != ""):
        _bad("wrong-loop", "loop")


def check(event: dict, job: dict, by_server: bool = False) -> None:
    """Admit an event to a job or refuse it: the one gate of handlers, sync and file intake.

    Parameters:  event: the event, without the server's keys · job: the folded job
                 before it, None when no event of that job is known · by_server: the
                 server itself makes the event
    Raises:      CoreError with the code and the key it belongs to
    """
    check_form(event)
    kind = KINDS[event["kind"]]
    if "server" in kind and not by_server:
        _bad("server-only", "kind")
    if job is None:
        if event["kind"] != "booked_in" or event["replaces"] is not None:
            _bad("unknown-job", "job")
        return
    if event["kind"] == "booked_in" and event["replaces"] is None:
        _bad("booked-twice", "kind")
    if "gate" in kind and job["gate"] is None:
        _bad("gate-first", "kind")
    _check_target(event, job)


def _check_target(event, job):
    """A correction keeps the kind of what it corrects; one whose target is not here yet waits."""
    if event["replaces"] is None:
        return
    if event["replaces"] == event["id"]:
        _bad("not-an-id", "replaces")
    for old in job["history"]:
        if old["id"] == event["replaces"]:
            if old["kind"] in ("withdrawn", "signed_off", "gate_passed", "tag_voided"):
                _bad("not-replaceable", "replaces")
            if event["kind"] == "withdrawn" and old["kind"] in ("booked_in", "tag_issued"):
                _bad("not-replaceable", "replaces")
            if event["kind"] not in ("withdrawn", old["kind"]):
                _bad("wrong-kind", "replaces")
            return


def _quote(text):
    """A JSON string in ASCII, the same on both interpreters (RFC 8259 escapes)."""
    out = ['"']
    for c in text:
        code = ord(c)
        if c == '"' or c == "\\":
            out.append("\\" + c)
        elif 32 <= code < 127:
            out.append(c)
        elif code < 0x10000:
            out.append("\\u%04x" % code)
        else:
            code -= 0x10000
            out.append("\\u%04x\\u%04x" % (0xD800 + (code >> 10), 0xDC00 + (code & 0x3FF)))
    out.append('"')
    return "".join(out)


def _encode(value, depth):
    if depth > 6:
        _bad("too-deep", "data")
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return _quote(value)
    if isinstance(value, list):
        return "[" + ",".join([_encode(v, depth + 1) for v in value]) + "]"
    if isinstance(value, dict):
        return "{" + ",".join([_quote(k) + ":" + _encode(value[k], depth + 1) for k in sorted(value)]) + "}"
    # A float would print differently on the two interpreters and so break the hash.
    _bad("not-canonical", "data")


def canonical(event: dict) -> str:
    """Return the exact ASCII text that identifies an event's content.

    Fixed key order at the top, keys sorted by code point below, no spaces, no
    floats. Two events with the same id are the same when these texts are equal.

    Parameters:  event: the event; keys outside `KEYS` (the server's) are left out
    Returns:     ASCII text
    Raises:      CoreError "not-canonical" for a float or another type
    """
    return "{" + ",".join([_quote(k) + ":" + _encode(event[k], 0) for k in KEYS]) + "}"


def link_text(prev: str, event: dict) -> str:
    """Return the text whose SHA-256 is the event's link in the job's chain.

    Parameters:  prev: hash of the job's event before it, "" for the first · event:
                 the event with the server's `seq` and `received`
    Returns:     ASCII text; the host hashes it
    """
    return prev + "\n" + str(event["seq"]) + "\n" + event["received"] + "\n" + canonical(event)


def make(given: dict, index: int, kind: str, job: str, data: dict, loop: str = "", replaces: str = None) -> dict:
    """Build the index-th event of one reply from what the host gave.

    Parameters:  given: the host's `now`, `who`, `device`, `n` (next counter) and `ids`
                 (fresh UUIDs) · index: place in this reply, from 0 · kind, job, data,
                 loop, replaces: as in the event
    Returns:     the event, not yet checked
    """
    return {"v": VERSION, "id": given["ids"][index], "job": job, "loop": loop, "kind": kind, "data": data,
            "who": given["who"], "device": given["device"], "n": int(given["n"]) + index, "at": given["now"],
            "replaces": replaces}


def order_key(event: dict) -> tuple:
    """Fold order: the server's sequence, then unsent entries by (device, n); never the clock."""
    if event.get("seq") is not None:
        return (0, int(event["seq"]), "", 0, event["id"])
    return (1, 0, event["device"], int(event["n"]), event["id"])


def _turns(ordered):
    """Return [[root id, event], ...]: fold order, but a correction takes its turn not before its target.

    The root is the entry that started the line of corrections. What names a missing target,
    or itself by a circle, gets no turn.
    """
    turns = []
    roots = {}
    waiting = {}
    for event in ordered:
        queue = [event]
        while queue:
            e = queue.pop(0)
            target = e["replaces"]
            if target is not None and target not in roots:
                waiting[target] = waiting.get(target, []) + [e]
                continue
            roots[e["id"]] = e["id"] if target is None else roots[target]
            turns.append([roots[e["id"]], e])
            queue = waiting.pop(e["id"], []) + queue
    return turns


def _line_up(events):
    """Return [history entry, ...] in fold order and [[root entry, standing event], ...]."""
    ordered = sorted(events, key=order_key)
    history = []
    entries = {}
    for e in ordered:
        entry = {"id": e["id"], "kind": e["kind"], "loop": e["loop"], "data": e["data"], "who": e["who"],
                 "device": e["device"], "n": e["n"], "at": e["at"], "replaces": e["replaces"], "seq": e.get("seq"),
                 "received": e.get("received"), "hash": e.get("hash"), "verified": bool(e.get("verified")),
                 "state": "waits", "late": False}
        entries[e["id"]] = entry
        history.append(entry)
    last = {}
    for root, e in _turns(ordered):
        if root in last:
            last[root]["state"] = "replaced"
        last[root] = entries[e["id"]]
        last[root]["state"] = "stands"
    standing = []
    for entry in history:
        if entry["replaces"] is None:
            standing.append([entry, last[entry["id"]]])
    return history, standing


def _blank(job_id):
    return {"id": job_id, "booked": None, "facts": None, "loops": [], "tags": [], "gate": None, "gate_stop": None,
            "answers": [], "causes": [], "looks": [], "asked": [], "parts": [], "moves": [],
            "drives": [], "belts": [], "differences": [], "targets": [], "readings": [], "work": [], "offsets": [], "runs": [], "due": [], "steps": [], "photos": [], "notes": [],
            "ready": None, "lapsed": None, "signature": None, "signatures": [], "late": [], "workers": [], "history": [],
            "count": 0, "head": "", "unsent": 0}


# Kinds that are kept as a list, with the job's key; the rest have a rule of their own below.
_LISTS = {"check_answered": "answers", "cause_named": "causes", "look_recorded": "looks", "customer_asked": "asked",
          "part_listed": "parts", "part_moved": "moves", "work_done": "work", "offset_read": "offsets", "run_checked": "runs",
          "check_due": "due", "drive_recorded": "drives", "belt_recorded": "belts", "difference_accepted": "differences", "target_set": "targets",
          "span_read": "readings", "photo_taken": "photos", "note_added": "notes",
          "step_recorded": "steps", "step_skipped": "steps"}

# Who has entered one of these has not worked on the job: booking in, asking the customer and tags are desk work, signing is the check.
_NOT_WORK = ["booked_in", "customer_asked", "tag_issued", "tag_voided", "signed_off"]


def _is_work(entry):
    """A gap that is accepted is no work either: who signs may accept it first."""
    accepted = entry["kind"] == "look_recorded" and entry["data"]["result"] == "accepted"
    return entry["kind"] not in _NOT_WORK and not accepted


def _take(job, root, entry):
    kind = root["kind"]
    if entry["kind"] == "withdrawn":
        return
    if kind in _LISTS:
        job[_LISTS[kind]].append(entry)
    elif kind == "booked_in":
        job["booked"] = entry
    elif kind == "facts_recorded":
        job["facts"] = entry
        job["loops"] = sorted([[p["loop"], p["name"]] for p in entry["data"]["loops"]])
    elif kind == "tag_issued":
        job["tags"].append({"token": entry["data"]["token"], "at": entry["at"], "voided": None})
    elif kind == "tag_voided":
        for tag in job["tags"]:
            if tag["token"] == entry["data"]["token"]:
                tag["voided"] = entry["data"]["reason"]
    elif kind == "gate_passed":
        job["gate"] = entry
        job["gate_stop"] = None
    elif kind == "gate_stopped":
        job["gate_stop"] = entry
    elif kind == "ready_for_signature":
        job["ready"] = entry
    elif kind == "signed_off":
        job["signatures"].append(entry)


def fold(events: list) -> dict:
    """Fold a job's events into the job.

    The server's order comes first, then unsent entries by (device, n). Of two
    corrections of one entry the later in that order stands and both stay in the
    history; a correction whose target is missing waits. Entries received after
    the last signature are late. Work entered after "ready for signature" ends
    it: `ready` is None then and `lapsed` the first such entry.

    Parameters:  events: all known events of one job, in any order
    Returns:     the job, plain data; None for no events
    """
    if not events:
        return None
    history, standing = _line_up(events)
    job = _blank(events[0]["job"])
    for root, entry in standing:
        _take(job, root, entry)
    job["history"] = history
    for entry in history:
        if _is_work(entry) and entry["who"] not in job["workers"]:
            job["workers"].append(entry["who"])
        if entry["seq"] is None:
            job["unsent"] += 1
        else:
            job["count"] += 1
            job["head"] = entry["hash"]
    _let_ready_lapse(job)
    _mark_late(job)
    return job


def _let_ready_lapse(job):
    """Whoever said "ready" did not know of the work after it, so somebody has to say it again."""
    if job["ready"] is None:
        return
    after = False
    for entry in job["history"]:
        if after and _is_work(entry):
            job["ready"] = None
            job["lapsed"] = entry
            return
        if entry["id"] == job["ready"]["id"]:
            after = True


def _mark_late(job):
    """What stands after the last signature is late and asks for a fresh one."""
    if not job["signatures"]:
        return
    seal = job["signatures"][-1]
    after = False
    for entry in job["history"]:
        if after and entry["kind"] not in ("tag_issued", "tag_voided"):
            entry["late"] = True
            job["late"].append(entry["id"])
        if entry["id"] == seal["id"]:
            after = True
    if not job["late"]:
        job["signature"] = seal
