"""From answers to causes: what speaks for and against each, what is open, and which check tells most for its minutes.

Bayes' rule over one main cause, with judgement in the table (`cause_table.py`) and four habits of a careful master:
what was not done counts for nothing, what the car does not have is left out, two looks at the same thing count
once and a half, and answers that fit no single cause are said to do so.
"""

import math

from . import cause_table
from . import words
from .numbers import fixed

# Ratio of a likelihood to the average over the other causes, from which it is called strong or weak.
STRONG = 5.0
WEAK = 2.0
# An 80 % interval of a normal distribution ends at 1.2816 standard deviations.
INTERVAL = 1.2816
# A finding belongs to a second cause when at least this share of cars with that cause shows it: judgement.
TYPICAL = 0.4
# ... and so many times the share of cars with the leading cause. Judgement.
FAR_MORE = 3.0
# From so many standard deviations on, the answers are unlikely under their best cause: judgement.
UNUSUAL = 3.0

_MANUAL = ["eccentric", "slotted", "lead_screw"]
_AUTOMATIC = ["automatic", "automatic_set", "hydraulic", "two_arm"]
# A pulley of this kind on the loop answers this fact.
_DRIVEN = [["compressor", "compressor"], ["steering_pump", "steering"], ["water_pump", "water_pump"]]
_JOB_FACTS = ["alternator_pulley", "crank_pulley", "compressor", "steering", "water_pump", "access", "voltage", "start_stop"]


def drive_facts(job_facts: dict, loop: dict, drive: dict = None) -> dict:
    """Return what is known of one belt's drive, in the names that the table's conditions use.

    A host adds what only people say: `noise_now`, `short_run` (the maker allows a run without the belt) and
    `tension_value` (there is a target), each "yes" or "no", and codes of the table's `contexts`.

    Parameters:  job_facts: data of `facts_recorded`, None when not recorded · loop: one of its loops, None when not
                 known · drive: the recorded drive as plain data, or None
    Returns:     {fact: code or "unknown", "ribs": count or None, "contexts": [codes], "loops": count}
    Valid:       for one belt; on a car with several the recorded drive says what hangs on which
    """
    facts = {"contexts": [], "loops": 1, "ribs": None, "noise_now": "unknown", "short_run": "unknown",
             "tension_value": "unknown", "alternator": "yes", "idler": "unknown", "tensioner_pulley": "unknown"}
    for name in _JOB_FACTS:
        facts[name] = job_facts[name] if job_facts else "unknown"
    for name in ("belt", "tensioner", "marks", "pin_hole"):
        facts[name] = loop[name] if loop else "unknown"
    if job_facts:
        facts["loops"] = len(job_facts["loops"])
    if loop:
        facts["ribs"] = loop["ribs"]
    _add_tensioner(facts)
    if facts["start_stop"] in ("asleep", "awake"):
        facts["contexts"].append("start_stop")
    if facts["loops"] > 1:
        # With several belts nobody knows yet which one drives the alternator.
        facts["alternator"] = "unknown"
    if drive:
        _add_drive(facts, [pulley["kind"] for pulley in drive["pulleys"]])
        for name in ("alternator_pulley", "crank_pulley"):
            if facts[name] == "unknown":
                facts[name] = drive.get(name) or "unknown"
    return facts


def _add_tensioner(facts):
    tensioner = facts["tensioner"]
    if tensioner in _AUTOMATIC or tensioner == "eccentric":
        facts["tensioner_pulley"] = "yes"
    elif tensioner in ("stretch_fit", "fixed"):
        facts["tensioner_pulley"] = "no"
    if tensioner in _MANUAL or tensioner in ("stretch_fit", "fixed"):
        facts["tension_value"] = "yes"
    if tensioner in _MANUAL:
        facts["contexts"].append("manual")
    if tensioner == "stretch_fit":
        facts["contexts"].append("stretch_fit")


def _add_drive(facts, kinds):
    """A recorded loop says which parts it has; what it lacks may hang on another belt of the car."""
    facts["idler"] = "yes" if "idler" in kinds else "no"
    if "tensioner" in kinds:
        facts["tensioner_pulley"] = "yes"
    if "alternator" in kinds:
        facts["alternator"] = "yes"
    elif facts["loops"] > 1:
        facts["alternator"] = "no"
    for kind, fact in _DRIVEN:
        if kind not in kinds and facts["loops"] > 1:
            facts[fact] = "other_belt"


def distance_context(km: float, years: float = None) -> list:
    """Return the context that a car's distance and age give, as a list to add to `facts["contexts"]`.

    Parameters:  km: distance run [km] · years: age, None when not known [years]
    Returns:     ["young"], ["high"], ["very_high"] or []; a car of unknown age is not called young
    Source:      the bands are judgement, as the factors in the table are
    """
    if km > 200000:
        return ["very_high"]
    if km >= 120000:
        return ["high"]
    return ["young"] if km < 60000 and years is not None and years < 4 else []


def computed(table: dict, run: dict = None, arm: dict = None, verdict: str = "", resonances: list = None,
             worst_rpm: float = None) -> list:
    """Return the core's own results as answers, to stand beside those of hands and ears.

    Parameters:  table: the table · run: of `loads.run` at the load that brings the noise · arm: of `tensioner.rest` for the
                 belt that is fitted, or {"error": code} when it refused · verdict: of `reading.verdict` on the span reading ·
                 resonances: of `vibration.resonances` · worst_rpm: engine speed at which the noise is worst [1/min]
    Returns:     [[check id, outcome], ...] for those that are given and can tell
    Valid:       as far as the recorded drive is right; the limits are judgement, in the table
    """
    limits = table["computed"]
    out = []
    if run is not None and run["least"] is not None:
        margin = run["least"]["margin"]
        out.append(["physics:slip", "low" if margin < 1 else "narrow" if margin < limits["narrow"] else "ample"])
    if arm is not None:
        place = _arm_place(arm, limits["end"])
        if place:
            out.append(["physics:arm", place])
    if verdict in ("inside", "low", "high"):
        out.append(["physics:tension", "within" if verdict == "inside" else verdict])
    if resonances and worst_rpm:
        near = False
        for span in resonances:
            for rpm in (span["direct_rpm"], span["parametric_rpm"]):
                near = near or (rpm is not None and abs(rpm - worst_rpm) <= limits["near"] * worst_rpm)
        out.append(["physics:resonance", "near" if near else "far"])
    return out


def _arm_place(arm, end):
    """A long belt lets the arm run to its free end, a short one pulls it to its full end."""
    if "error" in arm:
        return {"belt-too-long": "long_end", "belt-too-short": "short_end"}.get(arm["error"], "")
    if not arm["stops_known"] and arm["in_marks"] is None:
        # Without stops or marks nobody knows where its travel ends.
        return ""
    used = arm["travel_used"]
    if used < end or (arm["in_marks"] is False and used < 0.5):
        return "long_end"
    if used > 1 - end or arm["in_marks"] is False:
        return "short_end"
    return "inside"


class _Case:
    """One job under one table: its answers weighed, its causes with their shares."""

    def __init__(self, answers, facts, table, counts):
        self.ready = cause_table.Ready(table, counts)
        self.table = table
        self.facts = facts
        self.states = []
        self.left_out = []
        self.used = self._admitted(answers)
        self.facts = self._with_implied()
        self.possible = [cause_table.holds(cause["needs"], self.facts) != "no" for cause in self.ready.causes]
        self.contexts = []
        self.prior = self._prior()
        self.answers = []
        self._weigh()
        self.share = self._posterior()

    def _admitted(self, answers):
        """The last answer to each check that this car has, as [check, outcome number]; the rest is noted."""
        latest = {}
        for check, outcome in answers:
            latest[check] = outcome
        used = []
        for check in sorted(latest):
            if check not in self.ready.checks:
                self.left_out.append(words.reason("answer-unknown", {}))
                continue
            row = self.ready.checks[check]
            codes = [outcome[0] for outcome in row["outcomes"]]
            if latest[check] in cause_table.STATES:
                self.states.append([check, latest[check]])
            elif latest[check] not in codes:
                self.left_out.append(words.reason("answer-unknown", {}))
            elif cause_table.holds(row["needs"], self.facts) == "no":
                self.left_out.append(words.reason("answer-not-here", {"check": row["name"]}))
            else:
                used.append([check, codes.index(latest[check])])
        return self._once(used)

    def _once(self, used):
        """One reading read two ways is one answer."""
        names = [check for check, _ in used]
        kept = []
        for check, outcome in used:
            other = self.ready.stood_for.get(check)
            if other is not None and other in names:
                self.left_out.append(words.reason("same-reading", {
                    "check": self.ready.checks[check]["name"], "other": self.ready.checks[other]["name"]}))
            else:
                kept.append([check, outcome])
        return kept

    def _with_implied(self):
        facts = dict(self.facts)
        for check, outcome, fact, value in self.table["implies"]:
            if [check, self.outcome_number(check, outcome)] in self.used:
                facts[fact] = value
        return facts

    def outcome_number(self, check, outcome):
        return [row[0] for row in self.ready.checks[check]["outcomes"]].index(outcome)

    def _prior(self):
        names = [check for check, _ in self.used]
        factors = [1.0] * len(self.ready.causes)
        for context in self.table["contexts"]:
            if context["code"] not in self.facts.get("contexts", []):
                continue
            if [name for name in context["same_as"] if name in names]:
                continue
            self.contexts.append(context["name"])
            for code, factor in context["times"]:
                factors[self.ready.place[code]] *= factor
        low, high = self.table["cap"]
        prior = []
        for i in range(len(factors)):
            share = self.ready.shares[i] * min(high, max(low, factors[i]))
            prior.append(share if self.possible[i] else 0.0)
        return _scaled(prior)

    def _weigh(self):
        """Full weight for the strongest of those that lean on each other, less for the rest."""
        strengths = []
        for check, outcome in self.used:
            column, logs = self.ready.column(check, outcome)
            # Rounded, so that both interpreters put equal ones in the same order.
            strengths.append([-int(_moved(self.prior, column, logs) * 1e9), self.ready.order[check], check, outcome, column, logs])
        for _, _, check, outcome, column, logs in sorted(strengths):
            partner = self.leans_on(check, outcome)
            weight = 1.0 if partner is None else self.table["lean"]
            self.answers.append({"check": check, "outcome": outcome, "column": column, "logs": logs, "weight": weight,
                                 "partner": partner})

    def leans_on(self, check, outcome):
        """Return the check counted already that says much the same, or None; outcome None stands for any."""
        group = self.ready.checks[check]["group"]
        for answer in self.answers:
            other = answer["check"]
            if self.ready.checks[other]["group"] == group:
                return other
            for name, mine, theirs in self.ready.partners[check]:
                if name == other and self._shows(check, outcome, mine) and self._shows(other, answer["outcome"], theirs):
                    return other
        return None

    def _shows(self, check, outcome, code):
        """Tell whether a check's answer is the one that a pair is about; None stands for any."""
        if code is None:
            return True
        return outcome is not None and self.ready.checks[check]["outcomes"][outcome][0] == code

    def _posterior(self):
        """Shares after the answers."""
        scores = []
        for i in range(len(self.prior)):
            if self.prior[i] > 0:
                score = math.log(self.prior[i])
                for answer in self.answers:
                    score += answer["weight"] * answer["logs"][i]
                scores.append(score)
        best = max(scores)
        raw, k = [], 0
        for share in self.prior:
            raw.append(math.exp(scores[k] - best) if share > 0 else 0.0)
            k += 1 if share > 0 else 0
        return _scaled(raw)

    def order_of_causes(self):
        """Numbers of the possible causes, likeliest first."""
        keyed = [[-int(self.share[i] * 1e9), i] for i in range(len(self.share)) if self.possible[i]]
        return [i for _, i in sorted(keyed)]


def _scaled(values):
    total = 0.0
    for value in values:
        total += value
    return [value / total for value in values]


def _moved(prior, column, logs):
    """How far one answer alone moves the shares: the divergence of after from before [nat]."""
    total, moved = 0.0, 0.0
    for i in range(len(prior)):
        weight = prior[i] * column[i]
        total += weight
        moved += weight * logs[i]
    return moved / total - math.log(total)


def rank(answers: list, facts: dict, table: dict, counts: dict = None, spent: list = ()) -> dict:
    """Rank the causes by their share, with what speaks for and against each.

    share(c) ~ prior(c) product over answers of P(outcome | c) ^ weight

    Parameters:  answers: [[check id, outcome or state], ...]; the last answer to a check stands; computed results
                 come as answers too, as ["physics:slip", "low"] · facts: of `drive_facts` · table: a table that
                 `cause_table.check_table` admits · counts: own jobs of `cause_table.tally`, or None · spent: as for
                 `next_check`; some checks are never to skip once a set-up was reached
    Returns:     {"causes": [{"code", "name", "meaning", "p", "low", "high" [-], "share" (text), "for", "against", "own"}],
                 likeliest first; "for" and "against": [{"check", "outcome", "mark" "++" to "--", "ratio", "weight", "own",
                 "text"}]; "ruled_out": [{"code", "name"}]; "several": codes above the table's `show`; "clear": the lead
                 is; "also": [{"code", "check", "outcome", "text"}], findings that belong to a second
                 cause; "one_cause": false when the answers do not fit one; "guards": checks never to skip that are
                 open; "open": texts; "notes": texts; "contexts": names; "sizes": {"table", "own"} jobs}
    Source:      Bayes' rule; weights, marks and floor: judgement, in the table
    """
    case = _Case(answers, facts, table, counts)
    order = case.order_of_causes()
    evidence = [_evidence(case, answer) for answer in case.answers]
    intervals = _intervals(case)
    causes = [_cause(case, i, evidence, intervals[i]) for i in order]
    several = [cause["code"] for cause in causes if cause["p"] >= table["show"]]
    guards = [row["check"] for row in _guards(case, spent)]
    also = _also(case, order, evidence)
    odd = _unusual(case, order[0], evidence)
    return {"causes": causes, "ruled_out": _ruled_out(case), "several": several,
            "clear": causes[0]["p"] >= table["enough"] and not guards, "one_cause": not also and not odd,
            "guards": guards, "open": _open_texts(case), "also": also, "notes": _notes(case, several, also, odd),
            "contexts": case.contexts, "sizes": {"table": table["prior_jobs"], "own": case.ready.own}}


def _ruled_out(case):
    return [{"code": case.ready.causes[i]["code"], "name": case.ready.causes[i]["name"]}
            for i in range(len(case.possible)) if not case.possible[i]]


def _evidence(case, answer):
    """What one answer says, once for all causes: its text, its ratios and the own jobs in its rows."""
    check = case.ready.checks[answer["check"]]
    _, tile, means = check["outcomes"][answer["outcome"]]
    values = {"tile": tile, "check": _low(check["name"]), "means": means}
    code = "finding"
    if answer["partner"] is not None:
        code = "finding-half"
        values["other"] = _low(case.ready.checks[answer["partner"]]["name"])
    own = None
    if case.ready.counts:
        own = []
        for jobs in case.ready.own_rows(answer["check"]):
            total_jobs = 0
            for count in jobs:
                total_jobs += count
            own.append(total_jobs)
    return {"answer": answer, "ratios": _ratios(case, answer["column"]), "text": words.reason(code, values), "tile": tile,
            "check": check["name"], "outcome": check["outcomes"][answer["outcome"]][0], "own": own}


def _low(text):
    return text[:1].lower() + text[1:]


def _ratios(case, column):
    """Likelihood under each cause against the average over all the others."""
    total = 0.0
    for i in range(len(column)):
        total += case.prior[i] * column[i]
    ratios = []
    for i in range(len(column)):
        share = case.prior[i]
        ratios.append(column[i] * (1 - share) / (total - share * column[i]) if share < 1 - 1e-9 else 1.0)
    return ratios


def _mark(ratio):
    # A hair wide, so that a ratio on the limit gets the same mark on both interpreters.
    if 1.0000001 / WEAK < ratio < WEAK * 0.9999999:
        return "o"
    if ratio > 1:
        return "++" if ratio >= STRONG * 0.9999999 else "+"
    return "--" if ratio <= 1.0000001 / STRONG else "-"


def _cause(case, i, evidence, interval):
    good, bad = [], []
    for k in range(len(evidence)):
        one = evidence[k]
        ratio = one["ratios"][i]
        mark = _mark(ratio)
        if mark == "o":
            continue
        answer = one["answer"]
        entry = {"check": answer["check"], "outcome": one["outcome"], "mark": mark, "ratio": ratio, "weight": answer["weight"],
                 "own": one["own"][i] if one["own"] else 0, "text": one["text"]}
        # Strongest first, whether for or against.
        size = answer["weight"] * math.log(ratio)
        (good if size > 0 else bad).append([-int(abs(size) * 1e9), k, entry])
    row = case.ready.causes[i]
    low, high = interval
    share = case.share[i]
    return {"code": row["code"], "name": row["name"], "meaning": row["meaning"], "p": share, "low": low, "high": high,
            "share": share_text(share, low, high), "for": _entries(good), "against": _entries(bad),
            "own": case.ready.own_causes[i]}


def _entries(keyed):
    keyed.sort(key=lambda one: (one[0], one[1]))
    return [entry for _, _, entry in keyed]


def _intervals(case):
    """80 % of where each share may lie: a row is worth only so many jobs. Further down than up, as `log_spread` says."""
    jobs = case.table["prior_jobs"] + case.ready.own
    spreads = [[1.0, [cause_table.log_spread(share, jobs) for share in case.ready.shares]]]
    for answer in case.answers:
        spreads.append([answer["weight"] ** 2, case.ready.spreads(answer["check"], answer["column"])])
    down, up = _reaches(case.share, spreads, 0), _reaches(case.share, spreads, 1)
    out = []
    for i in range(len(case.share)):
        share = case.share[i]
        if not case.possible[i] or share > 1 - 1e-12:
            out.append([share, share])
            continue
        odds = share / (1 - share)
        low, high = odds / math.exp(INTERVAL * down[i]), odds * math.exp(INTERVAL * up[i])
        out.append([low / (1 + low), high / (1 + high)])
    return out


def _reaches(shares, spreads, way):
    """Standard deviation of the log of each cause's odds, downwards (0) or upwards (1): its own and that of all the rest."""
    own = []
    total = 0.0
    for i in range(len(shares)):
        spread = 0.0
        for weight, column in spreads:
            spread += weight * column[i][way]
        own.append(spread)
        total += shares[i] ** 2 * spread
    out = []
    for i in range(len(own)):
        share = min(shares[i], 1 - 1e-12)
        rest = max(0.0, total - share ** 2 * own[i]) / (1 - share) ** 2
        # More would overflow and says no more than that nothing is known.
        out.append(min(30.0, math.sqrt(own[i] + rest)))
    return out


def share_text(p: float, low: float, high: float) -> str:
    """Return a share as the sentence that a person reads, never a bare number.

    Parameters:  p: share [-] · low, high: its 80 % interval [-]
    Returns:     such as "About 62 in 100, likely 40 to 80. Judgement."
    Valid:       for 0 to 1
    """
    if p < 0.005:
        return words.reason("share-small", {})
    return words.reason("share", {"p": fixed(p * 100, 0), "low": fixed(low * 100, 0), "high": fixed(high * 100, 0)})


def _also(case, order, evidence):
    """Findings far more typical of another cause than of the leading one: a second fault, whatever the shares say."""
    also, named = [], []
    by_hand = [setup["code"] for setup in case.table["setups"] if setup["by_hand"]]
    for one in evidence:
        column = one["answer"]["column"]
        # What was told or heard can mislead; what was seen or felt on a part is there.
        if case.ready.checks[one["answer"]["check"]]["setup"] not in by_hand:
            continue
        best, which = STRONG, None
        for i in order[1:]:
            ratio = one["ratios"][i]
            if column[i] >= max(TYPICAL, FAR_MORE * column[order[0]]) and ratio >= best * 1.0000001:
                best, which = ratio, i
        if which is not None and which not in named:
            named.append(which)
            also.append({"code": case.ready.causes[which]["code"], "check": one["answer"]["check"], "outcome": one["outcome"],
                         "text": words.reason("also", {"cause": case.ready.causes[which]["name"], "tile": one["tile"],
                                                       "check": _low(one["check"])})})
    return also


def _unusual(case, lead, evidence):
    """The answers together are unlikely even under their best cause: name the oddest one."""
    excess, spread = 0.0, 0.0
    worst, oddest = 0.0, None
    for one in evidence:
        answer = one["answer"]
        row = case.ready.rows(answer["check"])[lead]
        mean, square = 0.0, 0.0
        for p in row:
            mean -= p * math.log(p)
            square += p * math.log(p) ** 2
        odd = answer["weight"] * (-answer["logs"][lead] - mean)
        excess += odd
        spread += answer["weight"] ** 2 * (square - mean * mean)
        if odd > worst:
            worst, oddest = odd, one
    if oddest is None or excess <= UNUSUAL * math.sqrt(spread):
        return None
    return words.reason("fits-none", {"tile": _low(oddest["tile"]), "check": _low(oddest["check"])})


def _open_texts(case):
    out = []
    for check, state in case.states:
        out.append(words.reason("answer-open", {"check": case.ready.checks[check]["name"],
                                                "state": _low(words.label("answer_state", state))}))
    unknown = []
    for cause in case.ready.causes:
        for fact, _ in cause["needs"]:
            if case.facts.get(fact, "unknown") == "unknown" and fact not in unknown:
                unknown.append(fact)
    if unknown:
        names = ", ".join([_low(words.label("fact", fact)) for fact in unknown])
        out.append(words.reason("facts-open", {"facts": names}))
    return out


def _notes(case, several, also, odd):
    notes = [words.reason("judgement", {})]
    if case.ready.own:
        notes.append(words.reason("own-jobs", {"table": str(case.table["prior_jobs"]), "row": str(case.table["row_jobs"]),
                                               "own": str(case.ready.own)}))
    if also:
        notes.append(words.reason("not-one-cause", {}))
        notes += [one["text"] for one in also]
    if odd:
        notes.append(odd)
    if len(several) > 1:
        names = [_low(case.ready.causes[case.ready.place[code]]["name"]) for code in several]
        notes.append(words.reason("several", {"causes": ", ".join(names)}))
    return notes + case.left_out


def pointers(code: str, facts: dict, table: dict, counts: dict = None, most: int = 4) -> list:
    """Return the answers that would speak most for a cause, the strongest first.

    Parameters:  code: of a cause · facts: {fact: code} · table, counts: as for `rank` · most: how many at most [-]
    Returns:     [{"check": id, "outcome", "tile", "ratio": likelihood against the average of the other causes [-]}, ...], one for
                 each check of this drive
    Source:      the table, which is judgement
    """
    case = _Case([], facts, table, counts)
    found = []
    for number in range(len(table["checks"])):
        check = table["checks"][number]
        if check["setup"] == "computed" or cause_table.holds(check["needs"], facts) == "no":
            continue
        best = None
        for k in range(len(check["outcomes"])):
            ratio = _ratios(case, case.ready.column(check["id"], k)[0])[case.ready.place[code]]
            if _mark(ratio) in ("+", "++") and (best is None or ratio > best["ratio"] + 1e-9):
                best = {"check": check["id"], "outcome": check["outcomes"][k][0], "tile": check["outcomes"][k][1], "ratio": ratio}
        if best is not None:
            found.append([-int(best["ratio"] * 1e6), number, best])
    found.sort(key=lambda one: (one[0], one[1]))
    return [one[2] for one in found[:most]]


def _guards(case, spent):
    """The checks never to skip that are due: their reason holds and nobody has looked or said it cannot be done."""
    answered = [check for check, _ in case.used]
    closed = [check for check, state in case.states if state == "cannot_here"]
    due = []
    for guard in case.table["guards"]:
        check = guard["check"]
        if check in answered or check in closed or check in [row["check"] for row in due]:
            continue
        if cause_table.holds(case.ready.checks[check]["needs"], case.facts) == "no":
            continue
        seen = guard["spent"] != "" and guard["spent"] in spent
        for name, outcome in guard["answers"]:
            seen = seen or [name, case.outcome_number(name, outcome)] in case.used
        if seen:
            due.append({"check": check, "why": guard["why"]})
    return due


def next_check(answers: list, facts: dict, table: dict, spent: list, counts: dict = None) -> dict:
    """Say which check tells most for its minutes now.

    bits(check) = weight (H(outcome) - sum of share(c) H(outcome | c)), per minute with what its set-up still costs.
    Checks that share a set-up share its minutes: a set-up is judged by the best lot of checks that it opens. The weight
    is that of an answer that leans on one given already.

    Parameters:  answers, facts, table, counts: as for `rank` · spent: set-ups paid for already, codes of the table, and
                 "fitted" once a belt has been fitted
    Returns:     {"check": id or "", "why": one line, "clear": the lead is clear and nothing is due, "list": [{"check",
                 "name", "why", "minutes", "setup", "setup_minutes" [min], "bits", "guard"}, ...], best first}; "list" holds
                 every check that can be done now
    Source:      expected information: Lindley, On a Measure of the Information Provided by an Experiment (1956)
    """
    case = _Case(answers, facts, table, counts)
    order = case.order_of_causes()
    rows = _candidates(case, spent)
    guards = _guards(case, spent)
    _rate(case, rows, spent)
    for row in rows:
        row["guard"] = ""
        for k in range(len(guards)):
            if guards[k]["check"] == row["check"]:
                row["guard"] = guards[k]["why"]
                row["rank"] = [0, k, 0, 0]
    rows.sort(key=lambda row: row["rank"])
    shown = [_proposal(case, order, row) for row in rows]
    clear = case.share[order[0]] >= table["enough"] and not guards
    if not shown:
        return {"check": "", "why": words.reason("next-none", {}), "clear": clear, "list": []}
    return {"check": shown[0]["check"], "why": shown[0]["why"], "clear": clear, "list": shown}


def _candidates(case, spent):
    """Every check that exists here, can be done now and has no answer yet."""
    answered = [check for check, _ in case.used]
    stood_for = [case.ready.checks[check].get("stands_for") for check in answered]
    states = dict(case.states)
    rows = []
    for check in case.table["checks"]:
        name = check["id"]
        if check["setup"] == "computed" or name in answered or name in stood_for:
            continue
        if states.get(name) in ("cannot_here", "unclear"):
            continue
        if cause_table.holds(check["needs"], case.facts) == "no" or cause_table.holds(check["offer"], case.facts) == "no":
            continue
        if cause_table.holds(check["sure"], case.facts) != "yes":
            continue
        weight = 1.0 if case.leans_on(name, None) is None else case.table["lean"]
        rows.append({"check": name, "bits": weight * _bits(case, name), "minutes": check["minutes"], "setup": check["setup"],
                     "setup_minutes": _setup_minutes(case, check["setup"], spent), "put_off": states.get(name) == "not_done"})
    return rows


def _bits(case, check):
    """Expected information of a check about the cause [bit]."""
    rows = case.ready.noise(check)
    count = len(rows[0][0])
    outcomes = [0.0] * count
    noise = 0.0
    share = case.share
    for i in range(len(rows)):
        p = share[i]
        # A cause this unlikely moves nothing, and most are once a few answers are in.
        if p > 1e-6:
            row, bits = rows[i]
            noise += p * bits
            for o in range(count):
                outcomes[o] += p * row[o]
    return max(0.0, cause_table.entropy(outcomes) - noise)


def _setup_minutes(case, code, spent):
    """Minutes until a set-up is reached, with what has to come before it, each paid once."""
    if code in spent:
        return 0
    for setup in case.table["setups"]:
        if setup["code"] == code:
            poor = case.facts.get("access") in case.table["poor_access"] and "poor" in setup
            total = setup["poor"] if poor else setup["minutes"]
            for first in setup["first"]:
                total += _setup_minutes(case, first, spent)
            return total
    return 0


def _rate(case, rows, spent):
    """Give every row its rank: paid set-ups alone, unpaid ones by the best lot of checks that they open."""
    for row in rows:
        # Rounded as the shares are; a minute is the least that anything takes.
        row["rate"] = row["bits"] / max(1.0, float(row["minutes"]))
    for setup in case.table["setups"]:
        lot = [row for row in rows if row["setup"] == setup["code"]]
        lot.sort(key=lambda row: (-int(row["rate"] * 1e9), case.ready.order[row["check"]]))
        cost = lot[0]["setup_minutes"] if lot else 0
        best, bits, minutes = 0.0, 0.0, float(cost)
        for row in lot:
            bits += row["bits"]
            minutes += max(1.0, float(row["minutes"]))
            best = max(best, bits / minutes)
        for row in lot:
            worth = row["rate"] if cost == 0 else best
            row["rank"] = [2 if row["put_off"] else 1, -int(worth * 1e9), -int(row["rate"] * 1e9), case.ready.order[row["check"]]]


def _proposal(case, order, row):
    check = case.ready.checks[row["check"]]
    return {"check": row["check"], "name": check["name"], "why": _why(case, order, row), "minutes": row["minutes"],
            "setup": row["setup"], "setup_minutes": row["setup_minutes"], "bits": row["bits"], "guard": row["guard"] != ""}


def _why(case, order, row):
    """One line: what the check parts or confirms, and what it costs."""
    if row["guard"]:
        return words.reason("next-guard", {"why": row["guard"]})
    values = {"minutes": str(row["minutes"])}
    rows = case.ready.rows(row["check"])
    code, best = "next-looks", 0.0
    leading = order[:3]
    for k in range(len(leading)):
        for i in leading[k + 1:]:
            gap = 0.0
            for o in range(len(rows[0])):
                gap += abs(rows[leading[k]][o] - rows[i][o])
            gap *= math.sqrt(case.share[leading[k]] * case.share[i])
            if gap > best + 1e-9:
                code, best = "next-splits", gap
                values["a"] = _low(case.ready.causes[leading[k]]["name"])
                values["b"] = _low(case.ready.causes[i]["name"])
    if row["setup_minutes"]:
        for setup in case.table["setups"]:
            if setup["code"] == row["setup"]:
                values["setup"] = setup["name"]
        values["more"] = str(row["setup_minutes"])
        return words.reason(code, values) + " " + words.reason("next-setup", values)
    return words.reason(code, values)
