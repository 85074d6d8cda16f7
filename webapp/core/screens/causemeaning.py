"""One cause explained to somebody who meets it for the first time: what it is, what it does, which answers point to it."""

from .. import card
from .. import evidence
from .. import findings
from .. import reply
from . import causewords


def show(request: dict, given: dict) -> dict:
    """Explain a cause."""
    job, table = given["job"], given["table"]
    if table is None:
        return causewords.no_table()
    path = "/jobs/" + job["id"] + "/cause"
    for place, cause in causewords.cause_places(table):
        if place == request["params"]["cause"]:
            return reply.page("cause_meaning.html", {
                "title": cause["name"], "on_job": card.heading(job), "back": path, "meaning": cause["meaning"],
                "why": cause.get("why", ""), "drawing": cause.get("drawing", ""), "pointers": _pointers(job, given, cause, path),
                "statement": table["statement"]})
    return reply.missing("The table of causes has no such cause.")


def _pointers(job, given, cause, path):
    """The answers that speak most for it, each with the check that gives it."""
    table = given["table"]
    checks = {check["id"]: check for check in table["checks"]}
    return [{"tile": one["tile"], "check": checks[one["check"]]["name"], "drawing": checks[one["check"]].get("drawings", {}).get(one["outcome"], ""),
             "path": path + "/check/" + causewords.place_of(table, one["check"])}
            for one in findings.pointers(cause["code"], evidence.facts(job, evidence.belt(job)), table, given["counts"])]
