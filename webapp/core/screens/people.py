"""Who is working: name tiles."""

from .. import forms
from .. import reply
from .. import words


def _page(request, given, error, goto, status):
    chosen = []
    for person in given["people"]:
        if person["active"]:
            roles = ", ".join([words.label("role", role) for role in person["roles"]])
            chosen.append({"id": person["id"], "name": person["name"], "roles": roles, "on": person["id"] == given["who"]})
    return reply.page("who.html", {"title": "Who is working?", "people": chosen, "goto": goto, "error": error}, status)


def ask(request: dict, given: dict) -> dict:
    """Show the names as tiles."""
    return _page(request, given, "", forms.local_path(forms.asked(request, "next"), "/jobs"), 200)


def choose(request: dict, given: dict) -> dict:
    """Make the chosen person the one whose work this device records."""
    person = forms.value(request, "person")
    goto = forms.local_path(forms.value(request, "next"), "/jobs")
    if person not in [p["id"] for p in given["people"] if p["active"]]:
        return _page(request, given, words.ERRORS["not-a-choice"], goto, 422)
    return reply.be(person, goto)
