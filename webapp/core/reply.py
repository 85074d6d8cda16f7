"""What a screen function answers: plain data that either host can carry out."""


def page(template: str, context: dict, status: int = 200) -> dict:
    """Show a template. `context` holds finished strings, flags and lists: templates never format numbers."""
    return {"do": "page", "template": template, "context": context, "status": status}


def record(events: list, goto: str, drop: tuple = ()) -> dict:
    """Append events and forget the device's own pictures named in `drop`, then go to a path of this app (answered with 303)."""
    return {"do": "record", "events": events, "goto": goto, "drop": list(drop)}


def go(path: str) -> dict:
    """Go to a path of this app (answered with 303)."""
    return {"do": "go", "goto": path}


def be(person: str, goto: str) -> dict:
    """Make a person the one whose work this device records from now on, then go to a path."""
    return {"do": "be", "person": person, "goto": goto}


def file(name: str, kind: str, text: str) -> dict:
    """Give out a file of the device's records under a name of its own; kind: its media type."""
    return {"do": "file", "name": name, "type": kind, "text": text}


def missing(what: str) -> dict:
    """Say plainly that something is not here (404)."""
    return page("missing.html", {"title": "Not found", "what": what}, 404)
