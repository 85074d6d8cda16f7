"""The cause: how the causes stand, the check that tells most now, and every check with its answer."""

from .. import card
from .. import cause_table
from .. import evidence
from .. import findings
from .. import forms
from .. import looks
from .. import photoproof
from .. import reply
from .. import words
from . import causewords
from . import signed

# Causes that are shown with their reasons, and reasons for each.
_SHOWN = 3
_REASONS = 4
# Of the others, those with a share from here on are told with it [-].
_NAMED = 0.03


def show(request: dict, given: dict) -> dict:
    """Show how the causes stand and what to do next."""
    return show_with(request, given, None, 200)


def show_with(request: dict, given: dict, reading, status: int) -> dict:
    """Show the same, after a form on it was refused.

    Parameters:  request, given: of the screen · reading: forms.Reading of the form, None without one · status: of the page
    """
    job, table = given["job"], given["table"]
    if table is None:
        return causewords.no_table()
    found = causewords.ranked(job, given)
    rank = found["rank"]
    path = "/jobs/" + job["id"] + "/cause"
    first = next_of(job, table, found, given["counts"])
    entry = evidence.named(job, found["loop"])
    groups, count = _groups(job, table, found, path)
    known = causewords.cause_paths(table, path)
    context = {
        "title": "Cause", "on_job": card.heading(job), "back": "/jobs/" + job["id"], "path": path,
        "complaint": job["booked"]["data"]["complaint"], "next": _next_view(first, path, table), "clear": rank["clear"],
        "changed": _changed(job, given, found, causewords.check_at(table, forms.asked(request, "after"))),
        "answered": len(found["answers"]) > 0, "causes": _causes(rank, known), "others": _others(rank, known), "rare": _rare(rank, known),
        "ruled_out": [{"name": row["name"], "path": known[row["code"]]} for row in rank["ruled_out"]], "open": rank["open"], "notes": rank["notes"],
        "sure": rank["one_cause"], "contexts": ", ".join(rank["contexts"]), "groups": groups, "count": count,
        "computed": _computed(table, found["computed"]), "undecided": found["computed"]["undecided"], "facts_unknown": job["facts"] is None,
        "plain": "/jobs/" + job["id"] + "/0/step/cause", "belts": _belts(job, found["loop"]), "belt": found["loop"],
        "elsewhere": [card.with_belt(job, one["loop"], ", ".join(one["data"]["names"])) for one in card.named_causes(job)
                      if entry is None or one["id"] != entry["id"]],
        "named": _named(job, entry, given) if entry is not None else None, "statement": table["statement"],
        "problems": reading.problems([["belt", "Which belt"]]) if reading else []}
    return reply.page("cause.html", context, status)


def _belts(job, loop):
    """What to say about the belt that complains, [] where there is one belt only."""
    loops = card.loops_of(job)
    if len(loops) == 1:
        return []
    asked = evidence.BELT in evidence.said(job)
    return [{"value": one, "name": name, "on": one == loop} for one, name in loops] + [
        {"value": evidence.NO_BELT, "name": "Not known yet", "on": asked and not loop}]


def next_of(job: dict, table: dict, found: dict, counts):
    """Return the check to do next, None when none is left: the story of the complaint first, then what tells most.

    Parameters:  job: the folded job · table, counts: as given · found: of `causewords.ranked`
    """
    told = findings.next_check(found["answers"], found["facts"], table, found["spent"], counts)
    later = [check for check, outcome in found["answers"] if outcome == "not_done"]
    story = [row["check"] for row in told["list"] if row["setup"] == "intake" and row["check"] not in later]
    for check in table["checks"]:
        if check["id"] in story:
            for row in told["list"]:
                if row["check"] == check["id"]:
                    return dict(row, why=words.reason("next-story", {"minutes": str(row["minutes"])}))
    return told["list"][0] if told["list"] else None


def _next_view(row, path, table):
    if row is None:
        return None
    cost = ""
    if row["guard"]:
        # The other reasons say it themselves.
        cost = str(row["minutes"]) + " min, " + causewords.setup_of(table, row["setup"])["name"]
        cost += ", " + str(row["setup_minutes"]) + " min until then" if row["setup_minutes"] else ""
    return {"name": row["name"], "why": row["why"], "cost": cost, "path": path + "/check/" + causewords.place_of(table, row["check"]),
            "label": "Never skip" if row["guard"] else "Next check"}


def _percent(share):
    return str(int(100 * share + 0.5)) if share >= 0.005 else "under 1"


def _changed(job, given, found, check):
    """One line on what the last answer moved most."""
    if check is None:
        return ""
    entries = [entry for entry in evidence.standing(job, found["loop"]) if entry["data"]["check"] == check["id"]]
    if not entries:
        return ""
    outcome = entries[0]["data"]["outcome"]
    tile = causewords.outcome_words(check, outcome)
    if outcome in cause_table.STATES:
        return words.reason("moved-not", {"check": check["name"], "state": tile.lower()})
    others = [pair for pair in found["answers"] if pair[0] != check["id"]]
    without = findings.rank(others, found["facts"], given["table"], given["counts"], found["spent"])
    before = {row["code"]: row["p"] for row in without["causes"]}
    most, moved = None, 0.0
    for row in found["rank"]["causes"]:
        change = abs(row["p"] - before.get(row["code"], 0.0))
        if change > moved + 1e-9:
            most, moved = row, change
    if most is None or moved < 0.02:
        return words.reason("moved-little", {"tile": tile})
    code = "moved-up" if most["p"] > before.get(most["code"], 0.0) else "moved-down"
    return words.reason(code, {"tile": tile, "cause": most["name"], "before": _percent(before.get(most["code"], 0.0)),
                               "after": _percent(most["p"])})


def _causes(rank, known):
    count = max(_SHOWN, len(rank["several"]))
    return [{"name": row["name"], "path": known[row["code"]], "meaning": row["meaning"], "share": row["share"], "first": row is rank["causes"][0],
             "good": [one["text"] for one in row["for"][:_REASONS]], "bad": [one["text"] for one in row["against"][:_REASONS]],
             "weight": "For it: " + str(len(row["for"])) + ", against it: " + str(len(row["against"])),
             "own": str(row["own"]) if row["own"] else ""} for row in rank["causes"][:count]]


def _others(rank, known):
    count = max(_SHOWN, len(rank["several"]))
    return [{"name": row["name"], "path": known[row["code"]], "share": row["share"]} for row in rank["causes"][count:] if row["p"] >= _NAMED]


def _rare(rank, known):
    count = max(_SHOWN, len(rank["several"]))
    return [{"name": row["name"], "path": known[row["code"]]} for row in rank["causes"][count:] if row["p"] < _NAMED]


def _named(job, entry, given):
    wanted = [look for look in looks.of(job) if look["loop"] == entry["loop"]]
    left = [look for look in wanted if look["state"] == "open"]
    return {"names": entry["data"]["names"], "reason": entry["data"]["reason"], "by": signed.by(entry, given),
            "looks": str(len(wanted)) if wanted else "", "left": str(len(left)) if left else "",
            "upstream": str(len([look for look in left if look["upstream"]]))}


def _groups(job, table, found, path):
    """Every check of this car by group with its answer, and how many have one."""
    entries = {entry["data"]["check"]: entry for entry in evidence.standing(job, found["loop"])}
    groups, done, rows = [], 0, 0
    for place, check in causewords.places(table):
        if cause_table.holds(check["needs"], found["facts"]) == "no":
            continue
        if check["group"] not in [group["code"] for group in groups]:
            groups.append({"code": check["group"], "name": check["group"][:1].upper() + check["group"][1:], "rows": []})
        group = [one for one in groups if one["code"] == check["group"]][0]
        row = _row(check, entries.get(check["id"]), found["facts"], table)
        row["path"] = path + "/check/" + place
        row["photos"] = _photo_count(len(photoproof.of_check(job, check["id"], found["loop"])))
        done += 1 if row["kind"] == "good" else 0
        rows += 1
        group["rows"].append(row)
    return [groups, str(done) + " of " + str(rows) + " answered"]


def _photo_count(count):
    """A photo is shown beside the answer; it is none."""
    return ("1 photo" if count == 1 else str(count) + " photos") if count else ""


def _row(check, entry, facts, table):
    cost = str(check["minutes"]) + " min, " + causewords.setup_of(table, check["setup"])["name"]
    if entry is None:
        state = "Open"
        if cause_table.holds(check["sure"], facts) != "yes":
            state = "Only where the maker allows it or names a value"
        return {"name": check["name"], "state": state, "kind": "open", "cost": cost}
    outcome = entry["data"]["outcome"]
    return {"name": check["name"], "state": causewords.with_note(causewords.outcome_words(check, outcome), entry),
            "kind": "watch" if outcome in cause_table.STATES else "good", "cost": cost}


def _computed(table, computed):
    rows = []
    for name, outcome in computed["answers"]:
        for check in table["checks"]:
            if check["id"] == name:
                rows.append({"name": check["name"], "tile": causewords.outcome_words(check, outcome), "trap": check["trap"],
                             "from": [text for one, text in computed["from"] if one == name][0]})
    return rows
