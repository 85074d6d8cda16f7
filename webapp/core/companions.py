"""What a named cause brings with it: parts to renew together, looks with a written result, causes behind the cause.

All of it is workshop judgement; the vehicle maker's data comes first. Needs are those of `cause_table.holds`: what
the drive does not have is left out, what is not known stays in.
"""

from . import cause_table

_ARM = [["tensioner", ["automatic", "automatic_set", "hydraulic", "two_arm"]]]
_MANUAL = [["tensioner", ["eccentric", "slotted", "lead_screw"]]]
_STRETCH = [["tensioner", ["stretch_fit"]]]
_OVERRUN = [["alternator", ["yes"]], ["alternator_pulley", ["one_way", "decoupler"]]]
_ALTERNATOR = [["alternator", ["yes"]]]
_IDLER = [["idler", ["yes"]]]
_DAMPER = [["crank_pulley", ["damper", "decoupler"]]]
_DECOUPLER = [["crank_pulley", ["decoupler"]]]
_COMPRESSOR = [["compressor", ["clutch", "clutchless"]]]
_CLUTCH = [["compressor", ["clutch"]]]
_PUMP = [["water_pump", ["this_belt"]]]
_STEERING = [["steering", ["hydraulic"]]]

# Every look: code, what to answer in writing, the check whose outcome answers it ("" for none), needs.
LOOKS = [
    ["alternator_pulley", "Alternator pulley: seized, free both ways or rough?", "C11", _OVERRUN],
    ["pulley_cap", "Cap of the alternator pulley: in place, and dry behind it?", "", _OVERRUN],
    ["pulley_kind", "Alternator pulley: same kind as the car left the factory with?", "", _ALTERNATOR],
    ["alternator_bearing", "Alternator: rotor smooth and without play?", "C13", _ALTERNATOR],
    ["alternator_wet", "Alternator: oil or coolant inside?", "", _ALTERNATOR],
    ["alternator_drag", "Alternator: does the rotor drag?", "C13", _ALTERNATOR],
    ["shaft_thread", "Alternator shaft: thread whole?", "", _ALTERNATOR],
    ["charging_after", "Charging under load after the repair?", "C28", _ALTERNATOR],
    ["damper", "Crank damper: rubber whole and ring flush?", "C17", _DAMPER],
    ["damper_ring", "Crank damper: has the ring moved on its hub?", "C18", _DAMPER],
    ["decoupler", "Crank decoupler: dead play or rocking?", "C20", _DECOUPLER],
    ["misfire", "Engine: smooth idle and no misfire stored?", "C33", []],
    ["pointer", "Tensioner pointer after two turns by hand: inside its marks?", "C7", _ARM],
    ["pointer_new", "Tensioner pointer with the new belt: inside its marks?", "", _ARM],
    ["sweep", "Tensioner arm: smooth, damped and full force?", "C8", _ARM],
    ["stops", "Tensioner stops: bright hammer marks?", "", _ARM],
    ["arm_tilt", "Tensioner arm: side play or tilt?", "C8", _ARM],
    ["tensioner_bolt", "Tensioner bolt and locating tang: torque, its source, tang in its hole?", "", _ARM],
    ["held_at_end", "Belt length: does it hold the arm at one end?", "C7", _ARM],
    ["roller", "Tensioner roller: smooth and quiet?", "C9", [["tensioner_pulley", ["yes"]]]],
    ["idlers", "Idlers, each by its place: smooth and quiet?", "C10", _IDLER],
    ["neighbour", "Other rollers and accessories: one seized or dragging?", "", []],
    ["dust_cap", "Roller dust caps: all in place?", "", [["tensioner_pulley", ["yes"]]]],
    ["grooves", "Pulley grooves: clean, not worn in steps?", "C22", []],
    ["in_line", "Pulleys in line, offset and tilt measured?", "C21", []],
    ["in_line_loaded", "Pulleys in line with loads off and on?", "C21", []],
    ["seating", "Every rib seated on every pulley, front and back edge?", "C30", []],
    ["directions", "Every accessory turns its right way?", "", []],
    ["flanges", "Flanges, covers and brackets: rub marks?", "", []],
    ["belt_slip", "Belt: slip marks on the ribs?", "C1", []],
    ["belt_back", "Belt back and rollers: scored or glazed?", "C4", []],
    ["tension", "Belt tension measured, span and tool named?", "C29", []],
    ["leak", "Where does the fluid come from: cover, filter housing, crank seal, pump, hose?", "C34", []],
    ["liner", "Liner, tray and guards: all in place?", "", []],
    ["dressing", "Was belt dressing or another spray used?", "", []],
    ["oil_on_rubber", "Oil on the damper rubber, from seal or cover?", "C34", _DAMPER],
    ["brackets", "Brackets, dowels and bolts: tight and whole?", "C32", []],
    ["threads", "Threads and dowels at the mount: whole?", "", []],
    ["pivot_bolts", "Pivot and slot bolts tight, slot straight?", "C32", _MANUAL],
    ["run_in", "Was the tension set again after run-in?", "", _MANUAL],
    ["ordinary_belt", "Stretch-fit drive: is an ordinary belt on it?", "C31", _STRETCH],
    ["set_how", "How was the tension set: tool, span, belt too short?", "", []],
    ["why_wrong", "Why was the belt wrong: option, other pulley, wrong tensioner, variant in the catalogue?", "", []],
    ["drags", "Accessories by hand: does one drag?", "C14", _COMPRESSOR],
    ["steering_drag", "Steering pump by hand: smooth and dry?", "C16", _STEERING],
    ["pump", "Coolant pump: play, noise or crust?", "C15", _PUMP],
    ["pump_on_back", "Pump driven by the belt's back: smooth?", "C15", _PUMP],
    ["pressure", "Cooling system: holds its pressure?", "", _PUMP],
    ["coolant", "Coolant: right kind and clean?", "", _PUMP],
    ["fan", "Fan on the pump: in balance, where fitted?", "", _PUMP],
    ["clutch_gap", "Compressor clutch: gap even and in the maker's limit?", "", _CLUTCH],
    ["gas", "Gas pressures, by a qualified person: over-filled?", "", _COMPRESSOR],
    ["condenser", "Condenser: does air pass freely?", "", _COMPRESSOR],
    ["relay", "Compressor relay: does it chatter?", "", _CLUTCH],
    ["press_depth", "Press depth of the pulley, spacer and washer?", "", []],
    ["hoses", "Steering hoses and rack: dry and whole?", "", _STEERING],
    ["steering_fluid", "Steering fluid: right kind, level, filter free?", "", _STEERING],
    ["return_hose", "Steering return hose: does it draw air?", "", _STEERING],
    ["crank_seal", "Front crank seal: dry?", "", []],
    ["crank_key", "Crank key or friction washer: whole?", "", []],
    ["trigger_ring", "Trigger ring: whole and in its place?", "", []],
    ["timing_cover", "Timing cover: belt debris behind it, or contact marks?", "", []],
    ["crank_bolt", "Crank bolt: new, torque and angle with their source?", "", []],
    ["tuning", "Engine tuned or changed?", "", []],
    ["end_float", "Crank end float: in the maker's limit?", "", []],
    ["mounts", "Engine mounts: whole?", "", []],
    ["wrong_part", "Any pulley, spacer or bracket that belongs to another car?", "", []],
    ["route_source", "Where did the route come from: right diagram, right belt width?", "", []],
    ["debris", "Belt pieces from an earlier failure: all removed?", "", []],
    ["stood", "Did the car stand long and rust?", "", []],
    ["accident", "Accident damage at the front of the engine?", "", []],
    ["use", "Use: frequent start-stop, taxi or delivery?", "", []],
    ["engine_repair", "Ignition, fuel, air and compression: what was found?", "", []],
    ["passed", "Belt checks that passed: listed?", "", []],
    ["elsewhere", "Timing drive, vacuum pump, exhaust, shields and mounts: which one?", "", []],
    ["other_system", "Charging electrics, cooling or steering system: which one?", "", []],
    ["leak_cured", "Leak named and cured, or declined by the customer in writing?", "", []],
    ["alternator_last", "Alternator pulley tested before the alternator was judged?", "C11", _OVERRUN],
    ["belt_listed", "New belt on the parts list?", "", []],
    ["grooves_washed", "Coolant cleaned from the grooves?", "", []],
    ["engine_front", "Front of the engine inspected for belt pieces?", "", []],
    ["restart", "Restart authorised: by whom?", "", []],
    ["ages", "Age of every other part in the loop recorded?", "", []],
    ["bolt_history", "Earlier tensioner: how was its bolt tightened?", "", _ARM],
]

# Every part: code, what, how many, single use, what must be true of it, needs.
PARTS = [
    ["belt", "Belt", "1", False, "Ribs, profile, length and type are what this car needs; compared with the old belt.", []],
    ["guide", "Fitting guide for the stretch-fit belt", "1", False, "Made for this drive; never a lever.", _STRETCH],
    ["tensioner", "Tensioner, complete", "1", False,
     "Casting, offset, roller width and diameter, tang and pin hole as on the old one. Watch for a left-hand thread.",
     [["tensioner", ["automatic", "automatic_set", "hydraulic", "two_arm", "eccentric"]]]],
    ["tensioner_bolt", "Tensioner bolt", "each", True, "New where the maker calls it single-use.", _ARM],
    ["locking_pin", "Locking pin", "1", False, "Full size of the hole; two for a two-arm tensioner.", [["pin_hole", ["yes"]]]],
    ["roller", "Tensioner roller", "1", False, "Same diameter, width and face. Watch for a left-hand thread.",
     [["tensioner_pulley", ["yes"]]]],
    ["idler", "Idler", "each of the same age", False, "Same diameter, width, face and dust cap. Watch for a left-hand thread.",
     _IDLER],
    ["adjuster", "Adjuster bolt or screw", "1", False, "Same thread and length; runs freely by hand.", _MANUAL],
    ["overrun", "Alternator pulley", "1", False, "Same kind as the car needs: never a solid one for an overrunning one.", _OVERRUN],
    ["overrun_cap", "Cap for the alternator pulley", "1", True,
     "New with every pulley, and for every test that took the old one off.",
     _OVERRUN],
    ["overrun_tool", "Centre tool for the alternator pulley", "1", False, "Fits this pulley's splines.", _OVERRUN],
    ["alternator", "Alternator", "1", False, "Rated current and plug as the old one; pulley of the right kind on it.", _ALTERNATOR],
    ["compressor", "Compressor, clutch or bearing, as found", "1", False, "Same pulley, hub and pipe joints.", _COMPRESSOR],
    ["pump", "Coolant pump", "1", False, "Same pulley height and turning direction.", _PUMP],
    ["pump_seal", "Coolant pump seal", "1", True, "New with every pump.", _PUMP],
    ["coolant", "Coolant", "as the maker states", True, "The kind that the maker names.", _PUMP],
    ["steering_pump", "Steering pump, or its seal", "1", False, "Same pulley and press depth.", _STEERING],
    ["steering_fluid", "Steering fluid", "as the maker states", True, "The kind that the maker names.", _STEERING],
    ["damper", "Crank damper", "1", False, "Same grooves, offset and trigger ring.", _DAMPER],
    ["crank_decoupler", "Crank decoupler pulley", "1", False, "Same grooves, offset and trigger ring.", _DECOUPLER],
    ["crank_bolt", "Crank pulley bolt or bolts", "all of them", True, "New; torque and angle from the maker.", []],
    ["friction_washer", "Friction washer of the crank pulley", "1", True, "Where the maker uses one.", []],
    ["pulley", "The wrong, moved or damaged pulley or part", "1", False, "Grooves, offset and width as the maker's.", []],
    ["bracket", "Bracket", "1", False, "Straight, with its dowels.", []],
    ["bracket_bolts", "Bracket bolts", "all of them", True, "Length and grade as the maker's; new where called single-use.", []],
    ["guard", "Guard or liner", "1", False, "Closes the drive against stones and spray.", []],
    ["clips", "Retaining clips for the liner", "a set", True, "Old ones rarely hold twice.", []],
    ["brush", "Cleaning brush for the grooves", "1", False, "Fits the groove; dry, no solvent left behind.", []],
    ["threadlock", "Threadlocking compound", "1", False, "Only where the maker calls for it.", []],
]

# Parts that come along with others, and why: [part, with which, need, why].
ALONG = [
    ["guide", ["belt"], "must", "a stretch-fit belt is never levered on"],
    ["locking_pin", ["tensioner", "belt"], "if_needed", "the arm must be held by a pin of full size"],
    ["tensioner_bolt", ["tensioner"], "if_needed", "a stretched bolt lets the tensioner work loose"],
    ["threadlock", ["tensioner", "roller", "idler"], "if_needed", "some makers call for it"],
    ["overrun_cap", ["overrun", "alternator"], "must", "without its cap water ruins the new pulley"],
    ["overrun_tool", ["overrun"], "must", "the pulley comes off and on with it"],
    ["pump_seal", ["pump"], "must", "the old seal leaks on a new pump"],
    ["coolant", ["pump"], "must", "it runs out with the pump"],
    ["steering_fluid", ["steering_pump"], "must", "it runs out with the pump"],
    ["crank_bolt", ["damper", "crank_decoupler"], "must", "a crank bolt stretches once"],
    ["friction_washer", ["damper", "crank_decoupler"], "if_needed", "it carries the torque on some engines"],
    ["bracket_bolts", ["bracket"], "must", "they were bent or stretched with it"],
    ["clips", ["damper", "crank_decoupler", "bracket"], "if_needed", "a loose liner wets the new belt"],
    ["brush", ["belt"], "if_needed", "a new belt goes on clean, dry grooves only"],
]

# Each cause: what to renew, [part, "must" or "if_needed", why]; looks with a written result; looks at what may have
# caused it; and what happens when those are skipped.
CAUSES = [
    ["B_WORN", [["belt", "must", "it is worn out"], ["tensioner", "if_needed", "at a similar age, or dry"],
                ["idler", "if_needed", "at a similar age, or dry"]],
     ["alternator_pulley", "pointer", "grooves", "damper", "leak"], ["sweep", "drags", "steering_drag", "grooves", "in_line"],
     "The new belt wears at the same rate."],
    ["B_WRONG", [["belt", "must", "the right one for this drive"]], ["stops", "sweep", "in_line"], ["why_wrong", "wrong_part"],
     "The right belt goes on a drive that was changed."],
    ["B_CONT", [["belt", "must", "soaked rubber does not recover"], ["idler", "if_needed", "if fluid got in"],
                ["tensioner", "if_needed", "if fluid got in; never wash out a friction tensioner"],
                ["brush", "must", "clean grooves"]],
     ["damper", "pulley_cap", "alternator_wet"], ["leak", "liner", "dressing"], "The third belt in a year."],
    ["T_LOW", [["belt", "if_needed", "if its ribs are polished"], ["adjuster", "if_needed", "if it has stretched"]],
     ["neighbour", "brackets", "grooves"], ["pivot_bolts", "run_in", "grooves", "ordinary_belt"], "It squeals again within weeks."],
    ["T_HIGH", [["belt", "if_needed", "if it was over-stretched"]],
     ["alternator_bearing", "pump", "idlers", "roller"], ["set_how"], "Bearings fail later and the parts are blamed."],
    ["TN_DAMP", [["tensioner", "must", "its damping has gone"], ["belt", "must", "it was shaken with it"]],
     ["alternator_pulley", "damper", "idlers", "in_line"], ["alternator_pulley", "damper", "decoupler", "misfire"],
     "The new tensioner lasts months."],
    ["TN_SPRING", [["tensioner", "must", "its spring or pivot has failed"], ["belt", "must", "it has slipped"]],
     ["pointer_new", "grooves"], ["liner", "leak", "held_at_end"], "It comes again."],
    ["TN_BRG", [["tensioner", "must", "its bearing has failed"], ["belt", "must", "renewed while it is off"],
                ["roller", "if_needed", "alone, only if the maker supplies it"], ["idler", "if_needed", "of the same age"]],
     ["sweep", "in_line", "idlers"], ["in_line", "tension", "leak", "neighbour"], "The next roller fails."],
    ["TN_BROKEN", [["tensioner", "must", "it has broken"], ["tensioner_bolt", "must", "it was overloaded"],
                   ["belt", "must", "its cord cannot be judged"], ["overrun", "if_needed", "if not clearly good"]],
     ["alternator_pulley", "damper", "decoupler", "idlers", "threads", "timing_cover"],
     ["alternator_pulley", "damper", "decoupler", "misfire", "tensioner_bolt", "stops"],
     "It breaks again and may take the belt into the front of the engine."],
    ["ID_BRG", [["idler", "must", "its bearing has failed"], ["belt", "must", "renewed while it is off"],
                ["tensioner", "if_needed", "of the same age"]],
     ["in_line", "grooves", "pump_on_back"], ["in_line", "liner", "tension", "dust_cap"], "It comes again."],
    ["OAP_LOCK", [["overrun", "must", "it has seized"], ["belt", "must", "it was jerked and slipped"],
                  ["tensioner", "if_needed", "if swing or sweep is poor, which is often so"]],
     ["alternator_bearing", "damper", "idlers", "sweep"], ["damper", "pulley_cap", "pulley_kind", "misfire"],
     "The pulley dies early, or the tensioner arm breaks."],
    ["OAP_FREE", [["overrun", "must", "it drives nothing"]],
     ["belt_slip", "charging_after", "sweep"], ["shaft_thread", "pulley_kind", "alternator_drag", "leak", "damper"],
     "The lamp comes on again."],
    ["OAP_WORN", [["overrun", "must", "it is worn inside"], ["belt", "must", "it was shaken with it"],
                  ["tensioner", "if_needed", "if its swing is large"]],
     ["alternator_bearing", "damper"], ["damper", "misfire"], "The noise comes again."],
    ["ALT_BRG", [["alternator", "must", "its bearing has failed"], ["belt", "must", "renewed while it is off"]],
     ["alternator_pulley", "tension", "in_line"], ["tension", "alternator_pulley", "alternator_wet", "in_line"],
     "The next alternator fails."],
    ["AC", [["compressor", "must", "as found"], ["belt", "if_needed", "if it is burnt"]],
     ["clutch_gap", "gas", "condenser", "brackets"], ["gas", "condenser", "tension", "relay"], "The belt is burnt again."],
    ["WP", [["pump", "must", "bearing or seal has failed"], ["belt", "must", "coolant has been on it"]],
     ["sweep", "idlers", "damper", "pressure"], ["tension", "damper", "coolant", "fan"], "The next pump fails."],
    ["PS", [["steering_pump", "must", "as found"], ["belt", "if_needed", "if it is wet"]],
     ["press_depth", "in_line", "hoses"], ["steering_fluid", "return_hose"], "The next pump fails."],
    ["TVD", [["damper", "must", "it has failed"], ["belt", "must", "it ran out of line"],
             ["tensioner", "if_needed", "on its own evidence"], ["overrun", "if_needed", "on its own evidence"]],
     ["crank_seal", "crank_key", "trigger_ring", "timing_cover", "stops"],
     ["oil_on_rubber", "crank_bolt", "alternator_pulley", "misfire", "tuning"],
     "The new damper fails; at worst the crankshaft is damaged."],
    ["CDEC", [["crank_decoupler", "must", "it is worn"], ["belt", "must", "it was shaken with it"],
              ["tensioner", "if_needed", "on its own evidence"]],
     ["alternator_pulley", "sweep", "mounts", "misfire"], ["use", "misfire", "alternator_pulley"], "It comes again."],
    ["MISAL", [["pulley", "must", "it stands out of line"], ["belt", "if_needed", "if its edge is worn"]],
     ["in_line_loaded"], ["press_depth", "wrong_part", "brackets", "end_float", "damper_ring"], "The chirp returns."],
    ["PUL_DMG", [["pulley", "must", "it cuts the belt"], ["belt", "must", "it has been cut"],
                 ["guard", "if_needed", "if it is missing or broken"]],
     ["grooves", "belt_back", "neighbour"], ["liner", "debris", "stood"], "The new belt is cut."],
    ["MISROUTE", [["belt", "if_needed", "if it ran so: its cord cannot be judged"]],
     ["seating", "flanges", "stops", "directions"], ["route_source", "damper_ring", "arm_tilt", "grooves"], "It walks off again."],
    ["BRACKET", [["bracket", "must", "it is loose or cracked"], ["belt", "if_needed", "if its edge is worn"]],
     ["threads", "in_line_loaded"], ["brackets", "damper", "alternator_pulley", "accident"], "It comes again."],
    ["MISFIRE", [], ["sweep", "alternator_pulley", "damper"], ["engine_repair", "mounts", "damper_ring"],
     "Parts are fitted for nothing."],
    ["OUTSIDE", [], ["passed"], ["elsewhere", "other_system"], "Belt parts are fitted for nothing."],
]

# What was seen, the causes and answers that show it, and what must then be answered as well.
CHAINS = [
    ["second_tensioner", "The second tensioner within about 40,000 km or 18 months", [], [],
     ["alternator_pulley", "damper", "misfire", "bolt_history"]],
    ["arm_broken", "The tensioner arm has broken", ["TN_BROKEN"], [],
     ["alternator_pulley", "damper", "misfire", "bolt_history", "timing_cover", "crank_seal"]],
    ["edge_frayed", "The belt's edge is frayed", [], [["C1", "frayed"]], ["seating", "damper", "arm_tilt", "in_line"]],
    ["wet", "The belt is wet", ["B_CONT"], [["C1", "wet"], ["C22", "wet"]], ["leak_cured"]],
    ["charging", "A charging complaint", ["OAP_FREE"], [["I3", "charging"]], ["alternator_last"]],
    ["new_alternator", "A new alternator was fitted", ["ALT_BRG"], [], ["pulley_kind", "in_line"]],
    ["crank_pulley", "Crank damper or decoupler was renewed", ["TVD", "CDEC"], [], ["crank_bolt", "trigger_ring", "crank_key"]],
    ["stretch_removed", "A stretch-fit belt was taken off", [], [], ["belt_listed"]],
    ["pump", "The coolant pump leaks or was renewed", ["WP"], [["C15", "weeps"]], ["belt_listed", "grooves_washed"]],
    ["thrown", "The belt came off while driving", [], [["I3", "thrown"]], ["engine_front", "directions", "restart"]],
    ["end_of_life", "A part of the loop is at its end of life", ["B_WORN"], [], ["ages"]],
]


def _row(rows, code):
    for row in rows:
        if row[0] == code:
            return row
    return None


def _known(cause_codes):
    """Rows of the causes named; a cause of a workshop's own table brings nothing from here."""
    return [row for row in [_row(CAUSES, code) for code in cause_codes] if row is not None]


def _looks(pairs, facts):
    """Looks as maps, each once, from [[look, why or cause, skipped], ...]; what the drive does not have is left out."""
    found = []
    for code, of, skipped in pairs:
        _, text, check, needs = _row(LOOKS, code)
        if cause_table.holds(needs, facts) == "no":
            continue
        old = [one for one in found if one["code"] == code]
        if not old:
            found.append({"code": code, "text": text, "check": check, "of": [of], "skipped": [skipped] if skipped else []})
            continue
        if of not in old[0]["of"]:
            old[0]["of"].append(of)
        if skipped and skipped not in old[0]["skipped"]:
            old[0]["skipped"].append(skipped)
    return found


def companions(cause_codes: list, facts: dict) -> dict:
    """Return what named causes bring with them on this drive.

    Parameters:  cause_codes: the causes that were found, the main one first · facts: of `findings.drive_facts`
    Returns:     {"replace": [{"code", "what", "need": "must" or "if_needed", "why": [texts]}], "inspect": [{"code",
                 "text", "check", "of": [cause codes]}]}; a look needs a written result, and the outcome of its
                 "check" is one
    Source:      common practice, no source
    """
    replace = []
    for part in parts(cause_codes, facts):
        if part["with"] == "":
            replace.append({"code": part["code"], "what": part["what"], "need": part["need"], "why": part["why"]})
    pairs = []
    for row in _known(cause_codes):
        pairs += [[look, row[0], ""] for look in row[2]]
    inspect = [{"code": one["code"], "text": one["text"], "check": one["check"], "of": one["of"]} for one in _looks(pairs, facts)]
    return {"replace": replace, "inspect": inspect}


def seen(cause_codes: list, facts: dict, answers: list) -> list:
    """Return the codes of what was seen that asks for more answers: from causes, answers and the kind of belt.

    "second_tensioner" and "new_alternator" beyond a named cause are added by the host when a person says so.

    Parameters:  cause_codes: the causes that were found · facts: of `findings.drive_facts` · answers: [[check id,
                 outcome or state], ...]
    Returns:     codes of `CHAINS`, in its order
    Source:      common practice, no source
    """
    out = []
    for code, _, causes, shown, _ in CHAINS:
        due = [cause for cause in causes if cause in cause_codes] or [pair for pair in shown if pair in answers]
        if code == "stretch_removed":
            # Any part of the loop comes out only without the belt.
            due = facts.get("tensioner") == "stretch_fit" and bool(parts(cause_codes, facts))
        if due:
            out.append(code)
    return out


def upstream(cause_codes: list, facts: dict, seen_codes: list = ()) -> list:
    """Return what may have caused the causes: each needs an outcome, or a named person who accepts the gap.

    Parameters:  cause_codes: the causes that were found · facts: of `findings.drive_facts` · seen_codes: of `seen`
    Returns:     [{"code", "text", "check", "of": [cause codes, and texts of what was seen], "skipped": [what happens]}]
    Source:      common practice, no source
    """
    pairs = []
    for row in _known(cause_codes):
        pairs += [[look, row[0], row[4]] for look in row[3]]
    for code, text, _, _, looks in CHAINS:
        if code in seen_codes:
            pairs += [[look, text, ""] for look in looks]
    return _looks(pairs, facts)


def parts(cause_codes: list, facts: dict, also: list = ()) -> list:
    """Return the pick list for named causes on this drive, forgotten small things included.

    Parameters:  cause_codes: the causes that were found · facts: of `findings.drive_facts` · also: parts asked for apart
                 from any cause, [[code, "must" or "if_needed", why], ...]
    Returns:     [{"code", "what", "how_many", "need": "must" or "if_needed", "single_use", "why": [texts], "true": what must
                 be true of it, "with": code of the part it comes along with, ""}]; parts that must be there come first
    Source:      common practice, no source
    """
    found = []
    for row in _known(cause_codes):
        for code, need, why in row[1]:
            _add(found, facts, code, need, why, "")
    for code, need, why in also:
        _add(found, facts, code, need, why, "")
    if found and facts.get("tensioner") == "stretch_fit":
        _add(found, facts, "belt", "must", "a stretch-fit belt is cut off and never used again", "")
    for code, along, need, why in ALONG:
        for other in along:
            old = [part for part in found if part["code"] == other]
            if old:
                # What comes along is no surer than the part it comes with.
                _add(found, facts, code, need if old[0]["need"] == "must" else "if_needed", why, other)
    return [part for part in found if part["need"] == "must"] + [part for part in found if part["need"] != "must"]


def _add(found, facts, code, need, why, along):
    _, what, count, single, true, needs = _row(PARTS, code)
    fits = cause_table.holds(needs, facts)
    if fits == "no":
        return
    if fits == "unknown":
        need = "if_needed"
    for part in found:
        if part["code"] == code:
            if need == "must":
                part["need"] = "must"
            if along == "":
                part["with"] = ""
            if why not in part["why"]:
                part["why"].append(why)
            return
    part = {"code": code, "what": what, "how_many": count, "need": need, "single_use": single, "why": [why], "true": true,
            "with": along}
    _suit(part, facts)
    found.append(part)


def _suit(part, facts):
    """Make a part's words fit this drive."""
    code = part["code"]
    if code == "belt" and facts.get("belt") == "vbelt_pair":
        part["how_many"] = "2, from one batch"
    if code == "belt" and facts.get("ribs"):
        part["true"] = str(facts["ribs"]) + " ribs. " + part["true"]
    if code == "belt" and facts.get("tensioner") in ("stretch_fit", "two_arm"):
        part["true"] += " The exact part only, no neighbouring length."
    if code == "overrun" and facts.get("alternator_pulley") == "one_way":
        part["true"] = "A one-way clutch, as the car needs: no solid one, no spring decoupler."
    if code == "overrun" and facts.get("alternator_pulley") == "decoupler":
        part["true"] = "A spring decoupler, as the car needs: no solid one, no one-way clutch."
    if code == "locking_pin" and facts.get("tensioner") == "two_arm":
        part["how_many"] = "2"
