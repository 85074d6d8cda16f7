"""The one route table of both hosts.

Each row: (method, path pattern, needs, screen module, function). `{name}` in a pattern takes one path
segment. `needs` names the records the host fetches before it calls the function:
  job      the folded job named by {job}             board   summaries of the jobs this host holds
  people   who may be named                          shop    the workshop's settings
  found    the job that a tag or typed code names    outbox  what this device has not sent
A function is `f(request, given) -> reply`; see `reply.py`. It does no I/O.
"""

TABLE = [
    ("GET", "/scan", ("shop",), "scan", "show"),
    ("GET", "/jobs", ("board", "people"), "jobs", "board"),
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
