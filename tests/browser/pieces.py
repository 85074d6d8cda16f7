"""What a page is built of, as far as axe-core's rules and the layout can tell one page from another.

Two pages that differ only in words and numbers have the same pieces. A page all of whose pieces stood on pages that were
looked at shows nothing new, so a test may leave it out; a fault of structure is a piece of its own and keeps its page in.
"""

import html.parser

VOID = set("area base br col embed hr img input link meta source track wbr".split())
# Attributes whose value decides how an element looks or what it is; of the others only that they are there, and empty.
TELLING = {"role", "type", "class", "style", "lang", "tabindex", "scope", "rel", "inputmode", "autocomplete",
           "aria-invalid", "aria-current", "aria-hidden", "aria-live", "aria-expanded", "aria-pressed", "aria-checked", "aria-sort"}
# Attributes that name other elements of the page.
POINTING = {"for", "form", "list", "headers", "aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "aria-errormessage"}
HEADINGS = {"h1", "h2", "h3", "h4", "h5", "h6"}


def of(text: str) -> set:
    """Return the pieces of a page: every element with all that it stands in, whether it is empty, the steps from one heading to
    the next, whether names of elements are unique and lead somewhere."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    names = reader.names
    pointed = {(where, key, set(value.split()) <= set(names)) for where, key, value in reader.pointed}
    return reader.found | pointed | {("names twice", len(names) != len(set(names))), ("last heading", reader.heading)}


class _Reader(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.found, self.names, self.pointed, self.heading = set(), [], [], ""
        self._open = [["", "", True]]  # [tag, its chain, whether nothing is in it]

    def handle_starttag(self, tag, attrs):
        self._add(tag, attrs)
        if tag in VOID:
            self.handle_endtag(tag)

    def handle_startendtag(self, tag, attrs):
        self._add(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag):
        # An end tag that was left out, as that of <li> or <p>, ends with what it stands in.
        while len(self._open) > 1 and tag in [one[0] for one in self._open]:
            ended, chain, is_empty = self._open.pop()
            self.found.add((chain, "empty" if is_empty else "full"))
            if ended == tag:
                break

    def handle_data(self, data):
        if data.strip():
            self._fill()

    def _add(self, tag, attrs):
        self._fill()
        chain = f"{self._open[-1][1]} > {_described(tag, attrs)}"
        self._open.append([tag, chain, True])
        self.names += [value for key, value in attrs if key == "id"]
        self.pointed += [(chain, key, value or "") for key, value in attrs if key in POINTING]
        if tag in HEADINGS:
            self.found.add(("heading", self.heading, tag))
            self.heading = tag

    def _fill(self):
        self._open[-1][2] = False


def _described(tag, attrs):
    told = [f"{key}={value}" if key in TELLING or not value or (tag, key) == ("script", "src") else key for key, value in sorted(attrs)]
    return " ".join([tag, *told])
