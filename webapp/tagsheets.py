"""Sheets of tags to print: the code that a phone scans, and the short code for when no camera reads it."""

from flask import Blueprint, request
from markupsafe import Markup

from . import context, office, shop, store, tags
from .core import card, codes, events

blueprint = Blueprint("tagsheets", __name__, url_prefix="/office/tags")

PAPERS = [["a4", "A4 sheet"], ["letter", "Letter sheet"], ["label", "Label, 100 × 50 mm"]]
MAX_TAGS = 60


@blueprint.get("")
def show():
    """Print the tags of the jobs asked for, or let the person pick jobs."""
    jobs = request.args.getlist("job")[:MAX_TAGS]
    if not jobs:
        return _choose()
    paper = request.args.get("paper", "")
    if paper not in [pair[0] for pair in PAPERS]:
        paper = shop.load(context.database())["paper"]
    printed, without = [], []
    for job in jobs:
        held = events.fold(store.job_events(context.database(), job))
        if held is not None:
            live = card.live_tag(held)
            (printed if live else without).append(_tag(held, live))
    papers = [{"value": value, "label": label, "on": value == paper} for value, label in PAPERS]
    return office.show("tags.html", "Tags", tags=printed, without=without, paper=paper, papers=papers, jobs=jobs,
                       shop=shop.load(context.database())["name"])


def _tag(held, live):
    booked = held["booked"]["data"]
    return {"code": codes.job_code(held["id"]), "registration": booked["registration"], "car": booked["car"] or "",
            "path": f"/jobs/{held['id']}/tag",
            "qr": Markup(tags.qr_svg(f"{context.origin_url()}/t/{live['token']}")) if live else ""}


def _choose():
    rows = [{"id": s["id"], "registration": s["registration"], "car": s["car"], "code": codes.job_code(s["id"])}
            for s in store.board(context.database()) if not s["signed"]]
    return office.show("tags_choose.html", "Print tags", rows=rows, papers=PAPERS,
                       paper=shop.load(context.database())["paper"])
