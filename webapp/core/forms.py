"""Forms: what was typed, and the plain data that the field templates show.

A screen builds its fields from these, so that a refused form comes back with everything still typed in.
"""

from . import units
from . import words
from .errors import CoreError


def value(request: dict, name: str) -> str:
    """Return what was typed into a field, without spaces around it; "" when the form lacks it.

    Parameters:  request: the request · name: the field's name
    """
    for pair in request["form"]:
        if pair[0] == name:
            return pair[1].strip()
    return ""


def values(request: dict, name: str) -> list:
    """Return every value that the form holds under a name, in the order sent.

    Parameters:  request: the request · name: the field's name
    """
    return [pair[1].strip() for pair in request["form"] if pair[0] == name]


def asked(request: dict, name: str) -> str:
    """Return a value of the address's query, "" when it is not there.

    Parameters:  request: the request · name: the query's name
    """
    for pair in request["query"]:
        if pair[0] == name:
            return pair[1].strip()
    return ""


def filled(pairs: list) -> dict:
    """Return a request whose form holds what is recorded, so that a page is built from it as from what was typed.

    Parameters:  pairs: [[field, text], ...]
    """
    return {"method": "GET", "path": "", "query": [], "form": pairs}


def local_path(text: str, otherwise: str) -> str:
    """Return a path of this app, or the other one when the text leads elsewhere.

    Parameters:  text: what a form gave as the place to go to · otherwise: a path of this app
    Returns:     a path that starts with one "/" and holds no backslash, space or control character
    """
    if not text.startswith("/") or text.startswith("//") or len(text) > 200:
        return otherwise
    for c in text:
        if c == "\\" or ord(c) < 33 or ord(c) > 126:
            return otherwise
    return text


class Reading:
    """Reads a form field by field and keeps one sentence for each field that is wrong.

    Parameters:  request: the request whose form is read
    """

    def __init__(self, request: dict):
        self.request = request
        self.errors = {}
        self.order = []

    def fail(self, name: str, code: str, texts: dict = None) -> None:
        """Note what is wrong with a field; the first sentence stays.

        Parameters:  name: the field · code: key in words.ERRORS · texts: its values
        """
        if name not in self.errors:
            self.errors[name] = words.sentence(CoreError(code, name, texts))
            self.order.append(name)

    def text(self, name: str, most: int, needed: bool = False):
        """Return a text, None when it is empty and may be.

        Parameters:  name: the field · most: characters allowed · needed: whether empty is wrong
        """
        typed = value(self.request, name)
        if not typed:
            if needed:
                self.fail(name, "empty")
            return None
        if len(typed) > most:
            self.fail(name, "too-long", {"most": str(most)})
        return typed

    def choice(self, name: str, list_name: str):
        """Return the code picked from a list of words.CHOICES; "not-a-choice" is noted when none was.

        Parameters:  name: the field · list_name: key in words.CHOICES
        """
        code = value(self.request, name)
        if not words.is_choice(list_name, code):
            self.fail(name, "not-a-choice")
        return code

    def choices(self, name: str, list_name: str) -> list:
        """Return the codes ticked of a list of words.CHOICES, in the list's own order.

        Parameters:  name: the field · list_name: key in words.CHOICES
        """
        ticked = values(self.request, name)
        return [pair[0] for pair in words.choice_pairs(list_name) if pair[0] in ticked]

    def quantity(self, name: str, dimension: str, low_si: float, high_si: float, needed: bool = False):
        """Return a number with its unit as a record holds it, None when it is empty and may be.

        Parameters:  name: the field; its unit is in NAME_unit · dimension: key in units.UNITS · low_si,
                     high_si: least and greatest value allowed, in SI [m, N, kg or Hz] · needed: whether
                     empty is wrong
        """
        typed = value(self.request, name)
        if not typed and not needed:
            return None
        try:
            return units.read_quantity(typed, value(self.request, name + "_unit"), dimension, name, low_si, high_si)
        except CoreError as error:
            self.fail(name, error.code, error.values)
        return None

    def person(self, given: dict) -> None:
        """Note that somebody has to be named before anything can be recorded.

        Parameters:  given: the host's `who`
        """
        if not given["who"]:
            self.fail("", "who-first")

    def problems(self, labels: list) -> list:
        """Return [[field, label, sentence], ...] for the summary on top of the form.

        Parameters:  labels: [[field, label], ...]
        """
        found = []
        for name in self.order:
            label = name
            for pair in labels:
                if pair[0] == name:
                    label = pair[1]
            found.append([name, label, self.errors[name]])
        return found


def field(name: str, label: str, typed: str, errors: dict, hint: str = "", mode: str = "text", lines: int = 0,
          most: int = 200, upper: bool = False) -> dict:
    """Return the data of `_field.html`: one text field.

    Parameters:  name, label, hint: texts · typed: what stands in it · errors: sentences by field ·
                 mode: the on-screen keyboard ("text", "numeric", "decimal") · lines: 0 for one
                 line, else the height of a text area · most: characters · upper: capitals
    """
    return {"name": name, "label": label, "value": typed or "", "error": errors.get(name, ""), "hint": hint,
            "mode": mode, "lines": lines, "most": most, "upper": upper}


def measure(name: str, label: str, typed: str, unit: str, choices: list, errors: dict, hint: str = "") -> dict:
    """Return the data of `_measure.html`: a number with its unit switch.

    Parameters:  name, label, hint: texts · typed: the number as typed · unit: the unit chosen ·
                 choices: [[unit, label], ...] · errors: sentences by field
    """
    return {"name": name, "label": label, "value": typed or "", "error": errors.get(name, ""), "hint": hint,
            "units": [{"value": c[0], "label": c[1], "on": c[0] == unit} for c in choices]}


def tiles(name: str, label: str, pairs: list, picked: list, errors: dict, many: bool = False, wordy: bool = False,
          hint: str = "") -> dict:
    """Return the data of `_tiles.html`: choices as large tiles.

    Parameters:  name, label, hint: texts · pairs: [[code, label], ...] · picked: codes that are on ·
                 errors: sentences by field · many: several may be on · wordy: long labels
    """
    return {"name": name, "label": label, "error": errors.get(name, ""), "hint": hint, "many": many, "wordy": wordy,
            "options": [{"value": p[0], "label": p[1], "on": p[0] in picked} for p in pairs]}
