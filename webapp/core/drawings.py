"""Which small drawing stands beside which fact of a drive and which line of its work, where words are slow.

The names are those of static/icons/drawings.svg. Causes, checks and their answers name theirs in the table of causes.
"""

# Fact of the drive: code of its answer, name.
_FACTS = {
    "belt": {"ribbed": "belt-ribbed", "double_ribbed": "belt-both-sides", "vbelt": "belt-v", "vbelt_pair": "belt-v-pair",
             "stretch": "belt-stretch"},
    "tensioner": {"automatic": "tensioner-automatic", "automatic_set": "tensioner-set-once", "hydraulic": "tensioner-strut",
                  "eccentric": "tensioner-eccentric", "slotted": "tensioner-slot", "lead_screw": "tensioner-screw",
                  "stretch_fit": "tensioner-none-stretch", "fixed": "tensioner-none-fixed", "two_arm": "tensioner-two-arms"},
    "alternator_pulley": {"solid": "pulley-solid", "one_way": "pulley-one-way", "decoupler": "pulley-spring",
                          "starter_generator": "pulley-generator"},
    "crank_pulley": {"solid": "crank-solid", "damper": "damper-sound", "decoupler": "crank-decoupler", "viscous": "crank-viscous"},
}
# Line of `fitting.LINES`: name. "seat" stands for every pulley's line.
_WORK = {
    "clean": "brush-grooves", "tang": "tang-in-hole", "arm_back": "bar-turns-arm", "pin_in": "pin-in", "belt_on": "no-lever",
    "pin_out": "pin-out", "pointer": "pointer-inside", "set_window": "tensioner-set-once", "strut_in": "strut-pressed",
    "loose_eccentric": "tensioner-eccentric", "lock_eccentric": "nut-held", "loose_slot": "slot-free", "belt_on_free": "no-lever",
    "set_slot": "tensioner-slot", "set_screw": "screw-turned", "lock_slot": "slot-first", "measure_again": "press-span",
    "one_set": "belt-v-pair", "cut_off": "cut-belt", "guide_on": "guide-on-rim", "fixed_on": "no-lever", "arms_in": "pin-arms",
    "arms_out": "pin-out", "seat": "seat-right", "seats": "seat-right", "turned": "two-turns",
}


def of_fact(name: str, code: str) -> str:
    """Return the drawing beside an answer on the drive, "" for none.

    Parameters:  name: of the question, "belt" for the kind of belt · code: of the answer
    """
    return _FACTS.get(name, {}).get(code, "")


def of_work(item: str) -> str:
    """Return the drawing beside a line of the order of work, "" for none.

    Parameters:  item: code of the line; the line of one pulley begins with "seat:"
    """
    return _WORK.get(item.split(":")[0], "")


def names() -> list:
    """Return every name used here, each once, in order."""
    found = list(_WORK.values())
    for name in _FACTS:
        found += list(_FACTS[name].values())
    return sorted(set(found))
