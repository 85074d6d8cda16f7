"""The typed job code: its check character catches what hands do wrong (ISO 2108 weighted sum, prime 29)."""

import random

import pytest

from webapp.core import codes

IDS = ["%032x" % random.Random(seed).getrandbits(128) for seed in range(12)]


@pytest.mark.parametrize("job", IDS)
def test_every_single_wrong_sign_is_caught(job):
    code = codes.job_code(job).replace(" ", "")
    for i in range(len(code)):
        for sign in codes.SIGNS:
            if sign != code[i]:
                assert codes.read_code(code[:i] + sign + code[i + 1:]) == ""


@pytest.mark.parametrize("job", IDS)
def test_every_swap_of_neighbours_is_caught(job):
    code = codes.job_code(job).replace(" ", "")
    for i in range(len(code) - 1):
        if code[i] != code[i + 1]:
            assert codes.read_code(code[:i] + code[i + 1] + code[i] + code[i + 2:]) == ""


@pytest.mark.parametrize("job", IDS)
def test_code_is_read_back_however_it_is_typed(job):
    code = codes.job_code(job)
    assert codes.read_code(code) == code
    assert codes.read_code(code.lower().replace(" ", "")) == code
    assert codes.read_code(" " + code.replace(" ", "-") + " ") == code


@pytest.mark.parametrize("typed", ["", "A", "0000 0000", "IIII OOOO", "K7MA 4QX9 K", "k7ma\u00e94qx9"])
def test_what_is_no_code_is_refused(typed):
    assert codes.read_code(typed) == ""


def test_signs_are_hard_to_mistake():
    assert len(set(codes.SIGNS)) == 29
    assert not set("01OILVZ") & set(codes.SIGNS)
