"""Proving a repair: the running checks by load, and what stands of them on a job. Common practice, no source."""

from . import card

# [code, when, what to do and what is right, why, which fact decides whether it exists here or "", its values]. When: "running" with
# the engine on, "stopped" afterwards, "road" on the road and right after it.
CHECKS = [
    ["idle", "running", "Start cold and let it idle: quiet, the belt runs straight", "A belt that wanders has a rib off or a pulley out of line.", "", ()],
    ["arm", "running", "Arm at idle, seen from a distance: a small, even swing", "A wide swing comes from a locked alternator pulley, a failed damper, "
     "or an engine that misfires, and breaks the new tensioner.", "tensioner", ("automatic", "automatic_set", "hydraulic", "two_arm")],
    ["rev", "running", "About 2,000 per minute, then let it fall: no flutter, no slap", "Some faults sound at one speed only.", "", ()],
    ["loads", "running", "Lights, rear window and blower on, one by one: no squeal", "The alternator takes more than anything else on the belt.", "", ()],
    ["air", "running", "Air conditioning on and off: no squeal, no knock", "The compressor pulls hardest as it comes in.", "compressor",
     ("clutch", "clutchless", "unknown")],
    ["steer", "running", "Steering to both ends, briefly: no squeal", "The steering pump pulls hardest there.", "steering", ("hydraulic", "unknown")],
    ["hot", "running", "Hot idle, the loads on again: still quiet", "Checked only cold or only hot, it comes back.", "", ()],
    ["complaint", "running", "The complaint, tried the way it came in: gone", "This is what the car came for.", "complaint", ("yes",)],
    ["off", "running", "Switch off and listen: it runs out without a rattle", "A decoupler or clutch on its way out rattles as it stops.", "", ()],
    ["settled", "stopped", "After about five minutes of running, stopped and cool: tension read again", "A new belt gives away much of its tension in "
     "the first minutes, and this kind of tensioner does not take it up.", "tensioner", ("eccentric", "slotted", "lead_screw")],
    ["codes", "stopped", "Fault codes read: cleared, or explained in the remark", "A check with the belt off leaves codes that light a lamp next morning.", "", ()],
    ["covers", "stopped", "Covers, liner and undertray back on", "Without its liner the belt gets wet in the first rain.", "", ()],
    ["road", "road", "Road test: warm, lights and air conditioning on, full lock both ways: quiet", "A belt can walk within ten kilometres.", "", ()],
    ["look", "road", "After it, engine off: ribs still seated on every pulley, nothing wet", "A drive without a look afterwards proves half.", "", ()],
]
GROUPS = [["running", "Engine running"], ["stopped", "Engine stopped"], ["road", "Road test"]]
# The proposal that a belt's tension is measured again, before its loop.
RECHECK = "belt"
# Set by hand, so that nothing takes up what the belt gives away.
MANUAL = ["eccentric", "slotted", "lead_screw"]


def _facts_of(job):
    """{fact: its value on this car}, but the tensioners, which each belt has its own of."""
    found = {"complaint": "no" if job["booked"]["data"]["service"] else "yes", "compressor": "unknown", "steering": "unknown"}
    if job["facts"] is not None:
        data = job["facts"]["data"]
        found["compressor"], found["steering"] = data["compressor"], data["steering"]
    return found


def _belts_for(job, fact, values, known):
    """The loops that a check is asked for: [""] for one of the whole car, [] where it does not exist."""
    if fact != "tensioner":
        return [""] if not fact or known[fact] in values else []
    several = len(card.loops_of(job)) > 1
    found = []
    for loop, _name in card.loops_of(job):
        facts = card.loop_facts(job, loop)
        if facts is not None and facts["tensioner"] in values and not card.left_out(job, loop):
            found.append(loop if several else "")
    return found


def of(job: dict) -> list:
    """Return the running checks that exist on this car, with the answers that stand; those of a tensioner for each belt.

    Parameters:  job: the folded job
    Returns:     [{"key": item with its loop, "item", "loop", "when", "what", "why", "result": code of words.CHOICES["run_result"] or "", "entry": or None}, ...]
    Source:      common practice, no source
    """
    known = _facts_of(job)
    found = []
    for code, when, what, why, fact, values in CHECKS:
        for loop in _belts_for(job, fact, values, known):
            # An answer that names no belt tells of each.
            entry = ([None] + [one for one in card.of_belt(job["runs"], loop) if one["data"]["item"] == code])[-1]
            found.append({"key": code + loop, "item": code, "loop": loop, "when": when, "what": card.with_belt(job, loop, what), "why": why,
                          "entry": entry, "result": entry["data"]["result"] if entry is not None else ""})
    return found


def state(job: dict) -> list:
    """Return [state, words] of the proof, as the card shows it.

    Parameters:  job: the folded job
    Returns:     "done" when every check is answered, none is bad and one is good; else "open"
    """
    checks = of(job)
    bad = [check["what"] for check in checks if check["result"] == "bad"]
    left = len([check for check in checks if not check["result"]])
    skipped = len([check for check in checks if check["result"] == "not_done"])
    if bad:
        return ["open", "Not good: " + "; ".join(bad) + "."]
    if left:
        return ["open", "Answers left: " + str(left) + " of " + str(len(checks)) + "."]
    if skipped == len(checks):
        return ["open", "Nothing was checked yet."]
    return ["done", "Not done: " + str(skipped) + "." if skipped else ""]


def not_done(job: dict) -> list:
    """Return what was left out of the proof, each with the reason given.

    Parameters:  job: the folded job
    Returns:     texts
    """
    return [check["what"] + "." + (" " + check["entry"]["data"]["note"] if check["entry"]["data"]["note"] else "")
            for check in of(job) if check["result"] == "not_done"]


def manual_loops(job: dict) -> list:
    """Return the belts whose tension is set by hand as [[loop, name], ...].

    Parameters:  job: the folded job
    """
    found = []
    for loop, name in card.loops_of(job):
        facts = card.loop_facts(job, loop)
        if facts is not None and facts["tensioner"] in MANUAL and not card.left_out(job, loop):
            found.append([loop, name])
    return found


def recheck_lacks(job: dict) -> list:
    """Return the belts that are set by hand and have no next check of their tension agreed: they lose it in their run-in.

    Parameters:  job: the folded job
    Returns:     [[loop, name], ...]
    """
    # A check agreed before it said what it follows from stands for every belt.
    agreed = [entry["data"].get("follows", "") for entry in job["due"] if "follows" in entry["data"]]
    if len(agreed) < len(job["due"]):
        return []
    return [pair for pair in manual_loops(job) if RECHECK + pair[0] not in agreed]
