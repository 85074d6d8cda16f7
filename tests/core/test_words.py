"""Every code that the core can raise or report has a sentence."""

import ast
from pathlib import Path

from webapp.core import words

CORE = Path(__file__).parents[2] / "webapp" / "core"


def raised():
    """Codes named where a CoreError is made, in any core module."""
    for path in sorted(CORE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("CoreError", "_bad"):
                for part in ast.walk(node.args[0]):
                    if isinstance(part, ast.Constant) and isinstance(part.value, str):
                        yield path.name, part.value


def test_every_error_code_has_a_sentence():
    codes = list(raised())
    assert len(codes) > 40
    assert [c for c in codes if c[1] not in words.ERRORS] == []


def test_sentences_are_short_and_end_properly():
    for table in (words.ERRORS, words.REASONS):
        for code in table:
            assert len(table[code]) <= 160, code
            assert table[code][-1] in ".?!}", code


def test_choice_codes_are_unique_and_labelled():
    for name in words.CHOICES:
        codes = [pair[0] for pair in words.CHOICES[name]]
        assert len(set(codes)) == len(codes) and all(pair[1] for pair in words.CHOICES[name])
