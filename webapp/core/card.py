"""The job card: which steps are done, what comes next, what is missing, who is being waited for."""

from . import belts
from . import codes
from . import units
from . import words
from .errors import CoreError

# The order of work. "gate" is the safety questions; the next check is agreed before the signature seals it.
STEPS = ["booked", "cause", "gate", "drive", "belts", "parts", "fitted", "tension", "aligned", "proved", "next_check",
         "signed"]
# Steps from Drive to Aligned are done once per belt loop; the others once per job.
LOOP_STEPS = ["drive", "belts", "parts", "fitted", "tension", "aligned"]
# Entries that look for the cause on a belt; they do not work on it.
_ON_CAUSE = ["check_answered", "cause_named", "look_recorded", "photo_taken"]


def loops_of(job: dict) -> list:
    """Return the job's loops as [[loop, name], ...]; one main belt until the facts say more.

    Parameters:  job: the folded job
    """
    return job["loops"] or [["1", "Main belt"]]


def loop_name(job: dict, loop: str) -> str:
    """Return a loop's name, "" for what belongs to the whole job.

    Parameters:  job: the folded job · loop: "1" to "3", or ""
    """
    for pair in loops_of(job):
        if pair[0] == loop:
            return pair[1]
    return "Belt " + loop if loop else ""


def loop_facts(job: dict, loop: str):
    """Return what the facts say about a loop, None until they do.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    if job["facts"] is not None:
        for facts in job["facts"]["data"]["loops"]:
            if facts["loop"] == loop:
                return facts
    return None


def live_tag(job: dict):
    """Return the tag that opens the job, None when none does.

    Parameters:  job: the folded job
    """
    found = None
    for tag in job["tags"]:
        if tag["voided"] is None:
            found = tag
    return found


def standing_step(job: dict, loop: str, step: str):
    """Return the entry that says how a step went, None while there is none.

    Parameters:  job: the folded job · loop: "1" to "3", "" for a step of the whole job · step: code of a step
    """
    found = None
    for entry in job["steps"]:
        if entry["data"]["step"] == step and entry["loop"] == loop:
            found = entry
    return found


def belt_of(job: dict, loop: str, place: str):
    """Return the entry of a loop's old or new belt, None while there is none.

    Parameters:  job: the folded job · loop: "1" to "3" · place: "old" or "new"
    """
    found = None
    for entry in job["belts"]:
        if entry["loop"] == loop and entry["data"]["place"] == place:
            found = entry
    return found


def drive_of(job: dict, loop: str):
    """Return the entry of a loop's drive, None while there is none.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    found = None
    for entry in job["drives"]:
        if entry["loop"] == loop:
            found = entry
    return found


def last_of_each(entries: list, key: str) -> list:
    """Return the last of the entries that have the same value under a key.

    Parameters:  entries: entries of one kind, in the order of the fold · key: of their data
    Returns:     entries, in the order of the first of each
    """
    found, values = [], []
    for entry in entries:
        value = entry["data"][key]
        if value in values:
            found[values.index(value)] = entry
        else:
            values.append(value)
            found.append(entry)
    return found


def of_belt(entries: list, loop: str) -> list:
    """Return the entries that tell of a belt: its own, and those that name no belt.

    Parameters:  entries: of the job · loop: "1" to "3"; "" for those that name none
    """
    return [entry for entry in entries if entry["loop"] in ("", loop)]


def named_causes(job: dict) -> list:
    """Return the entries that name causes and stand, one for each belt; one that names no belt stands for the whole car.

    Parameters:  job: the folded job
    """
    found = []
    for entry in job["causes"]:
        found = [one for one in found if one["loop"] != entry["loop"]] + [entry]
    return found


def cause_names(job: dict) -> list:
    """Return the causes that were named, in words, each with its belt where it has one and the car has several.

    Parameters:  job: the folded job
    """
    return [with_belt(job, entry["loop"], name) for entry in named_causes(job) for name in entry["data"]["names"]]


def with_belt(job: dict, loop: str, text: str) -> str:
    """Return a text with the name of its belt in front, where the car has several.

    Parameters:  job: the folded job · loop: "1" to "3", "" for the whole car · text: in words
    """
    return loop_name(job, loop) + ": " + text if loop and len(loops_of(job)) > 1 else text


def left_out(job: dict, loop: str) -> bool:
    """Tell whether nobody works on a belt: the causes were named on other belts, and nothing was recorded on this one.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    where = [entry["loop"] for entry in named_causes(job)]
    if not where or "" in where or loop in where or job["booked"]["data"]["service"]:
        return False
    return not [entry for entry in job["history"] if entry["loop"] == loop and entry["state"] == "stands" and entry["kind"] != "withdrawn"
                and entry["kind"] not in _ON_CAUSE]


def work_began(job: dict, loop: str) -> int:
    """Return where in the history the work on a belt begins: its new belt, or the first line of fitting.

    Parameters:  job: the folded job · loop: "1" to "3", "" for the first belt that is worked on
    Returns:     place in the history; its length while no work has begun
    """
    turns = [entry for entry in job["belts"] if entry["data"]["place"] == "new"] + job["work"] \
        + [entry for entry in job["steps"] if entry["kind"] == "step_recorded" and entry["data"]["step"] == "fitted"]
    roots = [_root(job, entry) for entry in turns if loop in ("", entry["loop"])]
    for i in range(len(job["history"])):
        if job["history"][i]["id"] in roots:
            return i
    return len(job["history"])


def _root(job, entry):
    """The id of the entry that a line of corrections began with."""
    targets = {one["id"]: one["replaces"] for one in job["history"]}
    found = entry["id"]
    while targets.get(found) is not None:
        found = targets[found]
    return found


def around_work(job: dict, loop: str, entries: list) -> list:
    """Return [entries from before the work on a belt, those from after it]; all are from before while no work has begun.

    Parameters:  job: the folded job · loop: as for `work_began` · entries: of the job
    """
    began = [entry["id"] for entry in job["history"][:work_began(job, loop)]]
    return [[entry for entry in entries if entry["id"] in began], [entry for entry in entries if entry["id"] not in began]]


def readings_of(job: dict, loop: str) -> list:
    """Return the span readings of a loop.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    return [entry for entry in job["readings"] if entry["loop"] == loop]


def step_path(job: dict, loop: str, step: str) -> str:
    """Return the address of a step's screen.

    Parameters:  job: the folded job · loop: "1" to "3", "" for the whole job · step: one of STEPS
    """
    base = "/jobs/" + job["id"]
    if step == "booked":
        return base + ("/booking" if job["facts"] is not None else "/facts/voltage")
    if step in ("gate", "cause", "proved"):
        return base + "/" + step
    if step == "next_check":
        return base + "/next-check"
    if step == "signed":
        return base + "/sign"
    if step in LOOP_STEPS:
        return base + "/" + loop + "/" + step
    return base + "/" + (loop or "0") + "/step/" + step


def step_name(step: str) -> str:
    """Return a step's name.

    Parameters:  step: one of STEPS
    """
    return "Safety" if step == "gate" else words.label("step", step)


def _booked_state(job):
    if job["facts"] is None:
        return ["open", "What sort of drive it is has not been said yet."]
    data = job["facts"]["data"]
    unknown = 0
    for part in [data] + data["loops"]:
        for key in sorted(part):
            if part[key] == "unknown":
                unknown += 1
    return ["done", "Facts of the drive not known yet: " + str(unknown) + "." if unknown else ""]


def _cause_state(job):
    if job["causes"]:
        return ["done", ", ".join(cause_names(job))]
    if job["answers"]:
        return ["open", "Checks begun, no cause named yet."]
    return ["open", ""]


def _gate_state(job):
    if job["gate_stop"] is not None:
        return ["stopped", job["gate_stop"]["data"]["reason"]]
    if job["gate"] is not None:
        return ["done", ""]
    return ["open", "Before anything touches the belt."]


def _signed_state(job):
    if job["signature"] is not None:
        return ["done", ""]
    if job["signatures"]:
        return ["open", "Signed, then changed: needs a fresh signature."]
    if job["ready"] is not None:
        return ["open", "Ready, waiting for the supervisor."]
    if job["lapsed"] is not None:
        return ["open", "Worked on since it was ready: say ready again."]
    return ["open", ""]


def _belts_state(job, loop):
    old = belt_of(job, loop, "old")
    new = belt_of(job, loop, "new")
    if old is not None and new is not None:
        return ["done", ""]
    if old is not None:
        return ["open", "Old belt recorded. The new belt is next."]
    if new is not None:
        return ["open", "New belt recorded. The old belt is missing."]
    return ["open", ""]


def _drive_state(job, loop):
    entry = drive_of(job, loop)
    if entry is None:
        return ["open", ""]
    # Imported here, so that a job without a drive does not load the drive's modules.
    from . import drive_entry
    count = len(entry["data"]["drive"].get("pulleys") or [])
    if drive_entry.lacking(entry["data"]["drive"]):
        return ["open", "Begun: " + str(count) + (" pulley" if count == 1 else " pulleys") + " so far."]
    return ["done", entry["data"]["name"]]


def _fitted_state(job, loop):
    if not [entry for entry in job["work"] if entry["loop"] == loop]:
        return ["open", ""]
    # Imported here, so that lists of jobs do not load the order of work.
    from . import fitting
    lines = fitting.of(job, loop)
    left = len([line for line in lines if line["state"] == "open"])
    if not lines:
        return ["open", "Begun, but the facts do not say which tensioner it is."]
    return ["open", "Lines left: " + str(left) + " of " + str(len(lines)) + "."] if left else ["done", ""]


def _parts_state(job, loop):
    if not [entry for entry in job["moves"] if entry["loop"] == loop]:
        return ["open", ""]
    # Imported here, so that a job whose parts nobody moved does not load what lists them.
    from . import picklist
    return picklist.stands(job, loop)


def _part_went_back(job, loop):
    """A part that must be there was returned: even what was told in words is open again."""
    if not [entry for entry in job["moves"] if entry["loop"] == loop and entry["data"]["state"] == "returned"]:
        return False
    from . import picklist
    return picklist.reopened(job, loop)


def _aligned_state(job, loop):
    if not [entry for entry in job["offsets"] if entry["loop"] == loop]:
        return ["open", ""]
    from . import alignment
    out = alignment.with_verdict(job, loop, "outside")
    return ["open", "Out of line: " + ", ".join(out) + "."] if out else ["done", ""]


def _proved_state(job):
    if not job["runs"]:
        return ["open", ""]
    # Imported here, so that lists of jobs do not load the running checks.
    from . import proving
    return proving.state(job)


def step_state(job: dict, loop: str, step: str) -> list:
    """Return [state, words] of a step: "done", "skipped", "stopped" or "open", and what there is to say.

    Parameters:  job: the folded job · loop: "1" to "3", "" for a step of the whole job · step: one of STEPS
    """
    if step == "booked":
        return _booked_state(job)
    if step == "gate":
        return _gate_state(job)
    if step == "signed":
        return _signed_state(job)
    state = ["open", ""]
    if step == "cause":
        state = _cause_state(job)
    elif step == "drive":
        state = _drive_state(job, loop)
    elif step == "belts":
        state = _belts_state(job, loop)
    elif step == "parts":
        state = _parts_state(job, loop)
        if _part_went_back(job, loop):
            return state
    elif step == "fitted":
        state = _fitted_state(job, loop)
    elif step == "next_check" and job["due"]:
        state = ["done", "; ".join([entry["data"]["item"] for entry in job["due"]])]
    elif step == "proved":
        state = _proved_state(job)
    elif step == "aligned":
        state = _aligned_state(job, loop)
    elif step == "tension" and readings_of(job, loop):
        state = ["done", ""]
    if state[0] == "done":
        return state
    entry = standing_step(job, loop, step)
    if entry is None:
        if step == "cause" and job["booked"]["data"]["service"]:
            return ["skipped", "Service job: nothing to trace."]
        if step in LOOP_STEPS and left_out(job, loop):
            return ["skipped", "Not the belt that complains. Record it here if this belt came off as well."]
        return state
    if entry["kind"] == "step_skipped":
        return ["skipped", entry["data"]["reason"]]
    return ["done", entry["data"]["text"]]


def places(job: dict) -> list:
    """Return every [loop, step] of the job in the order of work, each loop finished before the next one.

    Parameters:  job: the folded job
    """
    order = []
    for step in STEPS:
        if step not in LOOP_STEPS:
            order.append(["", step])
        elif step == LOOP_STEPS[0]:
            for pair in loops_of(job):
                for one in LOOP_STEPS:
                    order.append([pair[0], one])
    return order


def next_step(job: dict):
    """Return [loop, step] of the first step that is neither done nor skipped, None when the job is signed.

    A safety stop comes before everything else. Who signs may accept gaps, so a signature ends the work, and
    what comes after it needs a fresh one first.

    Parameters:  job: the folded job
    """
    if job["gate_stop"] is not None:
        return ["", "gate"]
    if job["signature"] is not None:
        return None
    if job["signatures"]:
        return ["", "signed"]
    for loop, step in places(job):
        if step_state(job, loop, step)[0] == "open" and not _waits_for_parts(job, loop, step):
            return [loop, step]
    return None


def _waits_for_parts(job, loop, step):
    """The old belt is recorded, and the new one is not here yet: it comes with the parts."""
    return (step == "belts" and belt_of(job, loop, "old") is not None and belt_of(job, loop, "new") is None
            and step_state(job, loop, "parts")[0] == "open")


def progress(job: dict, loop: str) -> list:
    """Return the stations of the card, as seen from one loop, in the order of work.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     [{"step", "name", "state": "done" | "next" | "skipped" | "stopped" | "open", "words", "path"}, ...]
    """
    following = next_step(job)
    stations = []
    for step in STEPS:
        own = loop if step in LOOP_STEPS else ""
        state = step_state(job, own, step)
        if state[0] == "open" and following == [own, step]:
            state = ["next", state[1]]
        stations.append({"step": step, "name": step_name(step), "state": state[0], "words": state[1],
                         "path": step_path(job, own, step)})
    return stations


def _described(data):
    """The belt as `belts.compare` takes it; where nothing is printed the count by hand stands in."""
    belt = belts.of_entry(data)
    if belt["ribs"] is None:
        belt["ribs"] = data["ribs_counted"]
    return belt


def _by_tape(belt, data, other):
    """Fill a missing printed length from the tape; true when the tape cannot tell it from the other belt's."""
    if belt["length_mm"] is not None or data["taped"] is None or data["section"] is None:
        return False
    constant = data["tape_constant"]
    try:
        found = belts.effective_from_tape(units.to_si(data["taped"], "length") * 1000,
                                          None if constant is None else units.to_si(constant, "length") * 1000,
                                          data["section"])
    except CoreError:
        return False
    belt["length_kind"] = "effective"
    belt["length_mm"] = found["effective_mm"]
    if other["length_mm"] is not None and found["low_mm"] <= other["length_mm"] <= found["high_mm"]:
        belt["length_mm"] = other["length_mm"]
        belt["length_kind"] = other["length_kind"]
        return True
    return False


def belt_verdict(job: dict, loop: str):
    """Return how a loop's new belt compares with its old one, None until both are recorded.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     as `compared`
    """
    entries = [belt_of(job, loop, "old"), belt_of(job, loop, "new")]
    if entries[0] is None or entries[1] is None:
        return None
    return compared(job, loop, entries[0]["data"], entries[1]["data"])


def compared(job: dict, loop: str, old_data: dict, new_data: dict) -> dict:
    """Return how two belts compare on a loop.

    Parameters:  job: the folded job · loop: "1" to "3" · old_data, new_data: data of "belt_recorded" events
    Returns:     as `belts.compare`, with "taped": a printed length was missing and the tape stood in for it
    """
    old, new = _described(old_data), _described(new_data)
    taped = _by_tape(old, old_data, new)
    taped = _by_tape(new, new_data, old) or taped
    facts = loop_facts(job, loop)
    found = belts.compare(old, new, facts["tensioner"] if facts else "unknown", facts["marks"] if facts else "unknown")
    found["taped"] = taped
    return found


def accepted_difference(job: dict, loop: str):
    """Return the entry that accepts the difference between a loop's belts, None once a belt was recorded anew.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     the history's entry of kind difference_accepted, or None
    """
    belts_now = [entry["id"] for entry in (belt_of(job, loop, "old"), belt_of(job, loop, "new")) if entry]
    found = None
    for entry in job["history"]:
        if entry["id"] in belts_now:
            found = None
        if entry["kind"] == "difference_accepted" and entry["loop"] == loop and entry["state"] == "stands":
            found = entry
    return found


def open_offers(job: dict) -> list:
    """Return the offers to the customer that have no answer yet.

    Parameters:  job: the folded job
    """
    return [entry for entry in job["asked"] if entry["data"]["answer"] == "offered"]


def waiting_for(job: dict) -> str:
    """Return who is being waited for: a code of words.CHOICES["waiting_for"].

    Signed and unchanged: nobody. A safety stop, a change after the signature, "ready for signature" or nothing
    left but the signature: the supervisor. Offered to the customer and not answered: the customer. Next step is Parts:
    the parts runner. Otherwise the technician, who also has to say ready again when work came after it.

    Parameters:  job: the folded job
    """
    following = next_step(job)
    if following is None:
        return "nobody"
    if job["gate_stop"] is not None or job["signatures"] or job["ready"] is not None:
        return "supervisor"
    if open_offers(job):
        return "customer"
    if following[1] == "signed":
        return "supervisor" if job["lapsed"] is None else "technician"
    return "parts" if following[1] == "parts" else "technician"


def waits_in_words(job: dict) -> str:
    """Return one sentence on what the job waits for.

    Parameters:  job: the folded job
    """
    following = next_step(job)
    if following is None:
        return "Signed off"
    if job["gate_stop"] is not None:
        return "Stopped for safety"
    if job["signatures"]:
        return "Signed, then changed: sign again"
    if job["ready"] is not None:
        return "Ready for signature"
    if open_offers(job):
        return "Customer asked, no answer yet"
    if following[1] == "signed":
        return "Everything recorded: sign off" if job["lapsed"] is None else "Worked on since it was ready: say ready again"
    name = step_name(following[1])
    if following[1] == "booked":
        name = "Facts of the drive"
    if following[0] and len(loops_of(job)) > 1:
        return name + ", " + loop_name(job, following[0])
    return name


def summary(job: dict) -> dict:
    """Return what lists and look-ups need of a job.

    Parameters:  job: the folded job
    Returns:     {"id", "code", "registration", "car", "step", "waits", "waiting_for", "open", "signed", "late",
                 "unsent", "tags": [[token, voided], ...], "workers", "at", "turn", "received", "vin", "distance", "booked_turn", "booked_at",
                 "complaint", "causes": names, "due": [data of "check_due" events], "declined": [what]}; `open`: not signed · `at`: the last
                 entry's device clock, to be shown only · `turn`: the last entry's place in the server's order, what
                 is unsent after it · `received`: the server's time of the last entry, "" while it is unsent
    """
    booked = job["booked"]["data"]
    following = next_step(job)
    last = job["history"][-1]
    first = job["history"][0]
    return {"id": job["id"], "code": codes.job_code(job["id"]), "registration": booked["registration"],
            "car": booked["car"] or "", "step": following[1] if following else "", "waits": waits_in_words(job),
            "waiting_for": waiting_for(job), "open": job["signature"] is None, "signed": job["signature"] is not None,
            "late": len(job["late"]), "unsent": job["unsent"],
            "tags": [[t["token"], t["voided"] is not None] for t in job["tags"]], "workers": job["workers"],
            "at": last["at"], "turn": [1, last["n"]] if last["seq"] is None else [0, last["seq"]],
            "received": last["received"] or "", "vin": booked["vin"] or "", "distance": booked["distance"],
            "booked_turn": [1, first["n"]] if first["seq"] is None else [0, first["seq"]], "booked_at": first["at"],
            "complaint": booked["complaint"][:160], "causes": cause_names(job),
            "due": [entry["data"] for entry in job["due"]],
            "declined": [entry["data"]["what"] for entry in job["asked"] if entry["data"]["answer"] == "declined"]}


def heading(job: dict) -> dict:
    """Return what the top of every page of a job shows.

    Parameters:  job: the folded job
    Returns:     {"registration", "car", "path", "id"}
    """
    booked = job["booked"]["data"]
    return {"registration": booked["registration"], "car": booked["car"] or "", "path": "/jobs/" + job["id"],
            "id": job["id"]}


# Which cautions of words.CAUTIONS belong to which step; the first line is for every step.
_CAUTIONS = {
    "cause": ["moving", "phone", "water", "eyes"],
    "drive": ["start", "hot"],
    "belts": ["start", "hot", "cord"],
    "parts": [],
    "fitted": ["lever", "turn", "torque"],
    "tension": ["stopped", "turn"],
    "aligned": ["stopped", "clear"],
    "proved": ["tools", "moving", "phone", "eyes", "road"],
    "next_check": [],
}
_SPRUNG = ["automatic", "automatic_set", "two_arm", "unknown"]


def cautions(job: dict, step: str, loop: str = "") -> list:
    """Return the short cautions of a step; the vehicle maker's data always comes first.

    Parameters:  job: the folded job · step: one of STEPS · loop: "1" to "3", "" for the whole job
    Returns:     sentences
    Source:      common practice, no source; none of them replaces the vehicle maker's data
    """
    chosen = ["maker"]
    voltage = job["gate"]["data"]["voltage"] if job["gate"] is not None else ""
    if voltage in ("48", "high"):
        chosen.append("trained")
    facts = loop_facts(job, loop)
    tensioner = facts["tensioner"] if facts is not None else "unknown"
    if step == "fitted":
        if tensioner == "stretch_fit" or (facts is not None and facts["belt"] == "stretch"):
            chosen.append("stretch")
        elif tensioner == "hydraulic":
            chosen.append("strut")
        elif tensioner in _SPRUNG:
            chosen.append("spring")
    chosen += _CAUTIONS.get(step, [])
    return [words.caution(code) for code in chosen]
