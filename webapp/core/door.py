"""The one door into the core for a host: text in, text out (JSON), so that nothing is lost on the bridge.

The server calls the same functions; the phone reaches them as `call(name, text)`.
"""

import json

from . import card
from . import events
from . import reply
from . import routes
from . import words
from .errors import CoreError

# Sums that would keep a screen waiting: a page runs them in a worker of its own. Name, module, function; the function takes
# the argument and what to call with the share done.
LONG_SUMS = [
    ["what_if_pulley", "screens.whatifpulley", "pulley_told"],
    ["listen", "screens.listening", "heard"],
    ["count_ribs", "screens.ribphoto", "counted"],
]


def match(request: dict) -> dict:
    """Say which records a request needs.

    Parameters:  request: {"method", "path"}
    Returns:     {"needs": [...], "params": {...}}, or {"needs": None} when the table has no such row
    """
    found = routes.match(request["method"], request["path"])
    if found is None:
        return {"needs": None, "params": {}}
    return {"needs": list(found[0][2]), "params": found[1]}


def handle(request: dict, given: dict) -> dict:
    """Answer a request with a reply (see `reply.py`).

    Parameters:  request: {"method", "path", "query": [[name, value], ...], "form": [[name, value], ...]} ·
                 given: {"now", "device", "who", "n", "ids", "host": "server" | "phone"} and the records
                 that the row needs; `given["events"]`, the raw events of the job, stands for "job"
    Returns:     the reply; events in it have passed `events.check`
    Raises:      CoreError when a screen made an event that the gate refuses (a bug or a stale page)
    """
    row, params = routes.match(request["method"], request["path"])
    request["params"] = params
    if "job" in row[2]:
        given["job"] = events.fold(given["events"])
        if given["job"] is None:
            return reply.missing("This job is not on this device.")
    module = __import__(_package() + ".screens." + row[3], None, None, [row[4]])
    answer = getattr(module, row[4])(request, given)
    if answer["do"] == "record":
        _admit_all(answer["events"], given.get("job"))
    return answer


def _package():
    return __name__[:-len(".door")]


def _admit_all(new, job):
    """Check each event against the job as it is after the ones before it."""
    for event in new:
        events.check(event, job)
        if job is None:
            job = events.fold([event])
        elif event["kind"] == "gate_passed":
            job["gate"] = event


def admit(event: dict, job_events: list) -> dict:
    """Say whether an event may join a job: {"ok": true} or {"ok": false, "code", "field", "sentence"}."""
    try:
        events.check(event, events.fold(job_events))
    except CoreError as error:
        return {"ok": False, "code": error.code, "field": error.field, "sentence": words.sentence(error)}
    return {"ok": True}


def summary(job_events: list) -> dict:
    """Return the short form of a job that lists and look-ups use (see `card.summary`)."""
    return card.summary(events.fold(job_events))


def drives(job_events: list) -> list:
    """Return the saved drives that stand on a job (see `library.of_job`)."""
    # Imported here: a worker asks this only where a drive waits to be sent.
    from . import library
    return library.of_job(events.fold(job_events))


def stock_keys(request: dict, job_events: list, today: str) -> list:
    """Return by which keys a host looks up the stock list for a request that needs it (see `stocklist.wanted`).

    Parameters:  request: as for `handle` · job_events: raw events of the job · today: date such as "2026-03-09"
    """
    # Imported here: only screens on parts need it.
    from . import stocklist
    params = routes.match(request["method"], request["path"])[1]
    hand = [value for name, value in request["query"] + request["form"] if name == "hand"]
    return stocklist.wanted(job_events, params["loop"], hand[0].strip() if hand else "", today)


def call(name: str, text: str) -> str:
    """Answer the phone's worker.

    Parameters:  name: "match", "handle", "admit", "summary", "drives", "stock_keys" or "canonical" · text: JSON list of arguments
    Returns:     JSON text of {"ok": true, "value": ...} or {"ok": false, "code", "field", "sentence"}
    """
    return _in_text(_called, name, json.loads(text))


def _called(name, arguments):
    if name == "match":
        return match(arguments[0])
    if name == "handle":
        return handle(arguments[0], arguments[1])
    if name == "admit":
        return admit(arguments[0], arguments[1])
    if name == "summary":
        return summary(arguments[0])
    if name == "drives":
        return drives(arguments[0])
    if name == "stock_keys":
        return stock_keys(arguments[0], arguments[1], arguments[2])
    return events.canonical(arguments[0])


def long_sum(name: str, text: str, told: object = None) -> str:
    """Work out a sum of `LONG_SUMS` for a page.

    Parameters:  name: of the sum · text: its argument as JSON · told: function that is called with the share done as
                 text, "0" to "1", now and then; or None
    Returns:     JSON text as `call`
    """
    def tell(share):
        if told is not None:
            told(str(share))

    return _in_text(_summed, name, [json.loads(text), tell])


def _summed(name, arguments):
    for known, module, function in LONG_SUMS:
        if known == name:
            found = __import__(_package() + "." + module, None, None, [function])
            return getattr(found, function)(arguments[0], arguments[1])
    raise CoreError("not-a-choice", "name")


def _in_text(work, name, arguments):
    try:
        value = work(name, arguments)
    except CoreError as error:
        return json.dumps({"ok": False, "code": error.code, "field": error.field, "sentence": words.sentence(error)})
    return json.dumps({"ok": True, "value": value})
