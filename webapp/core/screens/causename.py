"""Naming the cause: one or several, ranked ones first, or in own words; and why."""

from .. import card
from .. import events
from .. import evidence
from .. import forms
from .. import reply
from . import causewords
from . import signed

# The code of a cause in own words, and how many can be named.
OWN = "own"
_MOST = 6
# So many tiles are shown at once, the others one tap away.
_FIRST = 5
_LABELS = [["cause", "The cause"], ["own", "Own words"], ["reason", "How you know"]]


def show(request: dict, given: dict) -> dict:
    """Ask for the cause."""
    if given["table"] is None:
        return causewords.no_table()
    typed = {"cause": [], "own": "", "reason": ""}
    entry = evidence.named(given["job"], evidence.belt(given["job"]))
    if entry is not None:
        data = entry["data"]
        typed["cause"] = [code for code in data["causes"] if code != OWN]
        typed["own"] = "; ".join([data["names"][i] for i in range(len(data["names"])) if data["causes"][i] == OWN])
        typed["reason"] = data["reason"]
    return _page(given, typed, None, 200)


def _rows(given):
    """Every cause that this car can have, likeliest first."""
    return causewords.ranked(given["job"], given)["rank"]["causes"]


def _page(given, typed, reading, status):
    job = given["job"]
    errors = reading.errors if reading else {}
    found = causewords.ranked(job, given)
    rows = found["rank"]["causes"]
    tiles = [[row["code"], row["name"]] for row in rows]
    known = causewords.cause_paths(given["table"], "/jobs/" + job["id"] + "/cause")
    shares = [{"name": row["name"], "path": known[row["code"]], "share": row["share"]} for row in rows[:_FIRST]]
    guards = [check["name"] for check in given["table"]["checks"] if check["id"] in found["rank"]["guards"]]
    entry = evidence.named(job, found["loop"])
    context = {
        "title": "Name the cause", "belt_name": card.loop_name(job, evidence.key_of(job)), "belt": evidence.key_of(job), "on_job": card.heading(job), "back": "/jobs/" + job["id"] + "/cause",
        "action": "/jobs/" + job["id"] + "/cause/name", "shares": shares, "guards": guards, "clear": found["rank"]["clear"],
        "first": forms.tiles("cause", "Likeliest first", tiles[:_FIRST], typed["cause"], errors, many=True, wordy=True,
                             hint="Pick every cause that you found. Several at once are normal."),
        "more": forms.tiles("cause_more", "Other causes", tiles[_FIRST:], typed["cause"], {}, many=True, wordy=True),
        "more_open": len([code for code, _ in tiles[_FIRST:] if code in typed["cause"]]) > 0,
        "own": forms.field("own", "Another cause, in own words", typed["own"], errors, most=80),
        "reason": forms.field("reason", "How you know, and what was ruled out", typed["reason"], errors, lines=3, most=400),
        "problems": reading.problems(_LABELS) if reading else [],
        "by": signed.by(entry, given) if entry is not None else None, "statement": given["table"]["statement"],
        "undo": "/jobs/" + job["id"] + "/withdraw?event=" + entry["id"] if entry is not None else ""}
    return reply.page("cause_name.html", context, status)


def save(request: dict, given: dict) -> dict:
    """Record the causes, and how the ranking stood."""
    if given["table"] is None:
        return causewords.no_table()
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    ticked = forms.values(request, "cause") + forms.values(request, "cause_more")
    rows = _rows(given)
    # The main cause comes first: the likeliest of those that were ticked.
    chosen = [row for row in rows if row["code"] in ticked]
    own = reading.text("own", 80)
    reason = reading.text("reason", 400, True)
    codes = [row["code"] for row in chosen] + ([OWN] if own else [])
    if [code for code in ticked if code not in codes]:
        reading.fail("cause", "not-a-choice")
    if not codes:
        reading.fail("cause", "no-cause")
    if len(codes) > _MOST:
        reading.fail("cause", "too-many", {"most": str(_MOST)})
    if reading.errors:
        return _page(given, {"cause": ticked, "own": forms.value(request, "own"), "reason": forms.value(request, "reason")},
                     reading, 422)
    data = {"causes": codes, "names": [row["name"] for row in chosen] + ([own] if own else []), "reason": reason,
            "shown": {row["name"]: row["share"] for row in rows if row in rows[:3] or row in chosen}}
    loop = causewords.belt_of_form(request, job)
    old = evidence.named(job, loop)
    made = events.make(given, 0, "cause_named", job["id"], data, loop, old["id"] if old is not None else None)
    return reply.record([made], "/jobs/" + job["id"] + "/cause/looks")
