"""Every step of the card, every check and every cause says why, one tap away on its page."""

import jinja2
import pytest

from webapp import causes
from webapp.core import card

TEMPLATES = jinja2.Environment(loader=jinja2.PackageLoader("webapp"), autoescape=True)
# A screen of each step, as the card leads to it.
SCREENS = {"booked": ["booking", "ask", "facts"], "cause": ["cause"], "gate": ["gate"], "drive": ["drive", "drive_begin"], "belts": ["belts"],
           "parts": ["parts"], "fitted": ["fitted"], "tension": ["tension"], "aligned": ["aligned"], "proved": ["proved"],
           "next_check": ["next_check"], "signed": ["sign"]}


def explained(step):
    return TEMPLATES.get_template("_why.html").render(step=step)


def test_each_step_has_an_explanation_of_its_own():
    texts = [explained(step) for step in card.STEPS]
    assert len(set(texts)) == len(card.STEPS)
    for text in texts:
        assert len(text.split("<p>")[1].split("</p>")[0].split()) >= 20 and "Common practice, no source." in text
    assert "<p>" not in explained("unheard-of")


@pytest.mark.parametrize("step", card.STEPS)
def test_each_screen_of_a_step_shows_it(step):
    for name in SCREENS[step]:
        source = TEMPLATES.loader.get_source(TEMPLATES, name + ".html")[0]
        assert f'{{% with step = "{step}" %}}{{% include "_why.html" %}}' in source, name


def test_each_check_and_each_cause_says_why():
    for row in causes.BUILT_IN["checks"] + causes.BUILT_IN["causes"]:
        assert len(row["why"].split()) >= 6, row["name"]
    assert '{% include "_why.html" %}' in TEMPLATES.loader.get_source(TEMPLATES, "step.html")[0]
