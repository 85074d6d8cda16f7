"""Times for people. The core has no clock: hosts give `now`, and every time is a UTC text of RFC 3339."""

_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def shown(at: str) -> str:
    """Return a time as people read it; the page puts it into the device's own zone.

    Parameters:  at: text like "2026-03-09T08:05:00Z"
    Returns:     "9 Mar 2026, 08:05 UTC"
    """
    month = _MONTHS[int(at[5:7]) - 1]
    return str(int(at[8:10])) + " " + month + " " + at[0:4] + ", " + at[11:16] + " UTC"


def seconds(at: str) -> int:
    """Return the seconds since 1 March of the year 0, for differences between two times.

    Parameters:  at: text like "2026-03-09T08:05:00Z"
    Source:      count of days in the proleptic Gregorian calendar (ISO 8601), with the year
                 begun in March so that the leap day is its last
    """
    year = int(at[0:4])
    month = int(at[5:7]) - 3
    if month < 0:
        month += 12
        year -= 1
    days = 365 * year + year // 4 - year // 100 + year // 400 + (153 * month + 2) // 5 + int(at[8:10]) - 1
    return days * 86400 + int(at[11:13]) * 3600 + int(at[14:16]) * 60 + int(at[17:19])


def ago(at: str, now: str) -> str:
    """Return how long ago something was, in words.

    Parameters:  at: the entry's time · now: the host's time; both like "2026-03-09T08:05:00Z"
    Returns:     "just now", "20 min ago", "3 h ago", "2 days ago", or "in the future: a clock is wrong"
    """
    passed = seconds(now) - seconds(at)
    if passed < -300:
        return "in the future: a clock is wrong"
    if passed < 90:
        return "just now"
    if passed < 5400:
        return str((passed + 30) // 60) + " min ago"
    if passed < 129600:
        return str((passed + 1800) // 3600) + " h ago"
    return str((passed + 43200) // 86400) + " days ago"


def date_after(at: str, days: int) -> str:
    """Return the date so many days after a time.

    Parameters:  at: text like "2026-03-09T08:05:00Z" · days: 0 or more [days]
    Returns:     "2026-03-23"
    Source:      as `seconds`, read backwards: years of 365.2425 days, months in turns of 153 days for five
    """
    left = seconds(at) // 86400 + days
    # A century is short of a leap day, a fourth one is not.
    century = (4 * left + 3) // 146097
    left -= 146097 * century // 4
    year = (4 * left + 3) // 1461
    left -= 1461 * year // 4
    month = (5 * left + 2) // 153
    day = left - (153 * month + 2) // 5 + 1
    year += 100 * century
    month += 3
    if month > 12:
        month -= 12
        year += 1
    return ("0000" + str(year))[-4:] + "-" + ("0" + str(month))[-2:] + "-" + ("0" + str(day))[-2:]


def date_shown(date: str) -> str:
    """Return a date as people read it.

    Parameters:  date: text like "2026-03-09"
    Returns:     "9 Mar 2026"
    """
    return shown(date + "T00:00:00Z").split(",")[0]
