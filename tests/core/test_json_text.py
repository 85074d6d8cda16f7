"""The strict reader of JSON text against the RFC's examples and CPython's own reader and writer."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as any_of

from webapp.core import json_text
from webapp.core.errors import CoreError

outside = pytest.mark.outside

# RFC 8259, section 13, as published.
IMAGE = """{
  "Image": {
      "Width":  800,
      "Height": 600,
      "Title":  "View from 15th Floor",
      "Thumbnail": {
          "Url":    "http://www.example.com/image/481989943",
          "Height": 125,
          "Width":  100
      },
      "Animated" : false,
      "IDs": [116, 943, 234, 38793]
    }
}"""
VALUES = any_of.recursive(
    any_of.none() | any_of.booleans() | any_of.integers(-10 ** 14, 10 ** 14) | any_of.floats(allow_nan=False, allow_infinity=False)
    | any_of.text(any_of.characters(exclude_categories=["Cs"]), max_size=8),
    lambda inner: any_of.lists(inner, max_size=4) | any_of.dictionaries(any_of.text(max_size=4), inner, max_size=4), max_leaves=12)


@outside("RFC 8259, section 13")
def test_the_examples_of_the_rfc_are_read():
    image = json_text.read(IMAGE, "text")["Image"]
    assert image["IDs"] == [116, 943, 234, 38793] and image["Animated"] is False and image["Thumbnail"]["Width"] == 100
    assert [json_text.read(text, "") for text in ('"Hello world!"', "42", "true")] == ["Hello world!", 42, True]


# Section 7: the clef U+1D11E is written as the pair below.
@outside("RFC 8259, section 7")
def test_a_pair_of_surrogates_is_one_character():
    assert json_text.read('"\\uD834\\uDD1E"', "") == "\U0001d11e"


@outside("CPython json")
@settings(max_examples=50, deadline=None)
@given(VALUES, any_of.booleans(), any_of.sampled_from([None, 0, 3]))
def test_whatever_the_standard_writer_writes_is_read_back(value, ascii_only, indent):
    assert json_text.read(json.dumps(value, ensure_ascii=ascii_only, indent=indent), "") == value


@outside("CPython json")
@settings(max_examples=100, deadline=None)
@given(VALUES, any_of.integers(0, 200), any_of.sampled_from('{}[],:"\\0-1.eEtnu \x00'))
def test_damaged_text_is_refused_whenever_the_standard_reader_refuses_it(value, place, sign):
    text = json.dumps(value)
    text = text[:place % (len(text) + 1)] + sign + text[place % (len(text) + 1):]
    try:
        expected = json.loads(text, parse_constant=lambda name: pytest.fail("never made"))
    except ValueError:
        with pytest.raises(CoreError):
            json_text.read(text, "")
        return
    try:
        assert json_text.read(text, "") == expected
    except CoreError as error:
        # What the standard reader takes and this one does not: names twice, endless numbers, halves of a pair.
        assert error.code in ("json-twice", "json-number", "json-wrong") and (error.code != "json-wrong" or "\\u" in text)


@pytest.mark.parametrize("text, code, line, sign", [
    ("", "json-wrong", "1", "1"), ("[1 2]", "json-wrong", "1", "4"), ("[1,]", "json-wrong", "1", "4"), ("{'a': 1}", "json-wrong", "1", "2"),
    ('{"a":\n  nul}', "json-wrong", "2", "3"), ("[NaN]", "json-wrong", "1", "2"), ("[-Infinity]", "json-wrong", "1", "3"),
    ('{"a": 1,\n "a": 2}', "json-twice", "2", "2"), ("[1e999]", "json-number", "1", "2"), ("[" + "9" * 41 + "]", "json-number", "1", "2"),
    ("[" * 20, "json-deep", "1", "14"), ("01", "json-wrong", "1", "2"), ('"\\ud800"', "json-wrong", "1", "8"), ("1 2", "json-wrong", "1", "3"),
    ('"a\nb"', "json-wrong", "1", "3"), ("+1", "json-wrong", "1", "1"), (".5", "json-wrong", "1", "1"), ('"\\x"', "json-wrong", "1", "3")])
def test_the_place_of_what_is_wrong_is_told(text, code, line, sign):
    with pytest.raises(CoreError) as caught:
        json_text.read(text, "text")
    assert (caught.value.code, caught.value.field) == (code, "text")
    assert caught.value.values == {"line": line, "sign": sign}


def test_no_number_is_ever_endless():
    for text in ("1e308", "-1.7976931348623157e308", "1e-400"):
        assert math.isfinite(json_text.read(text, ""))
