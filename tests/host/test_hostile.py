"""Every row of the core's table with hostile addresses, questions and forms: never an exception, never a broken page.

The values are a fixed list, mixed by a fixed seed; the fields are those that the pages themselves offer. What was
taken in all the same has to be shown harmlessly ever after.
"""

import html
import json
import random
import re
import uuid

import pytest

from demo_db import build
from webapp import app as application
from webapp import causes, drives, people, shop, stock, store
from webapp.core import door, routes

MARK = "<script>alert(1)</script>"
VALUES = ["", " ", "0", "-0", "-1", "+6", "6,5", "1.5.2", "1e309", "-1e309", "1e-400", "NaN", "-inf", "Infinity", "9" * 400,
          "1_000", "1 000", "0x10", "\u0663", "\uff16", "\u00bd", "\u00b2", "\u2212 5", "True", "null", "[]", "{}", "\x00", "\x1b[2J", "\x7f",
          "\ufffd", "\ufeff6PK1500", "\u202e0051KP6", "e\u0301" * 40, "\U0001f41f", "x" * 20000, "\r\nSet-Cookie: a=b", MARK,
          "\"'><img src=x onerror=alert(1)>", "{{ 1234567 * 7 }}", "{% include 'base.html' %}", "//elsewhere.example/",
          "https://elsewhere.example", "\\\\elsewhere.example", "javascript:alert(1)", "../../etc/passwd", "a" * 64, "0" * 32,
          "1", "2", "6", "7", "squeal", "B_WORN", "leak", "found", "accepted", "fine", "412.5", "1500", "mm", "in", "N", "lbf", "kgf", "yes", "no", "skip", "read", "old", "new", "pluck",
          "press", "maker", "guideline", "6PK1500", "845K8", "AV10x1000 La", "PK", "12", "none", "unknown", "fault", "ribs", "wear",
          "2026-02-31", "1" * 17]
# What stands in an address where the table has a name in braces; "job" gets jobs of the workshop as well.
PLACES = {"loop": ["0", "1", "2", "3", "9", "%31", "%00", "-1"], "place": ["old", "new", "%3Cscript%3E", "..%2f"],
          "step": ["cause", "drive", "belts", "tension", "proved", "next_check", "signed", "gate", "nothing", "%F0%9F"],
          "method": ["pluck", "press", "%E2%88%92"], "sha256": ["0f" * 32, "x", "%00"], "pulley": ["0", "1", "2", "new", "99", "x", "-1", "%00"],
          "drive": [build.drive_id("van"), build.drive_id("truck"), "x", str(uuid.UUID(int=7)), "%00", "%F0"],
          "check": ["kind-of-noise", "water-mist-on-the-ribs", "belt-tension", "alternator-pulley-by-hand", "x", "%00", "%F0%9F"],
          "part": ["belt", "tensioner", "x", "%00"],
          "cause": ["alternator-pulley-seized", "engine-misfire-or-rough-idle", "belt-worn", "x", "%00", "%F0%9F"],
          "token": ["0" * 32, "%00", "a%20b", "x" * 300], "ask": [
              "voltage", "count", "belt1", "ribs1", "tensioner2", "1", "x1", "%31"]}
FORMS_EACH = 8


@pytest.fixture
def client(demo_copy):
    app = application.create_app({"DATA": demo_copy})
    client = app.test_client()
    db = store.connect(app.config["DATABASE"])
    client.people = people.listed(db)
    client.shop = dict(shop.load(db), origin="http://localhost")
    client.jobs = [row[0] for row in db.execute("SELECT id FROM jobs ORDER BY id")]
    client.db = db
    edda = [p["id"] for p in client.people if p["name"] == "Edda Lindfors"][0]
    client.who = edda
    assert client.post("/signin", data={"person": edda, "pin": "7304"}).status_code == 303
    yield client
    db.close()


def addresses(pattern, rng, jobs):
    """The row's address with each of its names filled in, well and badly."""
    names = [part[1:-1] for part in pattern.split("/") if part.startswith("{")]
    chosen = []
    for job in (jobs if "job" in names else [""]):
        path = pattern.replace("{job}", job)
        for name in names:
            if name != "job":
                path = path.replace("{" + name + "}", rng.choice(PLACES[name][:6] if rng.random() < 0.8 else PLACES[name]))
        chosen.append(path)
    if "job" in names:
        chosen += [chosen[0].replace(jobs[0], bad) for bad in (str(uuid.UUID(int=7)), "x", "%00", "%F0")]
    return chosen


def fields_of(page):
    """The names of a page's fields with the values that it offers; every text of our pages is escaped, so no parser is needed."""
    found = {}
    for tag in re.findall(r"<(?:button|input|select|textarea)\b[^>]*>", page):
        field = dict(re.findall(r'\b(name|value)="([^"]*)"', tag))
        if "name" in field:
            found.setdefault(html.unescape(field["name"]), set()).add(html.unescape(field.get("value", "")))
    return sorted((name, sorted(values)) for name, values in found.items())


def filled(fields, rng):
    """A form or question: most fields as offered or hostile, some left out, some twice, one that nobody offers."""
    pairs = [(rng.choice(VALUES), "nobody asked")] if rng.random() < 0.1 else []
    for name, offered in fields:
        for _ in range(rng.choice([0, 1, 1, 1, 1, 2])):
            pairs.append((name, rng.choice(offered) if rng.random() < 0.5 else rng.choice(VALUES)))
    return [(name, value) for name, value in pairs if name]


EXTRA = [("code", ["K7MA 4QX9"]), ("token", ["0" * 32]), ("drop", ["1"]), ("only", ["1"]), ("step", ["read"]), ("reading", ["100"]),
         ("loop", ["1"]), ("event", [str(uuid.UUID(int=9))]), ("next", ["/jobs"]), ("mine", ["1"]), ("do", ["skip"])]


def every_request(client, seed):
    """(method, path, pairs) for every row of the table, the readers of a job before its writers."""
    rng = random.Random(seed)
    for method, pattern, _needs, _module, _function in routes.TABLE:
        for path in addresses(pattern, rng, rng.sample(client.jobs, 3)):
            fields = fields_of(client.get(path).text) + EXTRA
            yield method, path, []
            for _ in range(FORMS_EACH if method == "POST" else 3):
                yield method, path, filled(fields, rng)


def body_of(pairs):
    data = {}
    for name, value in pairs:
        data.setdefault(name, []).append(value)
    return data


def sound(answer, where):
    # 308: two slashes in an address made one.
    assert answer.status_code in (200, 303, 308, 404, 422), where
    assert MARK not in answer.text and "<img src=x" not in answer.text, where
    goto = answer.headers.get("Location", "/").removeprefix("http://localhost")
    assert goto.startswith("/") and not goto.startswith("//") and "\\" not in goto, where
    assert "8641969" not in answer.text, where


@pytest.mark.parametrize("seed", [1, 2])
def test_the_server_answers_every_row_in_words(client, seed, caplog):
    recorded = client.db.execute("SELECT count(*) FROM events").fetchone()[0]
    for method, path, pairs in every_request(client, seed):
        where = (seed, method, path, pairs)
        if method == "POST":
            answer = client.post(path, data=body_of(pairs))
        else:
            answer = client.get(path, query_string=pairs)
        sound(answer, where)
    assert "failed" not in caplog.text
    # Some of it was well formed by chance and went in; it has to be harmless, and the log has to hold.
    assert client.db.execute("SELECT count(*) FROM events").fetchone()[0] > recorded + 50
    for job in client.jobs:
        assert store.verify_chain(client.db, job) is None
        for page in ("", "/history", "/sheet", "/sign", "/photos", "/tag", "/facts", "/booking", "/1/belts", "/1/tension", "/1/target",
                     "/1/tension/pluck", "/1/belts/old", "/1/belts/new", "/0/step/cause"):
            sound(client.get(f"/jobs/{job}{page}"), (seed, job, page))
    sound(client.get("/jobs"), seed)


def test_the_phones_door_answers_every_row(client):
    """The same through the one door that the worker knocks at, on CPython; nothing is kept, and only text crosses."""
    for method, path, pairs in every_request(client, 3):
        request = {"method": method, "path": path, "query": [] if method == "POST" else [list(p) for p in pairs],
                   "form": [list(p) for p in pairs] if method == "POST" else []}
        match = json.loads(door.call("match", json.dumps([request])))["value"]
        job = match["params"].get("job", "")
        given = {"now": "2026-03-09T08:05:00Z", "who": client.who, "device": "d", "n": 5, "host": "phone",
                 "ids": [str(uuid.UUID(int=i)) for i in range(12)], "events": store.job_events(client.db, job),
                 "board": store.board(client.db), "people": client.people, "shop": client.shop,
                 "found": store.find(client.db, token=match["params"].get("token", ""), code=dict(pairs).get("code", "")),
                 "outbox": {"waiting": 0, "photos": 0, "sounds": 0, "refused": [], "refused_photos": [], "full": False, "last_sync": ""},
                 "drives": drives.listed(client.db), "drive": drives.get(client.db, match["params"].get("drive", "")),
                 "stock": stock.given(client.db, []), "cars": [], **causes.given(client.db)}
        answer = json.loads(door.call("handle", json.dumps([request, given])))
        if answer["ok"]:
            assert answer["value"]["do"] in ("page", "record", "go", "be", "file"), (method, path, pairs)
            assert answer["value"].get("status", 200) < 500, (method, path, pairs)
        else:
            assert answer["sentence"], (method, path, pairs)
