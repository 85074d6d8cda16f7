"""Requests and template contexts on which both hosts have to agree.

A new screen is covered by its row in the route table: every row is asked for every job of the invented workshop and with every
value of its parameters, a POST row with an empty form. Add to `ASKED` what these do not reach (a good form, a query), and to
`PAGES` the contexts of templates that no screen function shows.
"""

from tests.core import drive_samples
from webapp import causes, people, shop, store
from webapp.core import drive_entry, drive_file, library, routes, words
from webapp.core.screens import driveview

NOW = "2026-03-20T08:05:00Z"
IDS = ["00000000-0000-4000-8000-0000000000%02d" % i for i in range(12)]

# One saved drive that stands on no job, with signs that a page has to escape.
_DATA = {"name": "Van 2.0 <b>diesel</b> & “six” ribs", "engine": "L4 2.0", "origin": "tape", "copied_from": None, "shared": True,
         "drive": drive_entry.from_drive(drive_samples.load("automatic"))}
SAVED = library.saved(IDS[5], _DATA, ["", "Ada <i>", "2026-03-01T08:05:00Z", "2026-03-01T08:06:00Z"])
DRIVE_FILE = drive_file.write(SAVED, "Ada <i>")

# Invented counts of a workshop's own proved jobs.
COUNTS = {"causes": [["B_WORN", 3], ["OAP_LOCK", 2]], "cells": [["I1", "B_WORN", "squeal", 3], ["C11", "OAP_LOCK", "locked", 2]]}

# Invented lines of a stock list.
STOCK = {"known": True, "lines": [
    {"number": "VR-6 1660", "name": "Belt <six> ribs", "kind": "belt", "marking": "6PK1660", "quantity": "0", "place": "B & 4",
     "item": "06291041500213"},
    {"number": "VR-6 2100", "name": "Belt", "kind": "", "marking": "6PK2100", "quantity": "2", "place": "", "item": ""}]}

# What stands for the parameters of a path; "job" comes from the workshop.
PARAMETERS = {"loop": ["1"], "ask": ["voltage", "count", "ribs1"], "place": ["old", "new"], "step": [code for code, _label in words.choice_pairs("step")],
              "method": ["pluck", "press"], "check": ["kind-of-noise", "water-mist-on-the-ribs", "alternator-pulley-by-hand", "tensioner-pointer-engine-off"], "cause": ["alternator-pulley-seized", "engine-misfire-or-rough-idle", "none"], "drive": [IDS[5]], "part": ["belt", "tensioner", "overrun", "none"],
              "pulley": ["0", "new"], "token": ["0" * 32], "sha256": ["0f" * 32, "1e" * 32]}

READING = [["span", "Crank to pump"], ["length", "262"], ["length_unit", "mm"], ["length_error", "2"],
           ["length_error_unit", "mm"], ["section", "PK"], ["ribs", "6"], ["engine_temperature", "cold"], ["step", "read"],
           ["reading", "81,5"], ["reading", "82.1"], ["reading", "41"], ["reading", "82"]]
PRESSING = READING[:9] + [["force", "25"], ["force_unit", "N"], ["reading_unit", "mm"], ["reading", "6.5"], ["reading", "6"]]

# A photo of a check whose name, by a table of the workshop's own, holds signs that a page has to escape.
PHOTO = [["sha256", "2d" * 32], ["subject", "check"], ["width", "640"], ["height", "480"], ["size", "9000"], ["loop", "1"], ["check", "own 1"],
         ["what", "Arm & <i>bounce</i>"], ["remark", "a “chalk” arrow"], ["stage", "after"]]

# Taps on a photo: three pulleys, the third on top of the second.
TAPS = [["taps", '{"rims":[[[400,700],[600,500],[600,900]],[[1000,700],[1100,600],[1200,700]],[[1000,710],[1100,610],[1200,690.5]]],"size":[]}'],
        ["kind_1", "alternator"], ["face_1", "ribs"], ["kind_2", "tensioner"], ["face_2", "back"], ["size", "pulley"],
        ["dia_0", "150,5"], ["dia_0_unit", "mm"]]

# A pulley by two distances, its spot not picked yet.
TWO_SPOTS = [["placing", "place"], ["own", ""], ["kind", "compressor"], ["face", "ribs"], ["name", "a & <b>"], ["place_way", "from_two"],
             ["place_first", "crank"], ["place_first_distance", "200"], ["place_first_distance_unit", "mm"],
             ["place_second", "alternator"], ["place_second_distance", "150"], ["place_second_distance_unit", "mm"]]

# (method, path, query, form); one with {job} is asked for every job of the workshop.
ASKED = [
    ("POST", "/book", [], [["registration", "KX 21 <&> “Ä”"], ["distance", "12,5,0"], ["complaint", "squeals"]]),
    ("GET", "/find", [["code", "K7MA 4QX9"]], []),
    ("GET", "/reads/_marking", [["marking", "6PK1500"]], []),
    ("GET", "/reads/_marking", [["marking", "<b>nonsense</b>"]], []),
    ("GET", "/sums/span", [["method", "pluck"]] + READING, []),
    ("GET", "/sums/span", [["method", "press"]] + PRESSING, []),
    ("GET", "/sums/marking", [["marking", "6PK1500"], ["second", "6PK1510"], ["tensioner", "slotted"]], []),
    ("GET", "/sums/convert", [["kind", "force"], ["value", "22,5"], ["value_unit", "lbf"]], []),
    ("GET", "/jobs/{job}/1/tension/_result", [["method", "pluck"]] + READING, []),
    ("POST", "/jobs/{job}/1/target", [], [["kind", "maker"], ["belt_state", "new"], ["low", "12"], ["high", "15"],
                                          ["unit", "kgf"], ["source", "<b>page 3</b>"]]),
    ("GET", "/jobs/{job}/cause", [["after", "kind-of-noise"]], []),
    ("GET", "/jobs/{job}/cause/check/water-mist-on-the-ribs", [["stopped", "yes"]], []),
    ("POST", "/jobs/{job}/cause/check/kind-of-noise", [], [["outcome", "squeal"], ["note", "<b>told</b>"]]),
    ("POST", "/jobs/{job}/cause/check/kind-of-noise", [], [["outcome", "locked"], ["note", "x" * 301]]),
    ("POST", "/jobs/{job}/photos", [], PHOTO),
    ("POST", "/jobs/{job}/photos", [], PHOTO[:-1] + [["stage", "<b>"]]),
    ("POST", "/jobs/{job}/cause/name", [], [["cause", "B_WORN"], ["cause_more", "TN_DAMP"], ["own", "A <nut>"], ["reason", "ribs & arm"]]),
    ("GET", "/jobs/{job}/cause/looks", [["look", "leak"]], []),
    ("POST", "/jobs/{job}/cause/looks", [], [["look", "leak"], ["result", "accepted"], ["note", "<i>Rain"]]),
    ("POST", "/jobs/{job}/cause/looks", [], [["ask", "second_tensioner"], ["said", "yes"]]),
    ("POST", "/jobs/{job}/cause/belt", [], [["belt", "1"]]),
    ("POST", "/jobs/{job}/cause/about", [], [["use", "salt"], ["noise_now", "yes"], ["short_run", "no"], ["rpm", "750"], ["cylinders", "4"]]),
    ("POST", "/jobs/{job}/1/fitted", [], [["done", "clean"], ["done", "pin_in"], ["not_here", "new_bolts"], ["bolt", "Arm <b>"], ["torque", "45"],
                                          ["torque_unit", "N\u00b7m"], ["angle", "90"], ["source", "Sheet & page"]]),
    ("POST", "/jobs/{job}/1/fitted", [], [["done", "turned"], ["bolt", "Arm"], ["torque", "9999"], ["torque_unit", "N\u00b7m"]]),
    ("POST", "/jobs/{job}/asked", [], [["what", "Belt & <tensioner>"], ["by", "Owner"], ["answer", "offered"]]),
    ("POST", "/jobs/{job}/1/parts", [], [["what", "Clips <b>"], ["how_many", "6"], ["need", "if_needed"], ["why", "old ones broke"]]),
    ("GET", "/jobs/{job}/1/parts/belt", [["hand", "5PK1660"], ["note", "<i>"]], []),
    ("GET", "/jobs/{job}/1/parts/belt", [["hand", "(01)09520123456788(17)201120(10)A<b>"], ["due", "2026-13-01"]], []),
    ("POST", "/jobs/{job}/1/parts/belt", [], [["hand", "6PK1660"], ["state", "picked"]]),
    ("POST", "/jobs/{job}/1/parts/belt", [], [["state", "ordered"], ["due", "soon"], ["note", "x" * 301]]),
    ("GET", "/jobs/{job}/1/aligned", [["way", "angle"]], []),
    ("GET", "/jobs/{job}/1/aligned/_told", [["gap", "0,4"], ["gap_unit", "mm"], ["over", "300"], ["over_unit", "mm"], ["limit", "2"]], []),
    ("POST", "/jobs/{job}/1/aligned", [], [["way", "straightedge"], ["span", "crank to <pump>"], ["gap", "1"], ["gap_unit", "mm"],
                                           ["over", "240"], ["over_unit", "mm"], ["limit", "1"], ["tool", "Straightedge & gauge"]]),
    ("POST", "/jobs/{job}/1/aligned", [], [["way", "angle"], ["span", "crank to <pump>"], ["angle", "99"], ["limit", "maker"]]),
    ("GET", "/jobs/{job}/proved", [["stopped", "yes"]], []),
    ("POST", "/jobs/{job}/proved", [], [["r_idle", "good"], ["r_loads", "bad"], ["r_codes", "not_done"], ["note", "Squeals <still> & loud"]]),
    ("POST", "/jobs/{job}/proved", [], [["r_idle", "good"], ["r_loads", "bad"]]),
    ("GET", "/jobs/{job}/next-check", [["take", "belt1"]], []),
    ("POST", "/jobs/{job}/next-check", [], [["item", "Belt & <arm>"], ["grade", "watch"], ["date", "2026-13-40"], ["distance", "x"], ["distance_unit", "km"],
                                            ["reason", "Run in"]]),
    ("POST", "/jobs/{job}/next-check", [], [["item", "Belt & <arm>"], ["grade", "soon"], ["date", "2026-06-01"], ["reason", "Run in"]]),
    ("GET", "/book/_car", [["registration", "bay101"], ["vin", ""]], []),
    ("POST", "/jobs/{job}/notes", [], [["text", "a & b < c \" ' → ° 漢"]]),
    ("GET", "/jobs/{job}/1/tension/pluck", READING, []),
    ("GET", "/jobs/{job}/1/tension/press", PRESSING, []),
    ("POST", "/jobs/{job}/1/tension/pluck", [], READING),
    # Where a drive is recorded: another span chosen, and readings that belong together.
    ("GET", "/jobs/{job}/1/tension/press", PRESSING[:-2] + [["choose", "1"]], []),
    ("GET", "/jobs/{job}/1/tension/pluck", READING[:-2], []),
    ("GET", "/jobs/{job}/withdraw", [["event", "{last}"]], []),
    ("GET", "/drives", [["q", "VAN six"]], []),
    ("GET", "/drives/_list", [["q", "<b>none</b>"]], []),
    ("GET", "/drives/" + IDS[5] + "/what-if", [["a", "6PK1420"], ["b", "1432"]], []),
    ("GET", "/drives/" + IDS[5] + "/what-if", [["a", "<b>"], ["b", "6PK9"]], []),
    ("GET", "/drives/" + IDS[5] + "/what-if/pulley", [["rpm", "1500"], ["engine", "diesel"]], []),
    ("GET", "/drives/" + IDS[5] + "/what-if/slip", [["rpm", "2500"], ["use", "usual"], ["static", "320"], ["static_unit", "N"]], []),
    ("GET", "/jobs/{job}/1/drive", [["open", "order"]], []),
    ("POST", "/jobs/{job}/1/drive/copy", [], [["saved", IDS[5]]]),
    ("GET", "/jobs/{job}/1/drive/_spots", TWO_SPOTS, []),
    ("GET", "/jobs/{job}/1/drive/_spots", [["place_second_distance", "9"]] + TWO_SPOTS, []),
    ("POST", "/jobs/{job}/1/drive/pulleys/new", [], TWO_SPOTS),
    ("POST", "/jobs/{job}/1/drive/tensioner", [], [["kind", "automatic"], ["at_way", "typed"], ["torque_nm", "<b>"], ["stops_deg_low", "9"]]),
    ("GET", "/jobs/{job}/1/drive/_photo", TAPS, []),
    ("GET", "/jobs/{job}/1/drive/_photo", TAPS[:-2], []),
    ("POST", "/jobs/{job}/1/drive/photo", [], TAPS),
    ("POST", "/jobs/{job}/1/drive/photo", [], TAPS[:-2] + [["dia_0", "<b>"]]),
    ("GET", "/jobs/{job}/1/belts/old", [["step", "ribs"], ["counted", "6"]], []),
    ("POST", "/jobs/{job}/1/belts/old", [], [["step", "ribs"], ["ribs_counted", "6"], ["counted", "6"]]),
    ("POST", "/jobs/{job}/1/drive/file", [], [["text", DRIVE_FILE], ["shared", "yes"]]),
    ("POST", "/jobs/{job}/1/drive/file", [], [["text", DRIVE_FILE.replace("150", "NaN")], ["shared", "no"]]),
    ("POST", "/jobs/{job}/1/drive/file", [], [["text", DRIVE_FILE.replace("150", "1.5e9")]]),
] + [("GET", "/jobs/{job}/1/belts/old", [["step", step]], []) for step in ("marking", "ribs", "length", "wear", "photo")]

OUTBOX = {"waiting": 2, "photos": 1, "sounds": 3, "full": True, "last_sync": "2026-03-20T07:00:00Z",
          "refused": [{"event": IDS[0], "code": "gate-first", "sentence": words.ERRORS["gate-first"]}],
          "refused_photos": [{"sha256": "0f" * 32, "sentence": words.ERRORS["photo-kind"],
                              "jobs": [{"id": IDS[1], "registration": "<b>KX 21"}, {"id": IDS[2], "registration": "KX 22"}]},
                             {"sha256": "1e" * 32, "sentence": words.ERRORS["photo-hidden"], "jobs": []},
                             {"sha256": "2d" * 32, "sentence": words.ERRORS["sound-kind"], "sound": True,
                              "jobs": [{"id": IDS[1], "registration": "KX 21"}]}]}

PAGES = [
    ("trouble.html", {"title": "Not saved", "what": "It's <b>bold</b> & \"quoted\".", "advice": "Go back."}),
    ("offline.html", {"title": "Needs the workshop network"}),
    ("full.html", {"title": "Not saved: the phone's storage is full"}),
    ("missing.html", {"title": "Not found", "what": "This job isn't here."}),
]

# Every sample drive as it looks, and one of which little is known.
_UNITS = {"length_unit": "in", "force_unit": "lbf"}
PAGES += [("_drive_answers.html", {"view": driveview.view(one, _UNITS, path="/drives/1")})
          for one in [drive_samples.load(name) for name in drive_samples.NAMES]
          + [{"pulleys": [{"name": "crank & <b>", "kind": "crank", "x_mm": 0, "y_mm": 0}]}, {}]]

FRAMES = [
    {"person": "Ada O'Neil & Söhne", "person_verified": False, "shop": "Mill <race>", "host": "phone", "unsent": "3",
     "path": "/jobs", "build": "0123456789ab"},
    {"person": "", "person_verified": True, "shop": "", "host": "server", "unsent": "", "path": "/", "build": ""},
]


def requests(folder) -> list:
    """Return [(request, given), ...] for a workshop's folder."""
    db = store.connect(folder / "spanwright.db", read_only=True)
    try:
        board = store.board(db)
        fixed = {"now": NOW, "device": "phone-1", "n": 7, "ids": IDS, "host": "phone", "board": board, "cars": board,
                 "people": people.listed(db), "shop": dict(shop.load(db), origin="https://spanwright.example"),
                 "found": {"jobs": board[:1], "voided": True}, "outbox": OUTBOX,
                 "table": causes.BUILT_IN, "counts": COUNTS, "stock": STOCK,
                 "drives": [{key: SAVED[key] for key in SAVED if key != "data"}], "drive": SAVED}
        logs = {summary["id"]: store.job_events(db, summary["id"]) for summary in board}
    finally:
        db.close()
    fixed["who"] = fixed["people"][0]["id"]
    jobs = list(logs)
    asked = []
    for method, path, query, form in ASKED:
        for job in jobs if "{job}" in path else jobs[:1]:
            filled = [[name, logs[job][-1]["id"] if value == "{last}" else value] for name, value in query]
            asked.append((method, path.replace("{job}", job), filled, form))
    for method, pattern, _needs, _module, _function in routes.TABLE:
        for path in _paths(pattern, jobs):
            asked.append((method, path, [], []))
    return [_case(fixed, logs, *one) for one in asked]


def _paths(pattern, jobs):
    """The pattern with its parameters filled in: every value of each, and every job, with one another in turn."""
    paths = [pattern]
    for name, values in PARAMETERS.items():
        if "{" + name + "}" in pattern:
            paths = [path.replace("{" + name + "}", value) for path in paths for value in values]
    if "{job}" not in pattern:
        return paths
    return [paths[i % len(paths)].replace("{job}", jobs[i % len(jobs)]) for i in range(max(len(paths), len(jobs)))]


def _case(fixed, logs, method, path, query, form):
    row, params = routes.match(method, path)
    given = {key: fixed[key] for key in ("now", "who", "device", "n", "ids", "host")}
    for need in row[2]:
        if need == "job":
            given["events"] = logs[params["job"]]
        elif need in ("table", "checks"):
            given["table"], given["counts"] = fixed["table"], fixed["counts"]
        else:
            given[need] = fixed[need]
    return {"method": method, "path": path, "query": query, "form": form}, given
