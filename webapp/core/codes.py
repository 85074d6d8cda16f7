"""The short code of a job, typed when no camera reads the tag, with its check character."""

# 29 signs that are hard to mistake for one another: no 0, 1, I, L, O, V or Z.
SIGNS = "3456789ABCDEFGHJKMNPQRSTUWXY2"
LENGTH = 7


def _check_sign(signs: str) -> str:
    total = 0
    for i in range(len(signs)):
        total += (i + 2) * SIGNS.index(signs[i])
    return SIGNS[(29 - total % 29) % 29]


def job_code(job_id: str) -> str:
    """Return the code of a job: seven signs drawn from its UUID and a check character, shown as two fours.

    The check is the weighted sum of the ISBN-10 check digit (ISO 2108) with the
    prime 29: it catches every single wrong sign and every swap of two neighbours.

    Parameters:  job_id: the job's UUID
    Returns:     text like "K7MA 4QX9"
    """
    number = int(job_id.replace("-", ""), 16)
    signs = ""
    for _ in range(LENGTH):
        signs += SIGNS[number % 29]
        number //= 29
    return signs[:4] + " " + signs[4:] + _check_sign(signs)


def read_code(text: str) -> str:
    """Return a typed code in its shown form, or "" when it cannot be a code.

    Parameters:  text: as typed; spaces, dashes and small letters do not matter
    Returns:     text like "K7MA 4QX9", or ""
    """
    signs = ""
    for c in text.upper():
        if c in SIGNS:
            signs += c
        elif c not in " -":
            return ""
    if len(signs) != LENGTH + 1 or _check_sign(signs[:-1]) != signs[-1]:
        return ""
    return signs[:4] + " " + signs[4:]
