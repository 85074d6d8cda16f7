"""The one route table of both hosts.

Each row: (method, path pattern, needs, screen module, function). `{name}` in a pattern takes one path
segment. `needs` names the records the host fetches before it calls the function:
  job      the folded job named by {job}             board   summaries of the jobs this host holds
  people   who may be named                          shop    the workshop's settings
  found    the job that a tag or typed code names    outbox  what this device has not sent
  cars     summaries of every job this host holds   (the server: of the newest 2,000)
  table    the table of causes in force, and the workshop's own counts or None
  checks   the same, where the job has answers to put into words; else None
  stock    the lines of the stock list that `door.stock_keys` asks for
  drives   the saved drives, the newest first        drive   the saved drive named by {drive}, else by the field `saved`
A function is `f(request, given) -> reply`; see `reply.py`. It does no I/O.
"""

TABLE = [
    ("GET", "/scan", ("shop",), "scan", "show"),
    ("GET", "/jobs", ("board", "people"), "jobs", "board"),
    ("GET", "/jobs/{job}/cause", ("job", "people", "table"), "cause", "show"),
    ("GET", "/jobs/{job}/cause/about", ("job", "table"), "causeabout", "show"),
    ("POST", "/jobs/{job}/cause/about", ("job", "table"), "causeabout", "save"),
    ("POST", "/jobs/{job}/cause/belt", ("job", "people", "table"), "causeabout", "save_belt"),
    ("GET", "/jobs/{job}/cause/name", ("job", "people", "table"), "causename", "show"),
    ("POST", "/jobs/{job}/cause/name", ("job", "people", "table"), "causename", "save"),
    ("GET", "/jobs/{job}/cause/known/{cause}", ("job", "table"), "causemeaning", "show"),
    ("GET", "/jobs/{job}/cause/looks", ("job", "people", "table"), "causelooks", "show"),
    ("POST", "/jobs/{job}/cause/looks", ("job", "people", "table"), "causelooks", "save"),
    ("GET", "/jobs/{job}/cause/check/{check}", ("job", "people", "table"), "causecheck", "show"),
    ("POST", "/jobs/{job}/cause/check/{check}", ("job", "people", "table"), "causecheck", "answer"),
    ("GET", "/jobs/{job}/asked", ("job", "people"), "asked", "show"),
    ("POST", "/jobs/{job}/asked", ("job", "people"), "asked", "save"),
    ("GET", "/jobs/{job}/{loop}/parts", ("job", "people", "stock"), "parts", "show"),
    ("POST", "/jobs/{job}/{loop}/parts", ("job", "people", "stock"), "parts", "add"),
    ("GET", "/jobs/{job}/{loop}/parts/{part}", ("job", "people", "shop", "stock"), "partcard", "show"),
    ("POST", "/jobs/{job}/{loop}/parts/{part}", ("job", "people", "shop", "stock"), "partcard", "move"),
    ("GET", "/jobs/{job}/{loop}/belts", ("job", "people", "shop"), "beltpair", "overview"),
    ("POST", "/jobs/{job}/{loop}/belts", ("job", "people", "shop"), "beltpair", "accept"),
    ("GET", "/jobs/{job}/{loop}/belts/{place}", ("job", "people", "shop"), "belts", "show"),
    ("POST", "/jobs/{job}/{loop}/belts/{place}", ("job", "people", "shop"), "belts", "save"),
    ("GET", "/jobs/{job}/{loop}/belts/{place}/count", ("job", "people", "shop"), "ribphoto", "show"),
    ("GET", "/jobs/{job}/{loop}/fitted", ("job", "people"), "fitted", "show"),
    ("POST", "/jobs/{job}/{loop}/fitted", ("job", "people"), "fitted", "save"),
    ("GET", "/jobs/{job}/{loop}/aligned", ("job", "people"), "aligned", "show"),
    ("POST", "/jobs/{job}/{loop}/aligned", ("job", "people"), "aligned", "save"),
    ("GET", "/jobs/{job}/{loop}/aligned/_told", ("job",), "aligned", "fragment"),
    ("GET", "/jobs/{job}/proved", ("job", "people", "table"), "proved", "show"),
    ("POST", "/jobs/{job}/proved", ("job", "people", "table"), "proved", "save"),
    ("GET", "/jobs/{job}/next-check", ("job", "people"), "nextcheck", "show"),
    ("POST", "/jobs/{job}/next-check", ("job", "people"), "nextcheck", "save"),
    ("GET", "/jobs/{job}/_earlier", ("job", "cars"), "due", "of_job"),
    ("GET", "/book/_car", ("cars",), "due", "of_typed"),
    ("GET", "/due", ("cars",), "due", "show"),
    ("GET", "/jobs/{job}/{loop}/target", ("job", "people", "shop"), "target", "show"),
    ("POST", "/jobs/{job}/{loop}/target", ("job", "people", "shop"), "target", "save"),
    ("GET", "/jobs/{job}/{loop}/tension", ("job", "people", "shop"), "tension", "overview"),
    ("GET", "/jobs/{job}/{loop}/tension/_result", ("job", "shop"), "tension", "result_fragment"),
    ("GET", "/jobs/{job}/{loop}/tension/{method}", ("job", "people", "shop"), "tension", "show"),
    ("POST", "/jobs/{job}/{loop}/tension/{method}", ("job", "people", "shop"), "tension", "save"),
    ("GET", "/drives", ("drives", "people"), "library", "choose"),
    ("GET", "/drives/_list", ("drives", "people"), "library", "choose_list"),
    ("GET", "/drives/{drive}", ("drive", "people", "shop"), "library", "show"),
    ("GET", "/drives/{drive}/file", ("drive", "people"), "library", "export"),
    ("GET", "/drives/{drive}/_slip", ("drive", "shop"), "driveview", "slip_saved"),
    ("GET", "/drives/{drive}/print", ("drive", "people", "shop"), "driveview", "print_saved"),
    ("GET", "/jobs/{job}/{loop}/drive/_slip", ("job", "shop"), "driveview", "slip_on_job"),
    ("GET", "/jobs/{job}/{loop}/drive/print", ("job", "shop"), "driveview", "print_on_job"),
    ("GET", "/jobs/{job}/{loop}/drive/file", ("job",), "library", "ask_file"),
    ("POST", "/jobs/{job}/{loop}/drive/file", ("job",), "library", "take_file"),
    ("GET", "/jobs/{job}/{loop}/drive", ("job", "people", "shop"), "driveform", "overview"),
    ("POST", "/jobs/{job}/{loop}/drive", ("job", "people", "shop"), "driveform", "change"),
    ("GET", "/jobs/{job}/{loop}/drive/_spots", ("job", "shop"), "driveplace", "fragment"),
    ("GET", "/jobs/{job}/{loop}/drive/photo", ("job", "shop"), "drivephoto", "show"),
    ("POST", "/jobs/{job}/{loop}/drive/photo", ("job", "shop"), "drivephoto", "save"),
    ("GET", "/jobs/{job}/{loop}/drive/_photo", ("job", "shop"), "drivephoto", "fragment"),
    ("GET", "/jobs/{job}/{loop}/drive/copy", ("job", "people", "drives"), "driveform", "choose"),
    ("POST", "/jobs/{job}/{loop}/drive/copy", ("job", "people", "drives", "drive"), "driveform", "copy"),
    ("GET", "/jobs/{job}/{loop}/drive/about", ("job", "shop"), "drivedata", "show_about"),
    ("POST", "/jobs/{job}/{loop}/drive/about", ("job", "shop"), "drivedata", "save_about"),
    ("GET", "/jobs/{job}/{loop}/drive/belt", ("job", "shop"), "drivedata", "show_belt"),
    ("POST", "/jobs/{job}/{loop}/drive/belt", ("job", "shop"), "drivedata", "save_belt"),
    ("GET", "/jobs/{job}/{loop}/drive/tensioner", ("job", "shop"), "drivetensioner", "show"),
    ("POST", "/jobs/{job}/{loop}/drive/tensioner", ("job", "shop"), "drivetensioner", "save"),
    ("GET", "/jobs/{job}/{loop}/drive/pulleys/{pulley}", ("job", "shop"), "drivepulley", "show"),
    ("POST", "/jobs/{job}/{loop}/drive/pulleys/{pulley}", ("job", "shop"), "drivepulley", "save"),
    ("GET", "/drives/{drive}/what-if", ("drive", "shop"), "whatifbelts", "show"),
    ("GET", "/drives/{drive}/what-if/pulley", ("drive", "shop"), "whatifpulley", "show"),
    ("GET", "/drives/{drive}/what-if/slip", ("drive", "shop"), "whatifslip", "show"),
    ("GET", "/jobs/{job}/{loop}/drive/what-if", ("job", "people", "shop"), "whatifbelts", "show"),
    ("GET", "/jobs/{job}/{loop}/drive/what-if/pulley", ("job", "people", "shop"), "whatifpulley", "show"),
    ("GET", "/jobs/{job}/{loop}/drive/what-if/slip", ("job", "people", "shop"), "whatifslip", "show"),
    ("GET", "/sums", (), "sums", "choose"),
    ("GET", "/sums/span", ("shop",), "sums", "span"),
    ("GET", "/sums/_result", ("shop",), "sums", "result_fragment"),
    ("GET", "/sums/marking", (), "sums", "marking"),
    ("GET", "/sums/convert", (), "sums", "convert"),
    ("GET", "/reads/_marking", (), "beltwords", "marking_fragment"),
    ("GET", "/reads/_width", (), "beltwords", "width_fragment"),
    ("GET", "/reads/_tape", (), "beltwords", "tape_fragment"),
    ("GET", "/", ("board", "people"), "jobs", "board"),
    ("GET", "/jobs/_list", ("board", "people"), "jobs", "board_list"),
    ("GET", "/find", ("found",), "jobs", "find"),
    ("GET", "/t/{token}", ("found",), "jobs", "by_tag"),
    ("GET", "/who", ("people",), "people", "ask"),
    ("POST", "/who", ("people",), "people", "choose"),
    ("GET", "/outbox", ("outbox",), "outbox", "show"),
    ("POST", "/outbox/photos/{sha256}", ("outbox",), "outbox", "forget_photo"),
    ("POST", "/jobs/{job}/photos/{sha256}", ("job", "outbox"), "outbox", "give_photo_up"),
    ("GET", "/book", ("shop",), "booking", "new"),
    ("POST", "/book", ("shop",), "booking", "book"),
    ("GET", "/jobs/{job}", ("job", "people"), "jobs", "show"),
    ("GET", "/jobs/{job}/_card", ("job", "people"), "jobs", "show_again"),
    ("GET", "/jobs/{job}/_next", ("job",), "jobs", "show_next"),
    ("GET", "/jobs/{job}/booking", ("job", "shop"), "booking", "show"),
    ("POST", "/jobs/{job}/booking", ("job", "shop"), "booking", "correct"),
    ("GET", "/jobs/{job}/facts", ("job",), "facts", "show"),
    ("POST", "/jobs/{job}/facts", ("job",), "facts", "record"),
    ("GET", "/jobs/{job}/facts/{ask}", ("job",), "facts", "ask"),
    ("POST", "/jobs/{job}/facts/{ask}", ("job",), "facts", "answer"),
    ("GET", "/jobs/{job}/gate", ("job",), "gate", "show"),
    ("POST", "/jobs/{job}/gate", ("job",), "gate", "answer"),
    ("GET", "/jobs/{job}/photos", ("job",), "photos", "show"),
    ("POST", "/jobs/{job}/photos", ("job",), "photos", "take"),
    ("GET", "/jobs/{job}/notes", ("job",), "steps", "note_form"),
    ("POST", "/jobs/{job}/notes", ("job",), "steps", "note"),
    ("GET", "/jobs/{job}/history", ("job", "people", "checks"), "steps", "history"),
    ("GET", "/jobs/{job}/withdraw", ("job", "people", "checks"), "steps", "withdraw_form"),
    ("POST", "/jobs/{job}/withdraw", ("job", "people", "checks"), "steps", "withdraw"),
    ("GET", "/jobs/{job}/sign", ("job", "people", "shop", "checks"), "signing", "sign"),
    ("POST", "/jobs/{job}/ready", ("job", "people", "shop", "checks"), "signing", "ready"),
    ("GET", "/jobs/{job}/sheet", ("job", "people", "shop", "checks"), "sheet", "show"),
    ("GET", "/jobs/{job}/tag", ("job",), "tags", "show"),
    ("POST", "/jobs/{job}/tag", ("job",), "tags", "renew"),
    ("GET", "/jobs/{job}/{loop}/step/{step}", ("job",), "steps", "show"),
    ("POST", "/jobs/{job}/{loop}/step/{step}", ("job",), "steps", "record"),
]


def match(method: str, path: str):
    """Find the row for a request.

    Parameters:  method: "GET" or "POST" · path: the path without its query
    Returns:     (row, params) with the values of `{name}` segments, or None
    """
    parts = path.split("/")
    for row in TABLE:
        if row[0] != method:
            continue
        params = _fit(row[1].split("/"), parts)
        if params is not None:
            return row, params
    return None


def _fit(pattern, parts):
    if len(pattern) != len(parts):
        return None
    params = {}
    for i in range(len(parts)):
        if pattern[i].startswith("{"):
            if not parts[i]:
                return None
            params[pattern[i][1:-1]] = parts[i]
        elif pattern[i] != parts[i]:
            return None
    return params
