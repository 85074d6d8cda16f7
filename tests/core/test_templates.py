"""Every template of the phone, rendered by Jinja2 and by the shipped MiniJinja, gives the same page."""

import json
import re

import contexts
import pytest
from bs4 import BeautifulSoup, Comment
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from wasm import LISTED, ROOT, on_wasm

from webapp.core import door

FILTERS = {"e", "join", "length", "default"}
SHIPPED = LISTED["templates"]


@pytest.fixture(scope="module")
def pages(demo_workshop):
    """Return [(template, context with its frame), ...]."""
    found = list(contexts.PAGES)
    for request, given in contexts.requests(demo_workshop):
        reply = door.handle(request, given)
        if reply["do"] == "page":
            found.append((reply["template"], reply["context"]))
    framed = [(template, dict(context, frame=contexts.FRAMES[i % 2])) for i, (template, context) in enumerate(found)]
    # As it crosses to the phone: JSON text.
    return json.loads(json.dumps(framed))


def tree(html):
    """Return a page as nested lists, without what does not show: comments, blank text, runs of blanks."""
    def walk(node):
        if isinstance(node, Comment):
            return None
        if isinstance(node, str):
            return re.sub(r"\s+", " ", node).strip() or None
        children = [walk(child) for child in node.children]
        return [node.name, sorted((key, str(value)) for key, value in node.attrs.items()),
                [child for child in children if child is not None]]
    return walk(BeautifulSoup(html, "html.parser"))


def alike(html):
    """Return a page's text with each engine's way to write an apostrophe and a slash made one; equal texts are equal trees."""
    return re.sub(r"\s+", " ", html).replace("&#x27;", "&#39;").replace("&#x2f;", "/")


def first_difference(one, other, where=""):
    if isinstance(one, list) and isinstance(other, list) and one[:2] == other[:2] and len(one[2]) == len(other[2]):
        for i, (a, b) in enumerate(zip(one[2], other[2])):
            if a != b:
                return first_difference(a, b, f"{where}/{one[0]}[{i}]")
    return f"{where}: {str(one)[:200]} here, {str(other)[:200]} on the phone"


def test_both_engines_render_the_same(pages):
    jinja = Environment(loader=FileSystemLoader(ROOT / "webapp" / "templates"), autoescape=select_autoescape())
    answers = on_wasm(pages=pages)["pages"]
    differ = []
    for (template, context), answer in zip(pages, answers, strict=True):
        if "error" in answer:
            differ.append((template, answer["error"]))
            continue
        here, there = jinja.get_template(template).render(context), answer["value"]
        # Most pages need no parser.
        if alike(here) == alike(there):
            continue
        here, there = tree(here), tree(there)
        if here != there:
            differ.append((template, first_difference(here, there)))
    assert not differ


def test_every_name_that_a_template_uses_is_given(pages):
    """A misspelt name shows as nothing on both engines, so the comparison alone would miss it."""
    jinja = Environment(loader=FileSystemLoader(ROOT / "webapp" / "templates"), autoescape=select_autoescape(),
                        undefined=_NamedInTests)
    missing = set()
    for template, context in pages:
        _NamedInTests.found = set()
        jinja.get_template(template).render(context)
        missing |= {(template, name) for name in _NamedInTests.found}
    assert not missing


class _NamedInTests(StrictUndefined):
    """An undefined name is fine in a test (`if on_job`), an error where it is printed or looped over."""

    found: set = set()

    def __bool__(self):
        return False

    def __str__(self):
        _NamedInTests.found.add(self._undefined_name)
        return ""

    __html__ = __str__

    def __iter__(self):
        _NamedInTests.found.add(self._undefined_name)
        return iter(())


def test_every_template_is_rendered(pages):
    used = {template for template, _context in pages}
    todo = list(used)
    while todo:
        for name in re.findall(r"{%-?\s*(?:extends|include|import|from)\s+[\"']([^\"']+)", SHIPPED[todo.pop()]):
            if name not in used:
                used.add(name)
                todo.append(name)
    assert used == set(SHIPPED)


@pytest.mark.parametrize("name", sorted(SHIPPED))
def test_templates_keep_to_what_both_engines_have(name):
    """Few filters, no number formats, no safe: see the contributor's guide."""
    for tag in re.findall(r"{[{%](.*?)[%}]}", SHIPPED[name], re.DOTALL):
        without_texts = re.sub(r"\"[^\"]*\"|'[^']*'", "''", tag)
        assert set(re.findall(r"\|\s*(\w+)", without_texts)) <= FILTERS, tag


def test_the_comparison_sees_a_difference():
    assert tree("<p class='a'>x  y</p><!-- -->") == tree("<p class=a>\nx y </p>")
    assert tree("<p>1.0</p>") != tree("<p>1</p>")
    assert tree("<p>a&amp;b</p>") != tree("<p>a&amp;amp;b</p>")
    assert tree("<p title='a'></p>") != tree("<p title='b'></p>")
    assert alike("<p>&#x27;\n1</p>") == alike("<p>&#39; 1</p>") != alike("<p>&#39;1</p>")
