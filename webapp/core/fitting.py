"""Fitting: the order of work for the kind of tensioner in front of the technician, each line with its reason.

All of it is common practice, no source, in words of its own. Torque and angle never stand here: they are typed from the
vehicle maker's data, which come first wherever they differ.
"""

from . import words

# Line: [code, what to do, why, code in words.CAUTIONS or "", kind of line].
#   must   has to be done     maybe  may not be there on this car     pin    only where the arm can be pinned
#   bolts  stands for the bolts tightened, each kept on its own        seats  stands for one line for each pulley
LINES = [
    # Before the belt.
    ["clean", "Grooves brushed and dry, any leak cured first", "A new belt on oil or coolant squeals within days.", "", "must"],
    ["new_bolts", "New bolts where the maker's data ask for them, threads clean",
     "A bolt that was stretched once does not hold its clamp a second time.", "torque", "maybe"],
    ["tang", "Tensioner sits flat: seat clean, locating tang in its hole", "A tang beside its hole tilts the arm and cracks it.", "", "maybe"],
    # Automatic arms.
    ["arm_back", "Arm turned back against its spring, slowly, with a long bar", "An arm that snaps loses its damping.", "spring", "must"],
    ["pin_in", "Locking pin in, full size, and counted", "A pinned arm leaves both hands for the belt.", "", "pin"],
    ["belt_on", "Belt on by the recorded route, the last pulley a smooth one or one without high flanges",
     "Levered over a flange, the cord inside is cut and nobody sees it.", "lever", "must"],
    ["pin_out", "Weight taken on the bar, locking pin out and counted", "A pin left in breaks the arm at the first turn.", "", "pin"],
    ["arm_on", "Arm let onto the belt slowly", "Let go, it strikes the belt and its own stop.", "", "must"],
    ["pointer", "Pointer inside its marks", "Outside them the belt or the tensioner is the wrong one, or worn.", "", "must"],
    ["pointer_again", "Pointer again after the turns: still inside its marks", "Only now does the belt lie where it will run.", "", "must"],
    # Set once.
    ["set_window", "Eccentric turned until the pointer stands in its setting window, held there, then tightened",
     "Never set, it works like a spring at its end.", "", "must"],
    ["window_again", "Pointer again after the turns: still in its setting window", "It settles as the belt finds its place.", "", "must"],
    # Hydraulic strut.
    ["strut_way", "Strut the right way up, purged by slow full strokes where the maker says so",
     "Air or a strut upside down cannot damp.", "", "maybe"],
    ["strut_in", "Strut pressed in slowly", "Pressed fast, the oil tears its seals and valve.", "strut", "must"],
    ["strut_on", "Strut let out slowly: it creeps, it does not bounce", "A strut that bounces has lost its oil or holds air.", "", "must"],
    ["strut_dry", "No oil on rod or boot", "Oil there means that the strut is on its way out, and it spoils the belt.", "", "must"],
    ["strut_pointer", "Pointer inside its marks after the turns, where the strut has one", "Outside them the belt is the wrong one, or the strut.", "", "maybe"],
    # Manual.
    ["loose_eccentric", "Lock nut slackened, eccentric turned off the belt", "Turned against a tight nut, its seat is scored.", "", "must"],
    ["loose_slot", "Pivot bolt and slot bolt both slackened", "With one bolt tight the accessory tilts and the belt runs out of line.", "", "must"],
    ["belt_on_free", "Belt on by the recorded route, by hand", "If it needs a lever, the adjuster is not back far enough.", "lever", "must"],
    ["set_eccentric", "Eccentric turned the stated way, to the stated mark or tension",
     "Turned the other way it loosens itself in use.", "", "must"],
    ["lock_eccentric", "Nut tightened with the eccentric held still; roller square to the belt",
     "Otherwise the roller drags round with the nut, and the tension with it.", "", "must"],
    ["set_slot", "Accessory moved out until the tension is right, without a lever on its casing or on a pipe",
     "Thin casings crack, pipes leak later.", "", "must"],
    ["set_screw", "Lead screw turned until the tension is right", "The screw holds every step, so go there slowly.", "", "must"],
    ["lock_slot", "Slot bolt tightened first, then the pivot bolt", "A loose pivot lets the accessory tilt under load.", "", "must"],
    ["travel", "Adjuster stands in the first part of its travel", "A new belt that needs it all is too long, and leaves nothing for later.", "", "must"],
    ["measure_again", "Tension measured on the named span after the turns", "The belt settles into its grooves and loses some.", "", "must"],
    # Matched pair.
    ["one_set", "Both belts new and from one set", "An old belt beside a new one carries nothing.", "", "must"],
    ["both_tight", "Both belts equally tight on the same span", "The tighter one takes the load alone and dies first.", "", "must"],
    # Stretch-fit.
    ["cut_off", "Old belt cut off, not pulled off", "Pulled off it looks whole, and its cord is broken.", "stretch", "must"],
    ["exact", "New belt is the very one the maker names for this drive", "An ordinary belt of the same length does not stretch on.", "", "must"],
    ["guide_on", "Guide on the rim, belt drawn on by turning the engine by hand in its direction",
     "A screwdriver cuts its edge, the starter tears it.", "turn", "must"],
    ["edges", "Edges whole all round, no cord showing", "Damage from fitting starts at an edge and is seen only now.", "", "must"],
    # Fixed centres.
    ["fixed_on", "Belt on the way the maker's data describe, nothing forced", "With fixed centres only the maker knows how it goes on.", "lever", "must"],
    # Two-arm, starter-generator.
    ["made_safe", "System made safe as the maker says, by the person who is trained for it",
     "A starter-generator can turn the belt by itself.", "trained", "must"],
    ["arms_in", "Both arms held by the tool or pins that the maker names; pins counted", "One arm forgotten throws the belt.", "spring", "must"],
    ["exact_length", "Belt length exactly as the maker names it", "Both arms share what little there is to take up.", "", "must"],
    ["arms_out", "Tool and both pins out and counted", "A pin left in breaks an arm at the first turn.", "", "must"],
    ["marks_both", "Both arms inside their marks", "One right arm does not make the other right.", "", "must"],
    ["marks_both_again", "Both arms again after the turns: still inside their marks", "They share the belt afresh as it turns.", "", "must"],
    # After the belt, on every drive.
    ["bolts", "Every bolt that was loosened tightened with the wrench to the maker's value", "Too loose it moves, too tight it stretches or tears, and a hand feels neither.", "", "bolts"],
    ["seats", "Ribs seated", "One rib off is a frayed edge within a day.", "", "seats"],
    ["turned", "Two full turns by hand", "The starter must not be the first to turn it: a belt that sits wrong is cut.", "turn", "must"],
    ["seated_again", "Every groove looked at again after the turns", "A belt that climbs shows it now.", "", "must"],
    ["counted", "Bar, pins and tools out, counted", "What stays behind is thrown into the belt.", "", "must"],
]
_START = ["clean", "new_bolts", "tang"]
_END = ["seats", "turned", "seated_again"]
# The order of work for each kind of tensioner; "pair" comes before the rest for a matched pair.
ORDER = [
    ["automatic", _START + ["bolts", "arm_back", "pin_in", "belt_on", "pin_out", "arm_on", "pointer"] + _END + ["pointer_again", "counted"]],
    ["automatic_set", _START + ["arm_back", "pin_in", "belt_on", "pin_out", "arm_on", "set_window", "bolts"] + _END + ["window_again", "counted"]],
    ["hydraulic", ["clean", "new_bolts", "strut_way", "bolts", "strut_in", "pin_in", "belt_on", "pin_out", "strut_on", "strut_dry"] + _END
     + ["strut_pointer", "counted"]],
    ["eccentric", ["clean", "new_bolts", "loose_eccentric", "belt_on_free", "set_eccentric", "lock_eccentric", "bolts"] + _END
     + ["measure_again", "counted"]],
    ["slotted", ["clean", "new_bolts", "loose_slot", "belt_on_free", "set_slot", "lock_slot", "travel", "bolts"] + _END + ["measure_again", "counted"]],
    ["lead_screw", ["clean", "new_bolts", "loose_slot", "belt_on_free", "set_screw", "lock_slot", "travel", "bolts"] + _END
     + ["measure_again", "counted"]],
    ["stretch_fit", ["cut_off", "clean", "new_bolts", "bolts", "exact", "guide_on"] + _END + ["edges", "counted"]],
    ["fixed", ["clean", "new_bolts", "fixed_on", "bolts"] + _END + ["counted"]],
    ["two_arm", ["made_safe"] + _START + ["bolts", "arms_in", "exact_length", "belt_on", "arms_out", "marks_both"] + _END
     + ["marks_both_again", "counted"]],
]
# What has to be out and in place before anybody turns the engine by hand.
_BEFORE_TURNING = ["pin_out", "arms_out", "seats"]
_SEAT = "seat:"
# On a smooth pulley there is no rib to seat.
_ON_SMOOTH = "Belt's back between both edges"
_BOLT = "bolt:"


def kind_of(tensioner: str, belt: str) -> str:
    """Return the kind of tensioner that the order of work goes by.

    Parameters:  tensioner: code of words.CHOICES["tensioner"] · belt: code of words.CHOICES["belt_kind"]
    Returns:     a first entry of ORDER, or "unknown"
    Source:      common practice, no source
    """
    return "stretch_fit" if belt == "stretch" and tensioner in ("fixed", "unknown") else tensioner


def lines(tensioner: str, belt: str, pin_hole: str, pulleys: list, smooth: list = ()) -> list:
    """Return the order of work for a drive.

    Parameters:  tensioner, belt, pin_hole: codes of the facts · pulleys: names of the pulleys in belt order, [] while not known ·
                 smooth: names of those that the belt's back runs on
    Returns:     [{"item", "what", "why": "" where the line before says it, "caution": sentence or "", "kind": "must", "maybe" or "bolts", "before_turning": flag}, ...];
                 [] for a tensioner that is not known
    Source:      common practice, no source; none of it replaces the vehicle maker's data
    """
    codes = []
    for kind, order in ORDER:
        if kind == kind_of(tensioner, belt):
            codes = order
    if codes and belt == "vbelt_pair":
        at = codes.index("bolts")
        codes = ["one_set"] + codes[:at + 1] + ["both_tight"] + codes[at + 1:]
    rows = {line[0]: line for line in LINES}
    found = []
    for code in codes:
        found += _lines_of(rows[code], pin_hole, pulleys, smooth, belt)
    return found


def _lines_of(row, pin_hole, pulleys, smooth, belt):
    code, what, why, caution, kind = row
    line = {"item": code, "what": what, "why": why, "caution": words.caution(caution) if caution else "",
            "kind": kind, "before_turning": code in _BEFORE_TURNING}
    if kind == "pin":
        line["kind"] = "must" if pin_hole == "yes" else "maybe"
        return [] if pin_hole == "no" else [line]
    if kind == "seats":
        line["kind"] = "must"
        if belt in ("vbelt", "vbelt_pair"):
            line["what"] = what = "Belt deep in its groove"
            line["why"] = "A V-belt that rides on the rim or on the ground of its groove slips."
        if not pulleys:
            line["what"] = what + " on every pulley, felt with a finger and seen with a mirror"
            return [line]
        # The reason is said once, at the first pulley.
        return [dict(line, item=_seat_item(pulleys, i), what=(_ON_SMOOTH if pulleys[i] in smooth else what) + ": " + pulleys[i],
                     why=line["why"] if i == 0 else "") for i in range(len(pulleys))]
    return [line]


def _seat_item(pulleys, i):
    """An item holds 40 characters; long names that begin alike still get one each."""
    item = _SEAT + pulleys[i]
    return item if len(item) <= 40 else item[:37] + "~" + str(i + 1)


def standing(job: dict, loop: str) -> dict:
    """Return the last entry for each line of a belt's order of work.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     {item: entry of kind "work_done"}
    """
    return {entry["data"]["item"]: entry for entry in job["work"] if entry["loop"] == loop}


def bolts(job: dict, loop: str) -> list:
    """Return the entries on bolts that were tightened, each with its value and where that is from.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    return [entry for entry in job["work"] if entry["loop"] == loop and entry["data"]["item"].startswith(_BOLT)]


def bolt_item(name: str) -> str:
    """Return the item under which a bolt is kept.

    Parameters:  name: as typed
    """
    return (_BOLT + name.lower())[:40]


def of(job: dict, loop: str) -> list:
    """Return a belt's order of work with what is done of it.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     as `lines`, each with "state": "done", "not_here" or "open", and "entry": the one that says so, or None
    """
    from . import card
    facts = card.loop_facts(job, loop)
    entry = card.drive_of(job, loop)
    drawn = [pulley for pulley in (entry["data"]["drive"].get("pulleys") or []) if pulley.get("name")] if entry is not None else []
    pulleys = [pulley["name"] for pulley in drawn]
    smooth = [pulley["name"] for pulley in drawn if pulley.get("face") == "back"]
    kept = standing(job, loop)
    tightened = bolts(job, loop)
    found = lines(facts["tensioner"], facts["belt"], facts["pin_hole"], pulleys, smooth) if facts is not None else []
    for line in found:
        line["entry"] = kept.get(line["item"])
        if line["item"] == "bolts" and tightened:
            line["entry"] = tightened[-1]
        line["state"] = line["entry"]["data"]["result"] if line["entry"] is not None else "open"
    return found


def too_early(found: list, ticked: list) -> list:
    """Return the lines that have to be done before the engine is turned by hand, when the turns are ticked without them.

    Parameters:  found: of `of` · ticked: items ticked just now
    Returns:     their texts; [] when the turns are not ticked
    Source:      common practice, no source: pins out and ribs seated before the belt moves
    """
    if "turned" not in ticked:
        return []
    return [line["what"] for line in found if line["before_turning"] and line["state"] == "open" and line["item"] not in ticked]
