"""What is in the hand, against what the job needs: right, STOP with the reason computed, or cannot tell.

A verdict: {"kind": "good" | "stop" | "watch" | "open", "word", "sentence", "reasons": sentences, "read": [[label, text], ...]
what a code holds, "number": what to write down as the part's number, "" for nothing, "working": [[label, text], ...]}
"""

from .. import belts
from .. import card
from .. import evidence
from .. import gs1
from .. import numbers
from .. import picklist
from .. import stocklist
from .. import words
from ..errors import CoreError

MOST = 200
# Identifiers whose date says until when something may be used (GS1 General Specifications, 3).
_EXPIRES = "17"
_OVERRUNNING = ["one_way", "decoupler"]


def judge(part: dict, text: str, pulley: str, given: dict, loop: str):
    """Say whether what is in the hand is the part.

    Parameters:  part: of `picklist.of` · text: what was scanned or typed, "" for nothing · pulley: kind of alternator
                 pulley seen, a code of words.CHOICES["alternator_pulley"], "" for not said · given: of the screen, with
                 job and shop; "stock" where there is a list · loop: "1" to "3"
    Returns:     a verdict as above, None when nothing was said
    Source:      belts: `belts.compare` and the recorded drive; codes: GS1 General Specifications; an overrunning pulley is
                 never replaced by a solid one: common practice, no source
    """
    found = []
    if text:
        found.append(_text_verdict(part, gs1.scanned(text), given, loop))
    if pulley and part["code"] in picklist.WITH_PULLEY:
        found.append(_pulley_verdict(pulley, evidence.facts(given["job"], loop)))
    if not found:
        return None
    return found[0] if len(found) == 1 else _both(found)


def _verdict(kind, reasons, read=(), number="", working=()):
    word, sentence = {"good": ["Right", "hand-right"], "stop": ["STOP", "hand-stop"], "watch": ["Right only if", "hand-open"],
                      "open": ["Cannot tell", "hand-open"]}[kind]
    return {"kind": kind, "word": word, "sentence": words.reason(sentence, {}), "reasons": reasons, "read": list(read),
            "number": number, "working": list(working)}


def _both(found):
    """The worse of two verdicts, with the reasons of both."""
    kinds = [one["kind"] for one in found]
    kind = "good"
    for worse in ("watch", "open", "stop"):
        if worse in kinds:
            kind = worse
    return _verdict(kind, found[1]["reasons"] + found[0]["reasons"], found[0]["read"], found[0]["number"], found[0]["working"])


def _reason(code, **values):
    return words.reason(code, values)


# ---- an alternator pulley ----

def _pulley_verdict(pulley, facts):
    needs = facts["alternator_pulley"]
    if pulley == "unknown" or needs == "unknown":
        return _verdict("open", [_reason("hand-pulley-unknown")] if needs == "unknown" else [])
    if pulley == needs:
        return _verdict("good", [_reason("hand-pulley-same", pulley=words.label("alternator_pulley", pulley))])
    reasons = [_reason("hand-pulley-other", needs=words.label("alternator_pulley", needs),
                       pulley=words.label("alternator_pulley", pulley))]
    if pulley == "solid" and needs in _OVERRUNNING:
        reasons = [_reason("hand-pulley-solid")] + reasons
    return _verdict("stop", reasons)


# ---- a text ----

def _text_verdict(part, text, given, loop):
    if text.lower().startswith("http:") or text.lower().startswith("https:"):
        return _tag_verdict(text.split("/t/")[1], given["job"]) if "/t/" in text else _verdict("open", [_reason("hand-address", text=text[:80])])
    try:
        if gs1.is_elements(text):
            return _elements_verdict(part, gs1.elements(text, given["now"][:10]), given, loop)
        item = gs1.item_number(text)
    except CoreError as error:
        return _verdict("open", [words.sentence(error)])
    if item and stocklist.plain(text) != stocklist.plain(part["number"]):
        return _item_verdict(part, item, [["Item", item]], given, loop)
    return _number_verdict(part, text, given, loop)


def _tag_verdict(token, job):
    """A tag is no part; one of this car that was voided is no tag either."""
    for tag in job["tags"]:
        if tag["token"] == token:
            return _verdict("stop", [_reason("hand-tag-own") if tag["voided"] is None else _reason("hand-tag-void", why=tag["voided"])])
    return _verdict("stop", [_reason("hand-tag")])


def _elements_verdict(part, found, given, loop):
    read = [[name + " (" + code + ")", value] for code, name, value in found]
    items = [value for code, _, value in found if code == "01"]
    if not items:
        verdict = _verdict("open", [_reason("hand-no-item")], read)
    else:
        verdict = _item_verdict(part, items[0], read, given, loop)
    for code, _, value in found:
        if code == _EXPIRES and value < given["now"][:10]:
            verdict = _verdict("stop", [_reason("hand-expired", date=value)] + verdict["reasons"], read, verdict["number"])
    return verdict


def lines_of(given: dict) -> list:
    """Return the lines of the stock list that a screen was given, [] without a list.

    Parameters:  given: of the screen
    """
    stock = given.get("stock")
    return stock["lines"] if stock else []


def _item_verdict(part, item, read, given, loop):
    for line in lines_of(given):
        if line["item"] == item:
            return _line_verdict(part, line, read, given, loop)
    known = given.get("stock") and given["stock"]["known"]
    return _verdict("open", [_reason("hand-not-in-stock" if known else "hand-no-stock", item=item)], read)


def _number_verdict(part, text, given, loop):
    for line in lines_of(given):
        if stocklist.plain(line["number"]) == stocklist.plain(text):
            return _line_verdict(part, line, [], given, loop)
    marking, error = _marking(text)
    if part["code"] == "belt" and marking is not None:
        return _belt_verdict(part, marking, text, given, loop)
    if part["number"] and stocklist.plain(part["number"]) == stocklist.plain(text):
        return _verdict("good", [_reason("hand-ordered", number=part["number"])], number=part["number"])
    if marking is not None and part["code"] != "belt":
        return _verdict("stop", [_reason("hand-is-belt", marking=marking["text"])])
    reasons = []
    if part["number"]:
        # A belt's marking may be written down as its number; then another text is only not read.
        if part["code"] != "belt" or _marking(part["number"])[0] is None:
            return _verdict("stop", [_reason("hand-other-number", wanted=part["number"], number=text[:60])], number=text[:60])
    if part["code"] == "belt" and error is not None and error.code != "marking-unread":
        reasons.append(words.sentence(error))
    return _verdict("open", reasons or [_reason("hand-unread")])


def _marking(text):
    """[belt, None] of a marking, [None, error] of anything else."""
    try:
        return [belts.parse(text), None]
    except CoreError as error:
        return [None, error]


def _line_verdict(part, line, read, given, loop):
    """A line of the stock list: its number against the one written down, its marking against the belt."""
    named = _reason("hand-in-stock", number=line["number"], name=line["name"])
    marking = _marking(line["marking"])[0] if line["marking"] else None
    if part["code"] == "belt":
        if marking is None:
            kind, reasons = "open", [named, _reason("hand-no-belt")]
        else:
            verdict = _belt_verdict(part, marking, line["marking"], given, loop)
            return _verdict(verdict["kind"], verdict["reasons"] + [named], read, line["number"], verdict["working"])
    elif marking is not None:
        kind, reasons = "stop", [_reason("hand-is-belt", marking=marking["text"]), named]
    elif not part["number"]:
        kind, reasons = "open", [named]
    elif stocklist.plain(part["number"]) == stocklist.plain(line["number"]):
        kind, reasons = "good", [_reason("hand-ordered", number=part["number"]), named]
    else:
        kind, reasons = "stop", [_reason("hand-other-number", wanted=part["number"], number=line["number"]), named]
    return _verdict(kind, reasons, read, line["number"])


# ---- a belt ----

_KINDS = {"same": "good", "differs": "watch", "do_not_fit": "stop", "cannot_tell": "open"}
_NUMBERS = ["no", "One", "Two", "Three", "Four"]


def _belt_verdict(part, marking, text, given, loop):
    job = given["job"]
    source, wanted, name = picklist.belt_wanted(job, loop)
    if wanted is None:
        wrong = card.belt_of(job, loop, "old") is not None
        return _verdict("open", [_reason("hand-old-wrong" if wrong else "hand-no-reference")], number=text[:60])
    hand = belts.blank("new")
    hand.update({"marking": text[:60], "section": marking["section"], "ribs": marking["ribs"], "length_kind": marking["length_kind"],
                 "length": {"value": numbers.trimmed(marking["length_mm"], 1), "unit": "mm"},
                 "double_sided": marking["double_sided"], "stretch": marking["stretch"] or wanted["stretch"]})
    found = card.compared(job, loop, wanted, hand)
    reasons = _ribs_first(found)
    kind = _KINDS[found["verdict"]]
    working = []
    if card.drive_of(job, loop) is not None:
        from . import drivebelts
        verdict = {"kind": kind, "word": "", "sentence": ""}
        added = drivebelts.add(job, loop, [{"data": wanted}, {"data": hand}], verdict, reasons, given["shop"])
        kind, reasons = added["verdict"]["kind"], added["reasons"]
        for hint in added["drive_hints"]:
            if hint.get("place") == "new":
                working = hint["working"]
                if hint["kind"] == "stop":
                    kind = "stop"
    if wanted["stretch"] and not marking["stretch"]:
        # Often only the packet says so.
        reasons = reasons + [_reason("hand-stretch-unsaid")]
        kind = "open" if kind == "good" else kind
    reasons = reasons + [_reason("hand-from-" + source, marking=name)]
    return _verdict(kind, reasons, number=text[:60], working=working)


def _ribs_first(found):
    """The reasons, with how many ribs it has too few or too many on top."""
    out = []
    for i in range(len(found["reasons"])):
        code, values = found["reasons"][i]
        if code == "ribs-differ":
            apart = int(values["new"]) - int(values["old"])
            count = _NUMBERS[abs(apart)] if abs(apart) < len(_NUMBERS) else str(abs(apart))
            text = count + (" rib" if abs(apart) == 1 else " ribs") + (" more" if apart > 0 else " less")
            out = [_reason("hand-ribs", apart=text, old=values["old"], new=values["new"])] + out
        else:
            out.append(found["sentences"][i])
    return out


def shown(text: str, pulley: str, verdict) -> dict:
    """Return the verdict as a record keeps it, {} for none.

    Parameters:  text, pulley: as given to `judge` · verdict: from `judge`
    """
    if verdict is None:
        return {}
    kept = {"kind": verdict["kind"], "verdict": verdict["word"], "reasons": " ".join(verdict["reasons"])[:400]}
    if text:
        kept["in the hand"] = readable(text)[:200]
    if pulley:
        kept["pulley"] = words.label("alternator_pulley", pulley)
    return kept


def readable(text: str) -> str:
    """Return a scanned text with its separators as people can see them.

    Parameters:  text: what was scanned or typed
    """
    return text.replace(gs1.SEPARATOR, " | ")


