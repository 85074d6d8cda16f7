"""What a job holds for finding the cause: answers that stand, facts of the drive, set-ups paid for, results computed.

The table of causes names checks and outcomes; nothing here knows any of them by name, but the three that say more
than a likelihood: at which load, at which speed, and what nobody but a person knows.
"""

from . import card
from . import findings
from . import units
from .errors import CoreError

# Answers that are no check of the table: what only people say about the car and the complaint. Kept under these names.
ABOUT = "about:"
# Which belt of several the complaint is looked for on: its loop, or `NO_BELT`. Kept like what people say about the car.
BELT = "belt"
NO_BELT = "unknown"
# Answers to these come from people, and the drive's facts take them over.
SAID = ["noise_now", "short_run"]
# Engine speeds that a person may name [1/min], and cylinders.
SPEEDS = ["750", "1000", "1500", "2000", "3000"]
CYLINDERS = ["2", "3", "4", "5", "6", "8"]
# The check that tells at which load the noise comes, and where in `loads.POINTS` that load stands.
_LOAD_CHECK = "I2"
_LOAD_POINT = {"cold": 0, "load": 1}
# Those loads in words, by their engine speed.
_LOAD_WORDS = {900.0: "everything on, fast idle after a cold start", 750.0: "everything on, warm idle"}


def belt(job: dict) -> str:
    """Return the belt that the complaint is looked for on.

    Parameters:  job: the folded job
    Returns:     its loop; "" while a car has several belts and nobody has said which one complains
    """
    loops = [pair[0] for pair in card.loops_of(job)]
    if len(loops) == 1:
        return loops[0]
    last = [entry["data"]["outcome"] for entry in job["answers"] if entry["data"]["check"] == ABOUT + BELT][-1:]
    return last[0] if last and last[0] in loops else ""


def key_of(job: dict) -> str:
    """Return the loop that an entry on the belt in question is kept under, "" where the car has one belt only.

    Parameters:  job: the folded job
    """
    return belt(job) if len(card.loops_of(job)) > 1 else ""


def standing(job: dict, loop: str) -> list:
    """Return the answer entries that stand for a belt, one for each check: the last one.

    Parameters:  job: the folded job · loop: "1" to "3"; "" while it is not known which belt complains
    Returns:     entries of kind "check_answered", in the order of their first answer
    """
    return card.last_of_each(card.of_belt(job["answers"], loop), "check")


def answers(job: dict, loop: str) -> list:
    """Return the answers to checks as `findings.rank` takes them.

    Parameters:  job: the folded job · loop: as for `standing`
    Returns:     [[check id, outcome or state], ...]
    """
    return [[entry["data"]["check"], entry["data"]["outcome"]] for entry in standing(job, loop)
            if not entry["data"]["check"].startswith(ABOUT)]


def said(job: dict) -> dict:
    """Return what people said about car and complaint: {name: code}.

    Parameters:  job: the folded job
    """
    return {entry["data"]["check"][len(ABOUT):]: entry["data"]["outcome"] for entry in standing(job, "")
            if entry["data"]["check"].startswith(ABOUT)}


def named(job: dict, loop: str):
    """Return the entry that names the causes on a belt, None while there is none.

    One that names no belt stands for every belt, until the belt has one of its own.

    Parameters:  job: the folded job · loop: as for `standing`
    """
    found = None
    for entry in card.of_belt(job["causes"], loop):
        if found is None or entry["loop"] == loop or found["loop"] == "":
            found = entry
    return found


def confirmed(job: dict):
    """Return what a job teaches about its cause, None unless the cause was proved apart from the ranking.

    It is when the repair of one named cause alone was run and found good, nothing was found bad, and the job is signed.
    Answers given after the cause was named tell of the repaired car and are left out.

    Parameters:  job: the folded job
    Returns:     [cause code, answers], as `cause_table.tally` takes them, or None
    """
    entries = card.named_causes(job)
    if len(entries) != 1 or len(entries[0]["data"]["causes"]) != 1 or job["signature"] is None:
        return None
    last = {run["data"]["item"]: run["data"]["result"] for run in job["runs"]}
    if "good" not in last.values() or "bad" in last.values():
        return None
    before = []
    for one in job["history"]:
        if one["kind"] == "cause_named":
            break
        before.append(one["id"])
    answers_then = card.last_of_each([one for one in card.of_belt(job["answers"], entries[0]["loop"]) if one["id"] in before], "check")
    found = [[one["data"]["check"], one["data"]["outcome"]] for one in answers_then if not one["data"]["check"].startswith(ABOUT)]
    return [entries[0]["data"]["causes"][0], found]


def _common(loops):
    """What is the same on every belt of a car; the rest is not known, since nobody says yet which belt complains."""
    first = loops[0].copy()
    for other in loops[1:]:
        for key in ("belt", "tensioner", "marks", "pin_hole", "ribs"):
            if other[key] != first[key]:
                first[key] = None if key == "ribs" else "unknown"
    return first


def facts(job: dict, loop: str) -> dict:
    """Return what is known of a belt's drive, as `findings.rank` and `companions` take it.

    Parameters:  job: the folded job · loop: as for `standing`
    Returns:     as `findings.drive_facts`; while it is not known which of several belts complains only what they have in common
    """
    data = job["facts"]["data"] if job["facts"] is not None else None
    entry = card.drive_of(job, loop)
    drive = None
    if entry is not None:
        drive = {"pulleys": [{"kind": pulley.get("kind", "")} for pulley in entry["data"]["drive"].get("pulleys") or []]}
        for name in ("alternator_pulley", "crank_pulley"):
            drive[name] = entry["data"]["drive"].get(name)
        if not drive["pulleys"]:
            drive = None
    known = None
    if data is not None:
        known = card.loop_facts(job, loop) if loop else _common(data["loops"])
    found = findings.drive_facts(data, known, drive)
    if [target for target in job["targets"] if loop in ("", target["loop"])]:
        found["tension_value"] = "yes"
    told = said(job)
    for name in SAID:
        if told.get(name) in ("yes", "no"):
            found[name] = told[name]
    distance = job["booked"]["data"]["distance"]
    if distance is not None:
        found["contexts"] += findings.distance_context(units.to_si(distance, "distance") / 1000)
    for name in sorted(told):
        if told[name] == "yes" and name not in SAID and name not in found["contexts"]:
            found["contexts"].append(name)
    return found


def spent(job: dict, table: dict, loop: str) -> list:
    """Return the set-ups that were paid for: those of checks with an answer, and what has to come before them.

    Parameters:  job: the folded job · table: the table of causes · loop: as for `standing`
    Returns:     codes of the table's set-ups, and "fitted" once a belt was fitted
    """
    rows = {check["id"]: check["setup"] for check in table["checks"]}
    firsts = {setup["code"]: setup["first"] for setup in table["setups"]}
    paid = []
    for check, outcome in answers(job, loop):
        # What was left for later, or cannot be done here, opened nothing.
        if check in rows and outcome not in ("not_done", "cannot_here"):
            for code in [rows[check]] + firsts[rows[check]]:
                if code not in paid:
                    paid.append(code)
    for one, _ in card.loops_of(job):
        if loop in ("", one) and "fitted" not in paid \
                and (card.belt_of(job, one, "new") is not None or card.step_state(job, one, "fitted")[0] == "done"):
            paid.append("fitted")
    return paid


def _reading(job, loop):
    """[verdict code, tension in N or None] of the last span reading before the work; ["", None] without one."""
    from .screens import spanform
    readings = card.around_work(job, loop, card.readings_of(job, loop))[0]
    if not readings:
        return ["", None]
    shown = readings[-1]["data"]["shown"]
    verdict = ""
    for code in sorted(spanform.VERDICTS):
        if spanform.VERDICTS[code][1] == shown.get("verdict"):
            verdict = code
    try:
        tension = units.to_si({"value": shown["tension"], "unit": shown["unit"]}, "force")
    except (CoreError, KeyError, ValueError):
        tension = None
    return [verdict, tension]


def _tried(call, *given):
    try:
        return call(*given)
    except CoreError:
        return None


def _arm(drive):
    from . import tensioner
    if drive["tensioner"]["kind"] not in tensioner.ARM:
        return None
    try:
        return tensioner.rest(drive)
    except CoreError as error:
        return {"error": error.code}


def _slip(drive, point, tension):
    """A sound, dry belt under a load, at the two ends of what is not known: little grip with heavy loads, much with light ones.

    Worn or wet is what is asked, so it is not put in: where a sound belt holds, grip was lost; where it cannot, tension or
    wrap is short.
    """
    from . import loads
    state = loads.POINTS[point]
    rpm = state["engine_rpm"]
    usual = loads.run(drive, loads.at_point(drive, state), rpm, "dry", tension)
    return {"load": _LOAD_WORDS[rpm], "ends": loads.ends(drive, usual, rpm, "dry", [tension, tension])}


def _with_old_belt(job, loop, drive):
    """The drive with the belt that came with the complaint, where its length was recorded."""
    from .screens import drivelink
    entry = card.belt_of(job, loop, "old")
    if entry is None:
        return [drive, False]
    data = entry["data"]
    length = drivelink.sold_mm(data)
    return [drivelink.with_belt(drive, data["section"], data["ribs"] or data["ribs_counted"], length), length is not None]


def computed(job: dict, table: dict, loop: str) -> dict:
    """Return what the core's own sums say of the complaint, as answers and in words.

    Only what tells of the complaint counts: readings and belts from before the work. While nobody
    has said which of several belts complains, nothing does.

    Parameters:  job: the folded job · table: the table of causes · loop: as for `standing`
    Returns:     {"answers": [[check id, outcome], ...], "from": [[check id, sentence on where it is from], ...],
                 "undecided": [sentences on what was computed and cannot tell]}
    """
    verdict, tension = _reading(job, loop) if job["readings"] else ["", None]
    entry = card.drive_of(job, loop)
    run, arm, rings, rpm = None, None, None, None
    sources = [["physics:tension", "From the span reading on this card, against its target."]]
    if entry is not None:
        from . import drive_entry
        from . import vibration
        drive = _tried(drive_entry.to_drive, entry["data"]["drive"], entry["data"]["name"], loop)
        if drive is not None:
            drive, of_belt = _with_old_belt(job, loop, drive)
            told = said(job)
            point = _LOAD_POINT.get(dict(answers(job, loop)).get(_LOAD_CHECK), 0)
            arm = _arm(drive)
            # On fixed centres a millimetre of belt decides the tension: only a reading tells it there.
            sure = tension is not None or arm is not None
            run = _tried(_slip, drive, point, tension) if sure else None
            if sure and told.get("rpm") in SPEEDS and told.get("cylinders") in CYLINDERS:
                rpm = float(told["rpm"])
                rings = _tried(vibration.resonances, drive, int(told["cylinders"]), tension)
            name = "From the recorded drive “" + entry["data"]["name"] + "”"
            at_rest = "the span reading" if tension is not None else "the tension that its spring should give"
            sources += [
                ["physics:arm", name + (", with the old belt as recorded." if of_belt else ", with the belt length that it names.")],
                ["physics:slip", name + ", " + "a sound, dry belt, " + at_rest + ", and loads that are typical, from memory, unless typed in: "
                 + (run["load"] if run else "") + "."],
                ["physics:resonance", name + ", " + at_rest + ", at the engine speed that was named."]]
    found = findings.computed(table, None, arm, verdict, rings, rpm)
    undecided = []
    if run is not None:
        slips = [findings.computed(table, end) for end in run["ends"]]
        # An answer only where both ends of friction and loads give the same one.
        if slips[0] == slips[1]:
            found = slips[0] + found
        else:
            undecided.append("Grip under load (" + run["load"] + "): with friction and loads between their limits a sound, dry belt "
                             "may slip or hold. This counts for nothing.")
    known = [check["id"] for check in table["checks"]]
    return {"answers": [pair for pair in found if pair[0] in known], "from": sources, "undecided": undecided}
