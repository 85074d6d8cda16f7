"""The table of causes and checks: its form, and its rows ready for reasoning.

The table is data that the host hands in; a workshop may replace it. Every number in it is judgement.

    floor, cap          least likelihood of an outcome [-]; limits of the product of all context factors [-]
    lean                weight of an answer that tells much the same as a stronger one [-]
    row_jobs            imaginary jobs that one row of likelihoods stands for when own jobs are blended in
    prior_jobs          the same for the shares of the causes
    enough, show        share at which a lead is clear, and above which a cause is always shown [-]
    computed            limits of `findings.computed`: a slip margin below `narrow` leaves little [-]; an arm within `end` of
                        its travel stands at its end [-]; a resonance within `near` of a speed is near it [-]
    setups              [{code, name, minutes, first: [codes], by_hand: parts are seen or felt, engine off,
                          poor: minutes with poor access}]
    poor_access         codes of words.CHOICES["access"] that make a set-up poor
    causes              [{code, name, meaning, prior [%], needs, why, drawing}]
    contexts            [{code, name, times: [[cause, factor]], same_as: [checks that tell the same]}]
    leans               [[check, check]] or [[check, check, outcome of the first]]: pairs across groups
    implies             [[check, outcome, fact, value]]: what an answer says about the facts
    guards              [{check, answers: [[check, outcome]], spent, why}]: checks that are never skipped, and when
    checks              [{id, name, group, setup, minutes, needs, offer, sure, tools, how, trap, why,
                          outcomes: [[code, tile, meaning]], p: {cause or "others": [%]}, stands_for, of_belt, drawing,
                          drawings: {outcome: name}}]

`needs`, `offer` and `sure` are lists of [fact, [values]]. `needs`: without it the cause or check cannot exist;
`offer`: without it the check is not proposed now; an unknown fact passes both. `sure`: has to be known to hold.
A check with `stands_for` takes the place of another that uses the same reading; one with `of_belt`: true looks at one belt,
so that a car with several has an answer for each. A cause's `why` says what it does. `drawing` and `drawings` are names of
pictures in static/icons/drawings.svg: of a cause, of how a check is done, of the outcomes that are slow to tell in words.
These last may be left out.
"""

import math

from .errors import CoreError

# What an answer can be beside an outcome. None of these counts as normal, or at all.
STATES = ["not_done", "cannot_here", "unclear"]
# Rows are percent, kept whole or not; a row may miss 100 by this much.
SUM_SLACK = 0.01
MOST = {"causes": 60, "checks": 120, "outcomes": 12, "contexts": 60, "text": 400, "drawing": 40}
_PLAIN = "abcdefghijklmnopqrstuvwxyz0123456789-"

_TOP = [["statement", "text"], ["version", "number"], ["floor", "number"], ["cap", "list"], ["lean", "number"],
        ["row_jobs", "number"], ["prior_jobs", "number"], ["enough", "number"], ["show", "number"], ["computed", "map"],
        ["setups", "list"], ["poor_access", "list"], ["causes", "list"], ["contexts", "list"], ["leans", "list"],
        ["implies", "list"], ["guards", "list"], ["checks", "list"]]
_CAUSE = [["code", "text"], ["name", "text"], ["meaning", "text"], ["prior", "number"], ["needs", "list"]]
_SETUP = [["code", "text"], ["name", "text"], ["minutes", "number"], ["first", "list"], ["by_hand", "flag"]]
_CONTEXT = [["code", "text"], ["name", "text"], ["times", "list"], ["same_as", "list"]]
_GUARD = [["check", "text"], ["answers", "list"], ["spent", "word"], ["why", "text"]]
_CHECK = [["id", "text"], ["name", "text"], ["group", "text"], ["setup", "text"], ["minutes", "number"], ["needs", "list"],
          ["offer", "list"], ["sure", "list"], ["tools", "text"], ["how", "text"], ["trap", "text"], ["why", "text"],
          ["outcomes", "list"], ["p", "map"]]
# Numbers of the top with what they must lie between.
_LIMITS = [["floor", 0.001, 0.2], ["lean", 0, 1], ["row_jobs", 1, 1000], ["prior_jobs", 1, 10000], ["enough", 0.5, 1],
           ["show", 0, 0.5]]


def _bad(code, place, **values):
    values["place"] = place
    raise CoreError(code, place, values)


def _is_number(value):
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return math.isfinite(value)


def _check_form(value, keys, place):
    """Refuse a map that lacks one of its keys or holds another type there."""
    if not isinstance(value, dict):
        _bad("table-form", place)
    for key, kind in keys:
        if key not in value:
            _bad("table-lacks", place, name=key)
        part = value[key]
        if kind == "number":
            good = _is_number(part) and part >= 0
        elif kind == "list":
            good = isinstance(part, list)
        elif kind == "map":
            good = isinstance(part, dict)
        elif kind == "flag":
            good = isinstance(part, bool)
        else:
            good = isinstance(part, str) and len(part) <= MOST["text"] and (kind == "word" or part.strip() != "")
        if not good:
            _bad("table-form", place + ", " + key)


def _codes(rows, key, keys, place, most):
    """Check each row's own form and return the codes, every one once."""
    if not 1 <= len(rows) <= most:
        _bad("table-size", place, most=str(most))
    codes = []
    for i in range(len(rows)):
        _check_form(rows[i], keys, place + " " + str(i + 1))
        code = rows[i][key]
        if code in codes:
            _bad("table-twice", place + " " + str(i + 1), name=code)
        codes.append(code)
    return codes


def _check_known(name, names, place):
    if not isinstance(name, str) or name not in names:
        _bad("table-unknown", place, name=str(name)[:40])


def _check_drawing(name, place):
    """A name of a picture; whether there is such a picture, only the host's files know."""
    if not isinstance(name, str) or not name or len(name) > MOST["drawing"] or [c for c in name if c not in _PLAIN]:
        _bad("table-form", place)


def _check_needs(needs, place):
    for need in needs:
        if not isinstance(need, list) or len(need) != 2 or not isinstance(need[0], str) or not isinstance(need[1], list):
            _bad("table-form", place + ", needs")


def _check_rows(check, causes, place):
    """Every cause has a row, every row has a number for every outcome, and it sums to 100."""
    for name in sorted(check["p"]):
        where = place + ", row " + name
        if name != "others":
            _check_known(name, causes, where)
        row = check["p"][name]
        if not isinstance(row, list) or len(row) != len(check["outcomes"]):
            _bad("table-outcomes", where, count=str(len(check["outcomes"])))
        total = 0.0
        for value in row:
            if not _is_number(value) or value < 0:
                _bad("table-form", where)
            total += value
        if abs(total - 100) > SUM_SLACK:
            _bad("table-sum", where, total=str(total)[:8])
    if "others" not in check["p"]:
        for cause in causes:
            if cause not in check["p"]:
                _bad("table-lacks", place, name=cause)


def _check_outcomes(check, place):
    outcomes = check["outcomes"]
    if not 2 <= len(outcomes) <= MOST["outcomes"]:
        _bad("table-size", place + ", outcomes", most=str(MOST["outcomes"]))
    seen = []
    for outcome in outcomes:
        if not isinstance(outcome, list) or len(outcome) != 3:
            _bad("table-form", place + ", outcomes")
        for part in outcome:
            if not isinstance(part, str) or not part.strip() or len(part) > MOST["text"]:
                _bad("table-form", place + ", outcomes")
        if outcome[0] in STATES or outcome[0] in seen:
            _bad("table-twice", place + ", outcomes", name=outcome[0])
        seen.append(outcome[0])


def _check_answer(pair, outcomes, place):
    """A pair of check and outcome names what the table has; `outcomes`: [[check, [codes]], ...]."""
    if not isinstance(pair, list) or len(pair) < 2:
        _bad("table-form", place)
    for name, codes in outcomes:
        if name == pair[0]:
            return _check_known(pair[1], codes, place)
    _bad("table-unknown", place, name=str(pair[0])[:40])


def check_table(table: dict) -> None:
    """Refuse a table that cannot be reasoned with, naming the place.

    Parameters:  table: as the head of this module says
    Raises:      CoreError "table-form", "table-lacks", "table-size", "table-twice", "table-unknown",
                 "table-outcomes", "table-sum", "table-range" or "table-no-cause"; its field is the place
    """
    _check_form(table, _TOP, "table")
    for key, low, high in _LIMITS:
        if not low <= table[key] <= high:
            _bad("table-range", key, low=str(low), high=str(high))
    cap = table["cap"]
    if len(cap) != 2 or not _is_number(cap[0]) or not _is_number(cap[1]) or not 0 < cap[0] <= 1 <= cap[1]:
        _bad("table-form", "cap")
    _check_form(table["computed"], [["narrow", "number"], ["end", "number"], ["near", "number"]], "computed")
    setups = _codes(table["setups"], "code", _SETUP, "setups", 20)
    causes = _codes(table["causes"], "code", _CAUSE, "causes", MOST["causes"])
    checks = _codes(table["checks"], "id", _CHECK, "checks", MOST["checks"])
    for i in range(len(setups)):
        for first in table["setups"][i]["first"]:
            # Only those above it, so that none waits for itself.
            _check_known(first, setups[:i], "setups, " + setups[i])
        if "poor" in table["setups"][i] and not _is_number(table["setups"][i]["poor"]):
            _bad("table-form", "setups, " + setups[i] + ", poor")
    _check_causes(table["causes"])
    _check_checks(table["checks"], setups, causes, checks)
    _check_links(table, causes, checks)


def _check_causes(causes):
    always = False
    for cause in causes:
        _check_needs(cause["needs"], "causes, " + cause["code"])
        if not 0.01 <= cause["prior"] <= 100:
            _bad("table-range", "causes, " + cause["code"] + ", prior", low="0.01", high="100")
        always = always or not cause["needs"]
        _check_form({"why": cause.get("why", "")}, [["why", "word"]], "causes, " + cause["code"])
        _check_drawing(cause.get("drawing", "-"), "causes, " + cause["code"] + ", drawing")
    if not always:
        _bad("table-no-cause", "causes")


def _check_checks(checks, setups, causes, names):
    for check in checks:
        place = "checks, " + check["id"]
        _check_known(check["setup"], setups, place + ", setup")
        for key in ("needs", "offer", "sure"):
            _check_needs(check[key], place)
        if not isinstance(check.get("of_belt", False), bool):
            _bad("table-form", place + ", of_belt")
        if "stands_for" in check:
            _check_known(check["stands_for"], names, place + ", stands_for")
        _check_outcomes(check, place)
        _check_drawing(check.get("drawing", "-"), place + ", drawing")
        _check_form({"drawings": check.get("drawings", {})}, [["drawings", "map"]], place)
        for outcome in sorted(check.get("drawings", {})):
            _check_known(outcome, [row[0] for row in check["outcomes"]], place + ", drawings")
            _check_drawing(check["drawings"][outcome], place + ", drawings")
        _check_rows(check, causes, place)


def _check_links(table, causes, checks):
    outcomes = [[check["id"], [outcome[0] for outcome in check["outcomes"]]] for check in table["checks"]]
    if table["contexts"]:
        _codes(table["contexts"], "code", _CONTEXT, "contexts", MOST["contexts"])
    for context in table["contexts"]:
        place = "contexts, " + context["code"]
        for name in context["same_as"]:
            _check_known(name, checks, place)
        for pair in context["times"]:
            if not isinstance(pair, list) or len(pair) != 2 or not _is_number(pair[1]) or pair[1] <= 0:
                _bad("table-form", place)
            _check_known(pair[0], causes, place)
    for pair in table["leans"]:
        if not isinstance(pair, list) or not 2 <= len(pair) <= 3:
            _bad("table-form", "leans")
        _check_known(pair[0], checks, "leans")
        _check_known(pair[1], checks, "leans")
        if len(pair) == 3:
            _check_answer([pair[0], pair[2]], outcomes, "leans")
    for said in table["implies"]:
        if not isinstance(said, list) or len(said) != 4:
            _bad("table-form", "implies")
        _check_answer(said, outcomes, "implies")
    for i in range(len(table["guards"])):
        place = "guards " + str(i + 1)
        _check_form(table["guards"][i], _GUARD, place)
        _check_known(table["guards"][i]["check"], checks, place)
        for pair in table["guards"][i]["answers"]:
            _check_answer(pair, outcomes, place)


def holds(needs: list, facts: dict) -> str:
    """Say whether a drive fulfils a list of needs.

    Parameters:  needs: [[fact, [values]], ...] · facts: {fact: code}; one that is missing is unknown
    Returns:     "yes", "no" or "unknown"; one broken need makes it "no"
    Valid:       for any fact, since the names belong to the table
    """
    answer = "yes"
    for fact, values in needs:
        value = facts.get(fact, "unknown")
        if value == "unknown":
            answer = "unknown"
        elif value not in values:
            return "no"
    return answer


def tally(jobs: list, table: dict) -> dict:
    """Count a workshop's own jobs for blending.

    Only jobs whose single cause was proved apart from the ranking may come in: a count that grows from
    what the ranking said would confirm itself.

    Parameters:  jobs: [[cause code, answers], ...], answers as [[check id, outcome or state], ...] ·
                 table: the table
    Returns:     {"causes": [[code, jobs], ...], "cells": [[check id, cause code, outcome, jobs], ...]}; names that
                 the table does not have, and states, are not counted
    Valid:       for jobs with one cause; a job with several proved causes is left out by the host
    """
    causes, cells = {}, {}
    codes = [row["code"] for row in table["causes"]]
    known = _known_cells(table)
    for cause, answers in jobs:
        if cause not in codes:
            continue
        _count(causes, (cause,))
        for check, outcome in dict(answers).items():
            if (check, outcome) in known:
                _count(cells, (check, cause, outcome))
    return {"causes": _counted(causes), "cells": _counted(cells)}


def _known_cells(table):
    known = {}
    for check in table["checks"]:
        for outcome in check["outcomes"]:
            known[(check["id"], outcome[0])] = True
    return known


def _count(counts, names):
    counts[names] = counts.get(names, 0) + 1


def _counted(counts):
    return [list(names) + [counts[names]] for names in sorted(counts)]


class Ready:
    """A table for one question: its rows as numbers, made as they are asked for and then kept.

    Parameters:  table: a table that `check_table` admits · counts: of `tally`, or None
    """

    def __init__(self, table, counts):
        self.table = table
        self.counts = counts
        self.causes = table["causes"]
        self.place = {}
        for i in range(len(self.causes)):
            self.place[self.causes[i]["code"]] = i
        self.checks = {}
        self.order = {}
        self.stood_for = {}
        self.partners = {}
        for i in range(len(table["checks"])):
            check = table["checks"][i]
            self.checks[check["id"]] = check
            self.order[check["id"]] = i
            if "stands_for" in check:
                self.stood_for[check["stands_for"]] = check["id"]
            self.partners[check["id"]] = []
        for pair in table["leans"]:
            said = pair[2] if len(pair) == 3 else None
            self.partners[pair[0]].append([pair[1], said, None])
            self.partners[pair[1]].append([pair[0], None, said])
        self.own_causes = [0] * len(self.causes)
        self.own = 0
        for code, jobs in counts["causes"] if counts else []:
            if code in self.place:
                self.own_causes[self.place[code]] += jobs
                self.own += jobs
        self.shares = self._shares()
        self._cells = {}

    def _shares(self):
        """Each cause's share before anything is known, own jobs blended in."""
        total = 0.0
        for cause in self.causes:
            total += cause["prior"]
        worth = self.table["prior_jobs"]
        return [(worth * self.causes[i]["prior"] / total + self.own_causes[i]) / (worth + self.own)
                for i in range(len(self.causes))]

    def own_rows(self, check: str) -> list:
        """Own jobs of a check: for each cause a list with the jobs of each outcome."""
        outcomes = [outcome[0] for outcome in self.checks[check]["outcomes"]]
        rows = [[0] * len(outcomes) for _ in self.causes]
        for name, cause, outcome, jobs in self.counts["cells"] if self.counts else []:
            if name == check and cause in self.place and outcome in outcomes:
                rows[self.place[cause]][outcomes.index(outcome)] += jobs
        return rows

    def rows(self, check: str) -> list:
        """Likelihoods of a check: for each cause a list with the probability of each outcome, floor and own jobs in."""
        if check not in self._cells:
            p = self.checks[check]["p"]
            own = self.own_rows(check) if self.counts else None
            shared = {}
            rows = []
            for i in range(len(self.causes)):
                code = self.causes[i]["code"]
                name = code if code in p else "others"
                if own is not None and max(own[i]) > 0:
                    rows.append(self._floored(p[name], own[i]))
                else:
                    if name not in shared:
                        shared[name] = self._floored(p[name], None)
                    rows.append(shared[name])
            self._cells[check] = rows
        return self._cells[check]

    def _floored(self, percent, own):
        worth = self.table["row_jobs"]
        total = 0
        for jobs in own or []:
            total += jobs
        raw = []
        size = 0.0
        for o in range(len(percent)):
            value = percent[o] / 100
            if own:
                value = (worth * value + own[o]) / (worth + total)
            value = max(self.table["floor"], value)
            raw.append(value)
            size += value
        return [value / size for value in raw]

    def column(self, check: str, outcome: int) -> list:
        """One outcome's likelihood under each cause, and the logs."""
        column = [row[outcome] for row in self.rows(check)]
        return [column, [math.log(p) for p in column]]

    def spreads(self, check: str, column: list) -> list:
        """How far down and up the log of each likelihood of a check's column may lie (variances)."""
        own = self.own_rows(check) if self.counts else None
        spreads, last = [], None
        for i in range(len(column)):
            worth = self.table["row_jobs"]
            for jobs in own[i] if own else []:
                worth += jobs
            # Most causes share one row: its spread is computed once.
            if last is None or last[0] != column[i] or last[1] != worth:
                last = [column[i], worth, log_spread(column[i], worth)]
            spreads.append(last[2])
        return spreads

    def noise(self, check: str) -> list:
        """Rows of a check, each with its entropy: [[row, bits], ...]."""
        out, last = [], None
        for row in self.rows(check):
            # Causes in a line often share one row: its entropy is computed once.
            if last is None or row is not last[0]:
                last = [row, entropy(row)]
            out.append(last)
        return out


def entropy(shares: list) -> float:
    """Return the entropy of a distribution.

    H = - sum p log2 p

    Parameters:  shares: probabilities [-]
    Returns:     entropy [bit]
    Source:      Shannon, A Mathematical Theory of Communication (1948)
    """
    total = 0.0
    for p in shares:
        if p > 0:
            total -= p * math.log(p)
    return total / math.log(2)


def trigamma(x: float) -> float:
    """Return the trigamma function, the second derivative of ln Gamma.

    Parameters:  x: above 0 [-]
    Returns:     value [-]
    Valid:       to 1e-9 relative
    Source:      recurrence and asymptotic series: Abramowitz and Stegun, Handbook of Mathematical Functions, 6.4.6 and 6.4.12
    """
    total = 0.0
    while x < 8:
        total += 1 / (x * x)
        x += 1
    y = 1 / (x * x)
    return total + 1 / x + y / 2 + y / x * (1 / 6 - y * (1 / 30 - y * (1 / 42 - y / 30)))


def log_spread(p: float, jobs: float) -> list:
    """Return how far the log of a share may lie, when so many jobs stand for it.

    down: Var ln p = psi1(a) - psi1(n), a = n p;   up: Var p / p^2 = (1 - p) / (a + 1)

    A share from few jobs is skewed: far more room below than above. The variance of the log is right for the lower
    end and much too wide for the upper one, where the relative variance is right (seen by drawing, in the tests).

    Parameters:  p: share, above 0 [-] · jobs: n, imaginary and own ones [jobs]
    Returns:     [down, up], variances [-]
    Source:      a part of a Dirichlet distribution is Beta distributed: Johnson and Kotz, Continuous Multivariate
                 Distributions (1972), from memory
    """
    return [trigamma(p * jobs) - trigamma(jobs), (1 - p) / (p * jobs + 1)]
