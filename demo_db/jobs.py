"""The invented workshop: its people, its cars, and what was done to each.

Nobody and nothing here exists. Every value is invented; frequencies follow from an invented tension by the core's
own span formula, so that a reading and its verdict fit together.
"""

from pathlib import Path

from webapp.core import belts, span
from webapp.core.numbers import fixed

from . import photos

SHOP = {"name": "Millrace Garage", "address": "3 Weir Lane, Upper Harrow Ford"}

# (id, name, roles, PIN)
PEOPLE = [
    ("mara", "Mara Tiller", ["technician"], "4071"),
    ("joost", "Joost Pellam", ["technician"], "5182"),
    ("sunna", "Sunna Okre", ["parts"], "6293"),
    ("edda", "Edda Lindfors", ["technician", "supervisor"], "7304"),
    ("ruben", "Ruben Halloway", ["supervisor"], "8415"),
]

# The file that a phone takes in on a job.
DRIVE_FILE = Path(__file__).parent / "estate_drive.json"

GATE = ["keys", "start_stop", "fan", "cold", "clothing"]


def mm(text):
    return {"value": text, "unit": "mm"}


def newton(text):
    return {"value": text, "unit": "N"}


def km(text):
    return {"value": text, "unit": "km"}


def loop(number, name, belt, ribs, tensioner, marks="unknown", pin_hole="unknown"):
    return {"loop": number, "name": name, "belt": belt, "ribs": ribs, "tensioner": tensioner, "marks": marks,
            "pin_hole": pin_hole}


def booked(registration, car, complaint, distance, vin=None, engine=None, service=False):
    return {"registration": registration, "vin": vin, "car": car, "engine": engine, "distance": distance,
            "complaint": complaint, "service": service}


def facts(loops, voltage="12", start_stop="none", alternator="one_way", crank="damper", compressor="clutch",
          steering="electric", pump="this_belt", access="liner"):
    return {"loops": loops, "voltage": voltage, "start_stop": start_stop, "alternator_pulley": alternator,
            "crank_pulley": crank, "compressor": compressor, "steering": steering, "water_pump": pump, "access": access}


def gate(voltage="12", start_stop="none", authorised=None):
    return {"voltage": voltage, "start_stop": start_stop, "confirmed": GATE, "authorised": authorised}


def belt(place, marking, section, ribs, length, kind="effective", wear=("none_seen",), counted=None, width=None,
         taped=None, constant=None, note=None, batch=None, stretch=False):
    return {"place": place, "marking": marking, "section": section, "ribs": ribs, "length": mm(length),
            "length_kind": kind, "double_sided": False, "stretch": stretch, "ribs_counted": counted,
            "width": width and mm(width), "taped": taped and mm(taped), "tape_constant": constant and mm(constant),
            "wear": list(wear), "wear_note": note, "batch": batch}


def target(low, high, source, state="new"):
    return {"kind": "maker", "low": newton(low), "high": newton(high), "source": source, "belt_state": state}


def pluck(name, length_mm, section, ribs, tension_n, belt_length, temperature="cold", tool="Clip-on frequency meter"):
    """The form of four readings around the frequency that the invented tension gives on a string."""
    kg_per_m = belts.mass_per_m(section, ribs)["kg_per_m"]
    hz = span.frequency_from_tension(tension_n, float(length_mm) / 1000, kg_per_m)
    readings = [["reading", fixed(hz * factor, 1)] for factor in (0.994, 1.003, 1.008, 0.998)]
    return [["span", name], ["length", length_mm], ["length_unit", "mm"], ["section", section], ["ribs", str(ribs)],
            ["belt_length", belt_length], ["belt_length_unit", "mm"], ["engine_temperature", temperature],
            ["tool", tool]] + readings


def by_tape(job, who, name, engine, ribs, length, pulleys, tensioner, sense="clockwise"):
    """Fill in the pages of a drive by tape measure.

    Parameters:  pulleys: [(kind, name, face, diameter, across, up), ...] in belt order, the crankshaft first ·
                 tensioner: (kind, its pulley or "", pivot's across, pivot's up)
    """
    job.post(who, "/1/drive/about", [["name", name], ["engine", engine], ["shared", "yes"], ["rotation", sense],
                                     ["alternator_pulley", "solid"], ["crank_pulley", "damper"], ["good_to", "3"],
                                     ["good_to_unit", "mm"]])
    for i, (kind, called, face, diameter, across, up) in enumerate(pulleys):
        form = [["kind", kind], ["name", called], ["face", face], ["diameter", diameter], ["diameter_unit", "mm"]]
        if kind != "crank":
            form += placed("place", across, up)
        job.post(who, "/1/drive/pulleys/" + ("0" if i == 0 else "new"), form)
    job.post(who, "/1/drive/belt", [["section", "PK"], ["ribs", ribs], ["length", length], ["length_unit", "mm"]])
    kind, moved, across, up = tensioner
    job.post(who, "/1/drive/tensioner", [["kind", kind], ["pulley", moved]] + (placed("pivot", across, up) if moved else []))


def placed(name, across, up):
    return [[name + "_way", "across_up"], [name + "_across", across], [name + "_across_unit", "mm"], [name + "_up", up],
            [name + "_up_unit", "mm"]]


def straightedge(span, gap_mm, over_mm):
    """The form of an offset, held against the third limit for ribbed belts."""
    return [["way", "straightedge"], ["span", span], ["gap", gap_mm], ["gap_unit", "mm"], ["over", over_mm], ["over_unit", "mm"],
            ["limit", "2"], ["tool", "Straightedge and feeler gauge"]]


def done(step, text):
    return "step_recorded", {"step": step, "text": text}


def skipped(step, reason):
    return "step_skipped", {"step": step, "reason": reason}


def note(text, handover=False):
    return "note_added", {"text": text, "handover": handover}


def squeal(job):
    """Done and signed; then a phone that had been without signal brought one more photo."""
    job.book("ruben", booked("BAY 101", "Kestor 3.5 pick-up", "Squeals for a minute on a cold wet start, then gone. “Like a "
                             "kettle.”", km("148200"), "4SPDEM354T1W00101", "V6 3.5"))
    job.tag("ruben")
    job.add("mara", "facts_recorded", facts([loop("1", "Main belt", "ribbed", 6, "automatic", "limits", "yes")]))
    job.checks("mara", [("kind-of-noise", "squeal"), ("when-it-is-worst", "cold"), ("what-else-was-noticed", "nothing"),
                        ("recent-work-on-the-drive", "no"), ("water-mist-on-the-ribs", "fades")])
    job.add("mara", "gate_passed", gate())
    job.checks("mara", [("belt-ribs-by-eye", "polished"), ("rib-wear-gauge", "fail"), ("tensioner-pointer-engine-off", "long_end"),
                        ("alternator-pulley-by-hand", "good"), ("crank-damper-rubber-by-eye", "sound")])
    job.cause("mara", ["B_WORN"], "Ribs worn to a U and pointer at the end of its travel; alternator pulley and damper are sound.",
              leak=("found", "Old oil mist above the crank, dry now. Wiped off to look again."))
    pointer = {"check": "C7", "what": "Tensioner pointer, engine off"}
    job.photo("mara", photos.pointer(16, 57), "check", note="Past its last mark", stage="before", **pointer)
    job.photo("mara", photos.drive_route(11), "route", note="Before the belt came off", stage="before")
    job.post("mara", "/1/drive/copy", [["saved", job.saved_drive("pickup")]])
    job.add("mara", *done("drive", "As copied: held against the belt before it came off. Arrow painted."), loop="1")
    job.add("mara", "target_set", target("300", "560", "Vehicle maker's workshop manual, accessory drive"), loop="1")
    job.post("mara", "/1/tension/pluck", pluck("coolant pump to tensioner", "285", "PK", 6, 226, "2105"))
    job.post("mara", "/1/aligned", straightedge("compressor to idler", "1.9", "240"))
    job.add("mara", "belt_recorded", belt("old", "6PK2105", "PK", 6, "2105", wear=["rib_worn", "rib_cracks", "glazed"],
                                          counted=6, width="21.1", taped="2092", constant="14"), loop="1")
    job.photo("mara", photos.belt_ribs(12, 6, 24, 0.25, "6PK2105"), "old_belt", loop="1")
    job.add("mara", "belt_recorded", belt("new", "6PK2100", "PK", 6, "2100", counted=6, width="21.3", batch="W07"), loop="1")
    job.photo("mara", photos.belt_ribs(13, 6, 0, 0.1, "6PK2100"), "new_belt", loop="1")
    job.add("mara", "difference_accepted", {"reason": "The maker's parts list replaces 2105 by 2100; checked by the pointer after "
                                                      "fitting."}, loop="1")
    job.add("sunna", *done("parts", "Belt 6PK2100 and idler, both compared with the old ones on the bench."), loop="1")
    job.fit("mara", ["tang"], ("Idler bolt", "43", "", "Vehicle maker's workshop manual, accessory drive; wrench 2"))
    job.photo("mara", photos.pointer(14, 4), "check", note="After two turns by hand", stage="after", **pointer)
    job.photo("mara", photos.drive_route(17), "route", note="New belt on", stage="after")
    job.hear("mara", pluck("coolant pump to tensioner", "285", "PK", 6, 415, "2100", tool="Phone's microphone"))
    job.post("mara", "/1/aligned", straightedge("compressor to idler", "0", "240"))
    job.prove("mara")
    job.watch("mara", "Look at belt and pointer", "watch", 365, "163200", "New belt; the pointer tells wear first.")
    job.add("mara", "ready_for_signature", {"note": None})
    job.sign("ruben", "Worn belt and idler renewed, tension measured and right; please let us look at it at the next service.")
    job.photo("mara", photos.belt_ribs(15, 6, 31, 0.2), "old_belt", loop="1", note="Second side, from the phone in bay 2")


def lamp(job):
    """Ready for the supervisor."""
    job.book("edda", booked("BAY 202", "Palindra 2.4 saloon", "Charging lamp flickers, rattle when switching off.", km("96450"),
                            "1SPDEM246S2W00202", "L4 2.4"))
    job.tag("edda")
    job.add("joost", "facts_recorded", facts([loop("1", "Main belt", "ribbed", 7, "automatic", "new_replace", "yes")],
                                             start_stop="asleep"))
    job.checks("joost", [("kind-of-noise", "rattle"), ("when-it-is-worst", "shut_down"), ("what-else-was-noticed", "charging"),
                         ("tensioner-arm-at-idle", "swings")])
    job.add("joost", "gate_passed", gate(start_stop="asleep"))
    job.checks("joost", [("alternator-pulley-by-hand", "locked"), ("tensioner-arm-sweep", "sound"),
                         ("crank-damper-paint-mark", "straight")])
    job.cause("joost", ["OAP_LOCK"], "Drives both ways with the rotor held. Arm swings wide because of it, and is itself smooth.",
              misfire=("accepted", "Reader is on loan until Thursday; idle feels smooth. Edda agrees."))
    job.photo("joost", photos.drive_route(21), "route")
    job.post("joost", "/1/drive/copy", [["saved", job.saved_drive("saloon")]])
    job.add("joost", "belt_recorded", belt("old", "7PK1835", "PK", 7, "1835", wear=["glazed"], counted=7, width="24.7"), loop="1")
    job.photo("joost", photos.belt_ribs(22, 7, 3, 0.9, "7PK1835"), "old_belt", loop="1")
    job.add("joost", "belt_recorded", belt("new", "7PK1835", "PK", 7, "1835", counted=7, width="24.9", batch="K22"), loop="1")
    job.photo("joost", photos.belt_ribs(23, 7, 0, 0.1, "7PK1835"), "new_belt", loop="1")
    job.add("edda", "customer_asked", {"what": "Alternator pulley, cap and belt", "answer": "accepted", "by": "Owner, by telephone"})
    job.add("edda", "customer_asked", {"what": "Tensioner, renewed with them", "answer": "declined", "by": "Owner, by telephone"})
    job.add("sunna", *done("parts", "Alternator pulley with clutch, cap, belt. Customer accepted all three by telephone."), loop="1")
    job.fit("joost", ["tang", "new_bolts"], ("Alternator pulley", "80", "", "Maker's data sheet for this engine; wrench 1"))
    job.photo("joost", photos.pointer(24, -12), "pointer", loop="1")
    job.add("joost", "target_set", target("350", "680", "Vehicle maker's data sheet for this engine"), loop="1")
    job.post("joost", "/1/tension/pluck", pluck("coolant pump to tensioner", "206", "PK", 7, 478, "1835"))
    job.post("joost", "/1/aligned", straightedge("alternator to coolant pump", "0.8", "206"))
    job.prove("joost", "No codes")
    job.watch("joost", "Arm swing at idle", "soon", 30, "", "A locked pulley had worked the arm hard for months.")
    job.add("joost", "ready_for_signature", {"note": "Old pulley kept in the tray on the bench."})


def manual(job):
    """A manual tensioner, belt on, waiting for its tension."""
    job.book("ruben", booked("BAY 303", "Wrenfield 1.4", "Belt was changed elsewhere last month, squeals since.", km("71020"),
                             None, "L4 1.4"))
    job.tag("ruben")
    job.add("mara", "facts_recorded", facts([loop("1", "Main belt", "ribbed", 5, "eccentric")], alternator="solid",
                                            compressor="none", access="above"))
    job.checks("mara", [("kind-of-noise", "squeal"), ("when-it-is-worst", "load"), ("recent-work-on-the-drive", "yes")])
    job.add("mara", "gate_passed", gate())
    job.checks("mara", [("belt-ribs-by-eye", "polished"), ("pulleys-in-line", "unclear")])
    job.post("mara", "/cause/name", [["cause", "T_LOW"], ["reason", "Belt can be turned well past a quarter turn on its longest "
                                                          "span: never tensioned."]])
    job.photo("mara", photos.drive_route(31), "route")
    by_tape(job, "mara", "Small car 1.4, eccentric roller", "L4 1.4", "5", "1130",
            [("crank", "crank", "ribs", "140", "", ""), ("idler", "roller", "back", "75", "174", "88"),
             ("alternator", "alternator", "ribs", "58", "224", "224"), ("water_pump", "coolant pump", "ribs", "125", "0", "244")],
            ("eccentric", "roller", "161", "81"))
    job.add("mara", "belt_recorded", belt("old", "5PK1130", "PK", 5, "1130", wear=["glazed"], counted=5, width="17.6"), loop="1")
    job.photo("mara", photos.belt_ribs(32, 5, 0, 0.95, "5PK1130"), "old_belt", loop="1")
    job.add("mara", "belt_recorded", belt("new", "5PK1130", "PK", 5, "1130", counted=5, width="17.8"), loop="1")
    job.photo("mara", photos.belt_ribs(33, 5, 0, 0.1, "5PK1130"), "new_belt", loop="1")
    job.add("sunna", *done("parts", "Belt 5PK1130 from stock."), loop="1")
    job.add("mara", *done("fitted", "Belt on, roller nipped up by hand only."), loop="1")
    job.add("mara", "target_set", target("600", "850", "Vehicle maker's workshop manual, new belt"), loop="1")
    job.add("mara", *note("Roller turns anticlockwise to tighten. Longest span is free from above.", handover=True))


def two_belts(job):
    """Two belts, one complains; the new one for the compressor has another length and waits for a decision."""
    job.book("edda", booked("BAY 404", "Ossaly 1.6 van", "Air conditioning belt came off on the motorway.", km("203900"),
                            "XSPDEM16V9W000404", "L4 1.6 diesel"))
    job.tag("edda")
    job.add("joost", "facts_recorded", facts([loop("1", "Alternator belt", "vbelt", None, "slotted"),
                                              loop("2", "Compressor belt", "ribbed", 4, "lead_screw")],
                                             alternator="solid", crank="solid", steering="hydraulic", pump="timing"))
    job.post("joost", "/cause/belt", [["belt", "2"]])
    job.checks("joost", [("kind-of-noise", "none"), ("what-else-was-noticed", "thrown")])
    job.add("joost", "gate_passed", gate())
    job.checks("joost", [("belt-ribs-by-eye", "frayed"), ("belt-tension", "low"), ("compressor-pulley-and-hub", "smooth")])
    job.cause("joost", ["T_LOW", "B_WORN"], "Lead screw was loose, belt ran slack and climbed. Compressor turns freely and its clutch is quiet.",
              pivot_bolts=("found", "Lock nut of the lead screw was finger tight."))
    job.photo("joost", photos.drive_route(41), "route")
    for one in ("1", "2"):
        job.add("joost", *done("drive", "Two pulleys and the adjuster; drawn on the card's back."), loop=one)
    job.add("joost", "belt_recorded", belt("old", "AV10x925", "AV10", None, "925", "outside", wear=["rib_cracks", "back_worn"]), loop="1")
    job.photo("joost", photos.belt_ribs(42, 2, 12, 0.3, "AV10x925"), "old_belt", loop="1")
    job.add("joost", "belt_recorded", belt("old", "4PK855", "PK", 4, "855", wear=["edge_frayed", "cord_out"], counted=4,
                                           width="14.1"), loop="2")
    job.photo("joost", photos.belt_ribs(43, 4, 18, 0.4, "4PK855"), "old_belt", loop="2")
    job.add("sunna", "belt_recorded", belt("new", "4PK870", "PK", 4, "870", counted=4, width="14.2"), loop="2")
    job.photo("sunna", photos.belt_ribs(44, 4, 0, 0.1, "4PK870"), "new_belt", loop="2", note="What the supplier sent")
    job.add("sunna", *note("Supplier has no 855. 870 is in the hand, please decide."))


def parts(job):
    """Waiting for the parts runner; one entry was corrected."""
    job.book("ruben", booked("BAY 505", "Aldermoor 2.0 estate", "Chirps at idle when warm.", {"value": "58300", "unit": "mi"},
                             "XSPDEM20K7W000505", "L4 2.0"))
    job.tag("ruben")
    job.add("edda", "facts_recorded", facts([loop("1", "Main belt", "ribbed", 6, "hydraulic", "none", "yes")],
                                            alternator="decoupler", access="mount"))
    job.add("edda", *done("cause", "Idler rumbles when spun by hand, belt runs a millimetre out towards it."))
    job.add("edda", "gate_passed", gate())
    job.photo("edda", photos.drive_route(51), "route")
    job.post("edda", "/1/drive/file", [["text", DRIVE_FILE.read_text(encoding="utf-8")], ["shared", "yes"]])
    job.add("edda", *done("drive", "Idler is the second pulley after the crank."), loop="1")
    wrong = job.add("edda", "belt_recorded", belt("old", "6PK1690", "PK", 6, "1690", counted=6), loop="1")
    job.add("edda", "belt_recorded", belt("old", "6PK1660", "PK", 6, "1660", wear=["edge_frayed"], counted=6, width="21.3",
                                          taped="1645", constant="14", note="Second digit was hard to read."),
            loop="1", replaces=wrong)
    job.photo("edda", photos.belt_ribs(52, 6, 5, 0.5, "6PK1660"), "old_belt", loop="1")
    job.add("sunna", "belt_recorded", belt("new", "6PK1660", "PK", 6, "1660", counted=6, batch="M31"), loop="1")
    job.photo("sunna", photos.belt_ribs(53, 6, 0, 0.1, "6PK1660"), "new_belt", loop="1")
    job.add("edda", "cause_named", {"causes": ["ID_BRG"], "names": ["Idler bearing"], "shown": {},
                                    "reason": "Rumbles when spun by hand; belt pulled out of line towards it."})
    job.add("edda", "customer_asked", {"what": "Idler and belt", "answer": "accepted", "by": "Owner, by telephone"})
    job.add("edda", "part_listed", {"part": "own-1", "what": "Engine mount bolts", "how_many": "3", "need": "must", "number": None,
                                    "why": "single use, and the mount comes off"}, loop="1")
    job.post("sunna", "/1/parts/belt", [["state", "picked"], ["hand", "6PK1660"], ["number", "VR-6-1660"]])
    job.post("sunna", "/1/parts/own-1", [["state", "picked"], ["hand", "M10 x 55"]])
    job.post("sunna", "/1/parts/own-1", [["state", "returned"], ["note", "Thread is M10, these need M12."]])
    job.post("sunna", "/1/parts/idler", [["state", "ordered"], ["number", "ID-70-26"], ["note", "With the afternoon delivery."]])
    job.add("edda", *note("Engine mount bolts are single use: order with the idler.", handover=True))


def stopped(job):
    """The safety questions stopped the work."""
    job.book("edda", booked("BAY 606", "Quillan 2.0 hybrid", "Belt noise when the engine restarts by itself.", km("33800"),
                            "XSPDEM48T3W000606", "L4 2.0, 48 V"))
    job.tag("edda")
    job.add("joost", "facts_recorded", facts([loop("1", "Starter-generator belt", "ribbed", 6, "two_arm", "limits", "no")],
                                             voltage="48", start_stop="awake", alternator="starter_generator",
                                             crank="decoupler", compressor="clutchless", pump="electric"))
    job.add("joost", "gate_stopped", {"reason": "48 V starter-generator: nobody here today is trained to make it safe."})


def fresh(job):
    """Just booked in; the first tag got wet and was printed again."""
    job.book("ruben", booked("BAY 707", "Brackwater 1.2", "“It whistles.” Only with the heated rear window on, says the owner.",
                             km("44100")))
    job.tag("ruben")
    job.void("ruben", "Card fell into the parts washer")
    job.tag("ruben")


def service(job):
    """A belt changed at its service, signed."""
    job.book("edda", booked("BAY 808", "Ondrel 1.8", "Service, belt is due.", km("119700"), "3SPDEM182R3W00808", "L4 1.8",
                            service=True))
    job.tag("edda")
    job.add("mara", "facts_recorded", facts([loop("1", "Main belt", "stretch", 4, "stretch_fit")], alternator="solid",
                                            compressor="none", pump="timing", access="above"))
    job.add("mara", "gate_passed", gate())
    job.photo("mara", photos.drive_route(81), "route")
    by_tape(job, "mara", "Family car 1.8, stretch-fit", "L4 1.8", "4", "668",
            [("crank", "crank", "ribs", "140", "", ""), ("alternator", "alternator", "ribs", "58", "170", "60")],
            ("stretch_fit", "", "", ""))
    job.add("mara", "belt_recorded", belt("old", "4PK668", "PK", 4, "668", wear=["rib_cracks"], counted=4, stretch=True), loop="1")
    job.photo("mara", photos.belt_ribs(82, 4, 14, 0.2, "4PK668"), "old_belt", loop="1")
    job.add("mara", "belt_recorded", belt("new", "4PK668", "PK", 4, "668", counted=4, stretch=True, batch="S05"), loop="1")
    job.photo("mara", photos.belt_ribs(83, 4, 0, 0.1, "4PK668"), "new_belt", loop="1")
    job.add("sunna", *done("parts", "Belt with its fitting guide."), loop="1")
    job.add("mara", *done("fitted", "Old belt cut off. New one on with its guide, turned by hand, every rib seated."), loop="1")
    job.add("mara", *skipped("tension", "Stretch-fit: nothing to set, and the maker gives no figure."), loop="1")
    job.add("mara", *skipped("aligned", "Nothing was disturbed."), loop="1")
    job.add("mara", *done("proved", "Quiet at idle and at 2,000 a minute."))
    job.watch("mara", "Look at the ribs with a wear gauge", "watch", 1, "120700", "Stretch-fit: nothing takes up what it wears.")
    job.add("mara", "ready_for_signature", {"note": None})
    job.sign("edda", "Belt renewed at its service interval; first look after 1,000 km.")


def offered(job):
    """Offered to the customer, who has not answered; the same car as in `service`, with another plate by now."""
    job.book("edda", booked("BAY 909", "Ondrel 1.8", "Chirps since last week, louder after rain.", km("120900"), "3SPDEM182R3W00808", "L4 1.8"))
    job.tag("edda")
    job.add("mara", "facts_recorded", facts([loop("1", "Main belt", "stretch", 4, "stretch_fit")], alternator="solid",
                                            compressor="none", pump="timing", access="above"))
    job.checks("mara", [("kind-of-noise", "chirp"), ("when-it-is-worst", "cold"), ("recent-work-on-the-drive", "yes")])
    job.add("mara", "gate_passed", gate())
    job.checks("mara", [("belt-ribs-by-eye", "wet"), ("leak-above-the-belt", "leak")])
    job.cause("mara", ["B_CONT"], "Coolant drips from a hose above onto the ribs; they are swollen and soft.",
              leak=("found", "Hose at the heater pipe is cracked."))
    job.photo("mara", photos.belt_ribs(91, 4, 3, 0.7, "4PK668"), "ribs", loop="1", note="Wet all along one side")
    job.add("edda", "customer_asked", {"what": "Heater hose, then a new belt on clean grooves", "answer": "offered",
                                       "by": "Owner, message left"})


JOBS = [squeal, lamp, manual, two_belts, parts, stopped, fresh, service, offered]
