"""A drive looked at: its route drawn, how to thread it, and the answers with their working."""

from .. import card
from .. import drawing
from .. import drive as geometry
from .. import drive_entry
from .. import drive_form
from .. import drive_spread
from .. import layout
from .. import reply
from .. import tensioner
from .. import times
from .. import units
from .. import vibration
from .. import words
from ..errors import CoreError
from . import driveanswers
from . import jobs
from . import measuring
from .drivewords import Shown


class Facts:
    """What is computed of a drive once and used by every answer; None, and why, for what cannot be.

    Parameters:  drive: as `view` · shop: for its units · target: as `view`
    """

    def __init__(self, drive, shop, target):
        self.full = drive_form.parts(drive)
        self.shown = Shown(shop, self.full)
        self.target = target
        self.problem = None
        self.solved = None
        self.laid = None
        self.spread = None
        try:
            drive_form.form(self.full)
        except CoreError as error:
            self.problem = error
        if self.problem is None:
            self.solved = geometry.solve(self.full)
            self.laid = layout.lay_out(self.full)
            self.spread = drive_spread.spread_of(self.full, self.laid)
        self.rest, self.no_rest = self._tried(self._resting)
        self.tension, self.no_tension = self._tried(self._tension)
        self.spans, self.no_spans = self._tried(self._best)

    def _tried(self, call):
        """(what a call gives, None) or (None, the CoreError that says what stands in its way)."""
        if self.problem is not None:
            return None, self.problem
        try:
            return call(), None
        except CoreError as error:
            return None, error

    def tried(self, call, *given):
        """(what a call with the drive gives, None) or (None, the CoreError that says what stands in its way).

        Parameters:  call: of the core · given: what it takes after the drive
        """
        return self._tried(lambda: call(self.full, *given))

    def _resting(self):
        if self.full["tensioner"]["kind"] in tensioner.ARM:
            return tensioner.rest(self.full)
        return None

    def _tension(self):
        """[value, low, high] of the strand tension at rest [N], None when only a reading can tell."""
        if self.target is not None:
            return [(self.target["low_n"] + self.target["high_n"]) / 2, self.target["low_n"], self.target["high_n"]]
        if self.full["tensioner"]["kind"] in tensioner.ARM:
            if self.rest is None:
                raise self.no_rest
            return driveanswers.arm_tension(self)
        return None

    def _best(self):
        """The spans, the best to measure first; without a known tension their order alone counts."""
        low, high = (300.0, 300.0) if self.tension is None or self.tension[1] <= 0 else self.tension[1:]
        return vibration.best_span(self.full, low, high)

    def lacks(self, error) -> str:
        """Return the sentence for an answer that cannot be had.

        Parameters:  error: the CoreError that says why
        """
        return self.shown.error(error)


def view(drive: dict, shop: dict, target: dict = None, path: str = "", whole: bool = False) -> dict:
    """Return what `_drive_answers.html` shows of a drive.

    Parameters:  drive: in the drive form, perhaps half entered · shop: the workshop's settings, for its units · target:
                 wanted strand tension {"low_n", "high_n"} or None · path: of the drive's page, "" for no link to its
                 printed route · whole: with a path, whether the slip is worked out at once
    Returns:     {"route": see `_route.html`, None when no pulley has a place; "key": remarks to the picture, "runs",
                 "thread": the route in words, "problems": [{"kind": "stop" | "watch" | "open", "sentence"}], a page that
                 lists the faults itself may empty it; "lacking": sentence on the numbers still missing or "", "answers":
                 see `driveanswers.answers`, "remark": on all of them or "", "print": address of the page to thread by or "",
                 "later": where the answer on slip comes from once the page is shown, "" when it is among the answers}
    Raises:      CoreError as `drive_form.parts`
    """
    facts = Facts(drive, shop, target)
    out = _route_view(facts)
    out.update({"answers": driveanswers.answers(facts), "remark": driveanswers.remark(facts), "print": path + "/print" if path else "",
                "later": ""})
    if out["answers"] and path and not whole:
        out["later"] = path + "/_slip"
    elif out["answers"]:
        out["answers"].append(dict(driveanswers.slip(facts), open=whole))
    return out


def _route_view(facts):
    """The part of `view` that is on the route."""
    out = {"route": _picture(facts), "key": _key(facts), "runs": "", "thread": [], "problems": _problems(facts), "lacking": _lacking(facts)}
    if facts.solved is not None:
        out["thread"] = _thread(facts)
        order = "in the order of the numbers: 1, 2, 3" if facts.solved["runs_as_listed"] else "against the numbers: 3, 2, 1"
        out["runs"] = "With the engine running the belt moves " + order + "."
    return out


def _thread(facts):
    lengths = [facts.shown.length(span["length_mm"]) for span in facts.solved["spans"]]
    return drawing.thread(facts.full, facts.solved, lengths)


def _picture(facts):
    best = None
    if facts.spans:
        best = {"from": facts.spans[0]["from"], "to": facts.spans[0]["to"], "text": facts.shown.length(facts.spans[0]["length_mm"])}
    picture = drawing.drawing(facts.full, facts.solved, best, facts.rest)
    if picture is None:
        return None
    count = len(facts.full["pulleys"])
    picture["title"] = "Route of the belt: " + str(count) + (" pulley" if count == 1 else " pulleys") + ", seen from the belt side"
    picture["words"] = "The route is not complete yet."
    if facts.solved is not None:
        picture["words"] = " ".join([s["number"] + " " + s["name"] + ": " + s["how"] + "; " + s["then"] + "." for s in _thread(facts)])
    return picture


def _key(facts):
    """Remarks to the picture; only on what is in it."""
    out = ["Seen from the belt side. Thick line: back of the belt. Thin line beside it: its ribs or V flanks. "
           "Double rim: grooved. Single rim: flat."]
    data = facts.full["tensioner"]
    if facts.spans:
        out.append("Broad band along a span: the one to measure.")
    if facts.rest is not None:
        out.append("At the pivot: curve from stop to stop, strokes are the marks, triangle is where the arm rests with this belt."
                   if data["stops_deg"] is not None else "At the pivot: the triangle is where the arm rests with this belt.")
    if data["kind"] in ("slotted", "lead_screw") and data["slot_deg"] is not None:
        out.append("Dashed line through a pulley: the way its slot lets it move.")
    elif data["kind"] in ("slotted", "lead_screw") and data["pivot_x_mm"] is not None:
        out.append("Line to the small ring: the bolt about which the bracket swings.")
    if data["kind"] == "eccentric" and data["pivot_x_mm"] is not None:
        out.append("Dashed circle: the way the eccentric moves its roller's centre.")
    return out


def _problems(facts):
    if facts.problem is not None:
        return [{"kind": "open", "sentence": facts.shown.error(facts.problem)}]
    kinds = {"stop": "stop", "check": "watch", "note": "open"}
    return [{"kind": kinds[fault["weight"]], "sentence": words.fault_sentence(fault)} for fault in facts.solved["faults"]]


def _lacking(facts):
    if facts.solved is None or not facts.solved["missing"]:
        return ""
    return "Not known yet: " + ", ".join(facts.shown.names(facts.solved["missing"])) + "."


def _paper(title, entry, who, shop, back, given):
    """The page to thread by."""
    drive = drive_entry.to_drive(entry["drive"], entry["name"])
    shown = _route_view(Facts(drive, shop, None))
    belt = drive["belt"]
    marking = [str(belt["ribs"]) if belt["ribs"] else "", belt["section"] or "", units.text(belt["effective_mm"] / 1000, "mm", "length")
               if belt["effective_mm"] else "length not known"]
    return reply.page("drive_print.html", {
        "title": title, "name": entry["name"], "engine": entry["engine"] or "", "who": who, "view": shown, "back": back,
        "warnings": [one for one in shown["problems"] if one["kind"] != "open"], "belt": " ".join([part for part in marking if part]), "shop_name": shop["name"], "printed": times.shown(given["now"]),
        "printed_at": given["now"]})


def print_on_job(request: dict, given: dict) -> dict:
    """Show the route of a job's drive for print."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    found = card.drive_of(job, loop)
    back = "/jobs/" + job["id"] + "/" + loop + "/drive"
    if found is None:
        return reply.go(back)
    answer = _paper("Route of the belt", found["data"], "", given["shop"], back, given)
    answer["context"]["on_job"] = card.heading(job)
    return answer


def print_saved(request: dict, given: dict) -> dict:
    """Show the route of a saved drive for print."""
    found = given["drive"]
    if found is None:
        return reply.missing("There is no such saved drive.")
    return _paper("Route of the belt", found["data"], jobs.person_name(given, found["who"]), given["shop"], "/drives/" + found["id"], given)


# ---- the answer on slip, by itself ----

def target_n(entry):
    """Return a target as `view` takes it, None without one.

    Parameters:  entry: a "target_set" entry or None
    """
    if entry is None:
        return None
    return {"low_n": units.to_si(entry["data"]["low"], "force"), "high_n": units.to_si(entry["data"]["high"], "force")}


def _slip(data, loop, shop, target):
    facts = Facts(drive_entry.to_drive(data["drive"], data["name"], loop), shop, target)
    if facts.problem is not None:
        return reply.missing(facts.lacks(facts.problem))
    return reply.page("_drive_answer.html", {"a": driveanswers.slip(facts)})


def slip_on_job(request: dict, given: dict) -> dict:
    """Show where a job's drive slips first, once its page is there."""
    job, loop = given["job"], request["params"]["loop"]
    found = card.drive_of(job, loop) if measuring.knows(job, loop) else None
    if found is None:
        return measuring.no_such_belt()
    return _slip(found["data"], loop, given["shop"], target_n(measuring.target_of(job, loop)))


def slip_saved(request: dict, given: dict) -> dict:
    """Show where a saved drive slips first, once its page is there."""
    found = given["drive"]
    if found is None:
        return reply.missing("There is no such saved drive.")
    return _slip(found["data"], "1", given["shop"], None)
