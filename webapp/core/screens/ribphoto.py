"""The ribs of a belt counted on a photo: a line dragged across it, a proposal that a person confirms on the belt's own page."""

from .. import belts
from .. import card
from .. import numbers
from .. import reply
from .. import units
from .. import words
from . import measuring
from . import photos

# What the page may have to say before and while it counts; the core says the rest.
_SAYS = ["ready", "second", "working", "short", "failed", "unread"]


def show(request: dict, given: dict) -> dict:
    """Show the newest photo of a belt to drag a line across, or ask for one."""
    away = measuring.turned_away(request, given, "place", "belt_place")
    if away:
        return away
    job, loop, place = given["job"], request["params"]["loop"], request["params"]["place"]
    name = words.label("belt_place", place)
    context = measuring.frame(given, loop, name + ": count the ribs on a photo")
    here = context["path"] + "/belts/" + place
    taken = [e["data"] for e in job["photos"] if e["data"]["subject"] == place + "_belt" and e["loop"] in (loop, "")]
    entry = card.belt_of(job, loop, place)
    data = entry["data"] if entry else belts.blank(place)
    context.update({
        "place_name": name, "here": here, "photo": None, "slot": photos.slot(job, place + "_belt", loop, here + "/count", True),
        "says": [[key, words.reason("ribs-" + key, {})] for key in _SAYS], "section": data["section"] or "",
        "width_mm": "" if data["width"] is None else numbers.trimmed(units.to_si(data["width"], "length") * 1000, 1)})
    if taken:
        context["photo"] = {"path": "/photos/" + taken[-1]["sha256"], "width": str(taken[-1]["width"]), "height": str(taken[-1]["height"])}
    return reply.page("belts_count.html", context)


def counted(argument: dict, told: object) -> dict:
    """Work out how many ribs a line across a belt shows; a long sum (see `door.LONG_SUMS`).

    Parameters:  argument: {"lines", "length_px"} as `ribcount.count` takes them, {"section": of the belt, "width_mm": its measured
                 width as text}, both "" when not known · told: not called, the work is one piece
    Returns:     {"ribs": text, "" when declined; "sentence": what was found or why not}
    Raises:      CoreError as `ribcount.count`
    """
    # Imported here: pages that only offer to count do not load it.
    from .. import ribcount
    from .. import sections
    section = argument["section"]
    pitch = sections.RIBBED[section]["pitch_mm"] if section in sections.RIBBED else None
    width = float(argument["width_mm"]) if argument["width_mm"] else None
    found = ribcount.count(argument["lines"], argument["length_px"], width, pitch)
    values = {"ribs": str(int((found["periods"] or 0.0) + 0.5)), "other": str(found["other"] or "")}
    if found["ribs"] is not None:
        return {"ribs": values["ribs"], "sentence": words.reason("ribs-counted", values)}
    return {"ribs": "", "sentence": words.reason("ribs-not-" + found["reason"], values)}


def proposed(counted: str) -> str:
    """Return what the page of the ribs says of a count from a photo, "" when there is none.

    Parameters:  counted: as the address or the form carries it
    """
    return words.reason("ribs-proposed", {"ribs": counted}) if counted in [str(n) for n in range(1, 61)] else ""
