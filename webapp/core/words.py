"""Words for people: the choices a form offers, and the sentence for each error code.

The only place where codes become language, so that another language is one more set of tables.
Lists of pairs, because dicts do not keep their order on the phone.
"""

CHOICES = {
    "belt_kind": [["ribbed", "Multi-ribbed"], ["double_ribbed", "Double-sided ribbed"], ["vbelt", "V-belt"],
                  ["vbelt_pair", "Matched V-belt pair"], ["stretch", "Stretch-fit ribbed"], ["unknown", "Not known yet"]],
    # The one list of tensioner kinds for the whole project.
    "tensioner": [["automatic", "Automatic, spring arm"], ["automatic_set", "Automatic, set once"],
                  ["hydraulic", "Hydraulic strut"], ["eccentric", "Manual eccentric roller"],
                  ["slotted", "Slotted bracket"], ["lead_screw", "Lead screw"], ["stretch_fit", "None: stretch-fit"],
                  ["fixed", "None: fixed centres"], ["two_arm", "Two-arm, starter-generator"],
                  ["unknown", "Not known yet"]],
    "marks": [["limits", "Travel limits only"], ["new_replace", "New-belt and replace marks"], ["none", "No marks"],
              ["unknown", "Not known yet"]],
    "pin_hole": [["yes", "Yes"], ["no", "No"], ["unknown", "Not known yet"]],
    "alternator_pulley": [["solid", "Solid"], ["one_way", "One-way clutch"], ["decoupler", "Spring decoupler"],
                          ["starter_generator", "Starter-generator"], ["unknown", "Not known yet"]],
    "crank_pulley": [["solid", "Solid"], ["damper", "Rubber damper"], ["decoupler", "Damper with decoupler"],
                     ["viscous", "Viscous damper"], ["unknown", "Not known yet"]],
    "compressor": [["clutch", "With clutch"], ["clutchless", "Clutchless, variable"], ["electric", "Electric, no belt"],
                   ["none", "No air conditioning"], ["unknown", "Not known yet"]],
    "steering": [["hydraulic", "Hydraulic, belt-driven"], ["electric", "Electric"], ["unknown", "Not known yet"]],
    "water_pump": [["this_belt", "On this belt"], ["timing", "On the timing drive"], ["electric", "Electric"],
                   ["unknown", "Not known yet"]],
    "voltage": [["12", "12 V"], ["24", "24 V"], ["48", "48 V starter-generator"], ["high", "High-voltage hybrid"],
                ["unknown", "Not known yet"]],
    "start_stop": [["none", "No start-stop"], ["asleep", "Start-stop, system asleep"],
                   ["awake", "Start-stop, still awake"], ["unknown", "Not known yet"]],
    "access": [["above", "From above"], ["liner", "Wheel-arch liner off"], ["mount", "Engine mount off"],
               ["front", "Front end in service position"], ["unknown", "Not known yet"]],
    "gate": [["keys", "Key or card is out and well away from the car"],
             ["start_stop", "Start-stop and remote start cannot start the engine"],
             ["fan", "Electric fan cannot catch me: isolated as the maker says, or I keep clear"],
             ["cold", "Hot parts have cooled; no hot cooling system will be opened"],
             ["clothing", "Glasses on; rings, chains, loose sleeves and hair out of the way"]],
    "belt_place": [["old", "Old belt"], ["new", "New belt"]],
    "length_kind": [["effective", "effective length"], ["datum", "datum length"], ["inside", "inside length"],
                    ["outside", "outside length"]],
    "wear": [["none_seen", "No wear seen"], ["rib_cracks", "Cracks across the ribs"], ["chunks", "Pieces of rib missing"],
             ["rib_worn", "Ribs worn to a U shape"], ["glazed", "Shiny, hard ribs"], ["edge_frayed", "Edge frayed"],
             ["cord_out", "Cord showing or hanging out"], ["long_cracks", "Cracks along the belt"],
             ["oil", "Oil or coolant on the belt"], ["back_worn", "Back worn or polished"],
             ["grit", "Grit or stones in the ribs"], ["twisted", "Turned over or twisted"]],
    "target_kind": [["maker", "Vehicle maker's data"], ["guideline", "Guideline per rib"]],
    "belt_state": [["new", "New belt"], ["used", "Used belt, run in"]],
    "method": [["pluck", "Pluck: frequency"], ["press", "Press: force and deflection"]],
    "engine_temperature": [["cold", "Cold"], ["hot", "Hot"]],
    "photo_subject": [["old_belt", "Old belt"], ["new_belt", "New belt"], ["route", "Belt route"],
                      ["pointer", "Tensioner pointer"], ["seating", "Ribs seated"], ["plate", "Number plate or VIN"],
                      ["other", "Something else"]],
    "waiting_for": [["technician", "Technician"], ["parts", "Parts"], ["supervisor", "Supervisor"],
                    ["customer", "Customer"], ["nobody", "Nobody"]],
    "kind": [["booked_in", "Booked in"], ["facts_recorded", "Drive described"], ["tag_issued", "Tag made"],
             ["tag_voided", "Tag voided"], ["gate_passed", "Safety questions answered"],
             ["gate_stopped", "Stopped for safety"], ["check_answered", "Check answered"], ["cause_named", "Cause named"],
             ["look_recorded", "Looked at"], ["customer_asked", "Customer asked"], ["part_listed", "Part listed"],
             ["part_moved", "Part moved"], ["work_done", "Work done"], ["offset_read", "Offset read"],
             ["run_checked", "Running check"], ["check_due", "Next check agreed"],
             ["drive_recorded", "Drive recorded"], ["belt_recorded", "Belt recorded"],
             ["difference_accepted", "Difference accepted"], ["target_set", "Target set"], ["span_read", "Span read"],
             ["step_recorded", "Step recorded"], ["step_skipped", "Step not applicable"], ["photo_taken", "Photo taken"],
             ["note_added", "Note"], ["ready_for_signature", "Ready for signature"], ["signed_off", "Signed off"],
             ["withdrawn", "Taken back"]],
    "role": [["technician", "Technician"], ["parts", "Parts runner"], ["supervisor", "Supervisor"]],
    "looked_at": [["cause", "Cause, and what was ruled out"], ["belts", "Old and new belt side by side"],
                  ["seating", "Ribs seated on every pulley"], ["tension", "Tension reading or tensioner pointer"],
                  ["torque", "Torque values and their source"], ["covers", "Pin, bar and tools out, covers back on"]],
    "compare": [["same", "Same"], ["differs", "Differs"], ["do_not_fit", "Do not fit"], ["cannot_tell", "Cannot tell"]],
    "verdict": [["inside", "Inside the window"], ["low", "Too low"], ["high", "Too high"], ["cannot_tell", "Cannot tell"]],
    # The drive.
    "pulley_kind": [["crank", "Crankshaft"], ["alternator", "Alternator"], ["water_pump", "Coolant pump"],
                    ["steering_pump", "Steering pump"], ["compressor", "Air-conditioning compressor"],
                    ["fan", "Fan"], ["air_pump", "Air or vacuum pump"], ["supercharger", "Supercharger"],
                    ["tensioner", "Tensioner"], ["idler", "Idler"]],
    "belt_face": [["ribs", "Ribs or V"], ["back", "Back"]],
    "rim": [["grooved", "Grooved"], ["flat", "Flat"]],
    # The cause, the parts and the proof.
    "look_result": [["fine", "Looked at: fine"], ["found", "Found: see note"], ["accepted", "Not done: gap accepted"]],
    "customer_answer": [["offered", "Offered, no answer yet"], ["accepted", "Accepted"], ["declined", "Declined"]],
    "part_need": [["must", "Must"], ["if_needed", "If needed"]],
    "part_state": [["ordered", "Ordered"], ["arrived", "Arrived"], ["picked", "Picked"], ["returned", "Returned"]],
    "work_result": [["done", "Done"], ["not_here", "Not on this car"]],
    "offset_way": [["straightedge", "Straightedge"], ["angle", "Angle"]],
    "run_result": [["good", "Good"], ["bad", "Not good"], ["not_done", "Not done"]],
    "due_grade": [["watch", "Watch"], ["soon", "Soon"], ["urgent", "Urgent"]],
    "drive_origin": [["tape", "Measured by tape"], ["copied", "Copied from a saved drive"],
                     ["photo", "Drawn from a photo"], ["file", "From a file"]],
    "sense": [["clockwise", "Clockwise"], ["anticlockwise", "Anticlockwise"]],
    # Numbers of the drive form, as an answer names the one that it lacks.
    "drive_number": [["belt.section", "the belt's section"], ["belt.ribs", "the count of ribs"],
                     ["belt.effective_mm", "the belt's printed length"], ["belt.kg_per_m", "the belt's mass per metre"],
                     ["pulley.x_mm", "the place"], ["pulley.y_mm", "the place"], ["pulley.diameter_mm", "the diameter"],
                     ["tensioner.pulley", "which pulley the tensioner moves"], ["tensioner.pivot_x_mm", "the place of the arm's pivot"],
                     ["tensioner.pivot_y_mm", "the place of the arm's pivot"], ["tensioner.torque_nm", "the torque of the arm's spring"],
                     ["tensioner.at_deg", "the arm's angle at that torque"], ["tensioner.rate_nm_per_deg", "the rate of the arm's spring"],
                     ["tensioner.slot_deg", "the direction of the slot"], ["tensioner.marks_deg", "the angles of the marks"],
                     ["tensioner.kind", "the kind of tensioner"], ["pulleys", "the pulleys"],
                     ["alternator_pulley", "which alternator pulley"]],
    "part": [["readings", "Readings"], ["zero", "Zero of the rule"], ["force", "Force"], ["length", "Span length"],
             ["mass", "Belt mass"], ["stretch", "Belt stretch"], ["ends", "Stiff ends"]],
    "working": [["formula", "Formula"], ["mean", "Readings"], ["numbers", "With the numbers"], ["stiff", "Stiff belt"],
                ["unpressed", "Before pressing"], ["answer", "Answer"], ["readings", "Readings, effect"],
                ["zero", "Zero of the rule, effect"], ["force", "Force, effect"], ["length", "Span length, effect"],
                ["mass", "Belt mass, effect"], ["stretch", "Belt stretch, effect"], ["ends", "Stiff ends, effect"]],
    # Finding the cause.
    "answer_state": [["not_done", "Not done"], ["cannot_here", "Cannot be done here"], ["unclear", "Unclear"]],
    "fact": [["tensioner", "Kind of tensioner"], ["tensioner_pulley", "Roller on the tensioner"], ["idler", "Idlers"],
             ["alternator", "Which belt drives the alternator"], ["alternator_pulley", "Alternator pulley"],
             ["compressor", "Compressor"], ["water_pump", "Coolant pump"], ["steering", "Steering"],
             ["crank_pulley", "Crank pulley"]],
    "step": [["booked", "Booked in"], ["cause", "Cause"], ["drive", "Drive"], ["belts", "Belts"], ["parts", "Parts"],
             ["fitted", "Fitted"], ["tension", "Tension"], ["aligned", "Aligned"], ["proved", "Proved"],
             ["signed", "Signed off"], ["next_check", "Next check"]],
}

# Short cautions. Common practice, no source; the vehicle maker's data and the workshop's rules come first.
CAUTIONS = [
    ["maker", "The vehicle maker's data comes first. If it says otherwise, do what it says."],
    ["trained", "48 V or high voltage: only the trained person named here, and made safe as the maker says."],
    ["moving", "Hands, rags, hair, cords and lamp leads stay outside the belt line while the engine can turn. "
               "Never touch a moving belt."],
    ["phone", "Never hold the phone over a running belt. Put it down before the engine starts."],
    ["water", "Sprays: water only, from a distance, away from alternator vents and hot exhaust. No belt dressing, "
              "no oil, no brake cleaner."],
    ["eyes", "Glasses on. Hearing protection near a screaming belt."],
    ["start", "The engine must not be able to start: key or card away from the car."],
    ["hot", "Exhaust, turbo, coolant and air-conditioning pipes burn. Never open a hot cooling system."],
    ["cord", "Old belts shed sharp cord. Thin close gloves; no air line towards faces."],
    ["spring", "A tensioner arm can break a wrist: long bar, firm stance, full-size pin, release slowly."],
    ["strut", "Press a hydraulic strut in slowly and pin it. Release it slowly."],
    ["stretch", "Stretch-fit: cut the old belt off, fit with the proper guide, turn by hand. Never lever it on."],
    ["lever", "Never lever a belt over a flange. Fingers are drawn in when the engine turns."],
    ["turn", "Turn by hand at the crank bolt, in running direction only. Whoever turns speaks first."],
    ["torque", "Torque and angle from the vehicle maker only; new bolts where the maker says so."],
    ["stopped", "Engine off and unable to start for every reading."],
    ["clear", "Straightedge and fingers off the pulleys before anyone turns the engine."],
    ["tools", "Before starting: locking pin, bar and every tool out, counted."],
    ["road", "Covers and liner on before the road test: a belt that jumps off can take the steering aid with it."],
]

# {name} stands for a value that the error carries.
ERRORS = {
    "table-form": "The table of causes is not in its form at: {place}. The old one stays.",
    "table-lacks": "The table of causes lacks {name} at: {place}. The old one stays.",
    "table-size": "The table of causes has too few or more than {most} entries at: {place}. The old one stays.",
    "table-twice": "The table of causes has {name} twice, or as a word kept for something else, at: {place}. The old one stays.",
    "table-unknown": "The table of causes names {name}, which it does not have, at: {place}. The old one stays.",
    "table-outcomes": "A row needs {count} numbers, one for each outcome, at: {place}. The old table stays.",
    "table-sum": "A row sums to {total} and not to 100 at: {place}. The old table stays.",
    "table-range": "Expected between {low} and {high} in the table of causes at: {place}. The old one stays.",
    "table-no-cause": "The table needs a cause that every car can have. The old table stays.",
    "confirm-first": "Look again, then tick this or correct the numbers.",
    "no-guideline-here": "There is no guideline for this belt and tensioner. Use the vehicle maker's data.",
    "more-readings": "{full} readings or more, please: one alone can mislead.",
    "reading-undecided": "Decide first about the reading that stands out.",
    "wear-or-none": "Either no wear, or the kinds you see: not both.",
    "empty": "Please fill this in.",
    "too-long": "Too long: at most {most} characters.",
    "too-many": "Too many: at most {most}.",
    "not-text": "This has to be text.",
    "not-whole": "This has to be a whole number.",
    "out-of-range": "Expected between {low} and {high}.",
    "not-a-choice": "Please pick one of the choices.",
    "not-a-list": "This has to be a list.",
    "not-a-map": "This entry is damaged.",
    "not-a-flag": "This has to be yes or no.",
    "not-a-hash": "The fingerprint of the picture or record is damaged.",
    "not-a-quantity": "This has to be a number with its unit.",
    "not-canonical": "This entry holds a value that a record cannot hold.",
    "too-deep": "This entry is damaged.",
    "unknown-key": "This entry holds a part that Spanwright does not know: {field}.",
    "missing-key": "This entry lacks a part: {field}.",
    "unknown-version": "This entry comes from another version of Spanwright. Update, then send again.",
    "unknown-kind": "This entry is of a kind that Spanwright does not know: {value}.",
    "not-an-id": "The entry's own number is damaged.",
    "not-a-date": "A date looks like 2026-03-09.",
    "not-a-time": "The entry's time is damaged.",
    "wrong-loop": "This entry names the wrong belt.",
    "server-only": "Only the workshop server can make this entry.",
    "unknown-job": "This job is not known here.",
    "booked-twice": "This job is booked in already.",
    "gate-first": "Go through the safety questions first.",
    "not-replaceable": "This entry cannot be taken back.",
    "who-first": "Say first who is working: tap the name at the top of the page.",
    "vin-check": "The check digit does not fit: the ninth sign is {found}, {expected} would fit. Read it again, or tick below.",
    "not-confirmed": "Please confirm each line, or stop here.",
    "trained-first": "Name the trained and authorised person who does this work.",
    "gate-unknown": "Not known is not safe: find out first, or stop the job here.",
    "gate-awake": "The start-stop system can still start the engine. Put it to sleep as the maker says, or stop here.",
    "loops-order": "Describe belt {place} or choose fewer belts.",
    "no-picture": "The picture did not arrive. Take it again.",
    "code-wrong": "This cannot be a code: it has eight signs and the last one checks the others. Read it again.",
    "wrong-kind": "A correction must be of the same kind as what it corrects.",
    "other-content": "Another entry with the same number is stored already. This one was not stored.",
    "head-moved": "Something arrived since you looked. Read the card again, then sign.",
    "wrong-pin": "That PIN is not right.",
    "wait-for-pin": "Too many wrong PINs. Wait {seconds} s, then try again.",
    "bad-pin": "A PIN is 4 to 12 digits.",
    "not-supervisor": "Only a supervisor can do this.",
    "own-work": "You have entered work on this job, so somebody else has to sign it.",
    "gaps-open": "Something is missing. Say why it is all right without it.",
    "name-taken": "Somebody active has this name already. Add a letter to tell them apart.",
    "last-supervisor": "The workshop needs at least one active supervisor.",
    "photo-hash": "The picture was damaged on the way. It will be sent again.",
    "photo-kind": "This is not a JPEG picture.",
    "photo-large": "This picture is too large: at most {most}.",
    "photo-hidden": "This picture carries hidden data, such as where it was taken. Take it through the card instead.",
    "not-unsent-file": "This is not a file of unsent entries from Spanwright.",
    # A file from outside; line and sign say where in its text.
    "json-wrong": "This is not the text of a file from Spanwright: it breaks off at line {line}, sign {sign}.",
    "json-deep": "This nests too deeply to be a file from Spanwright: line {line}, sign {sign}.",
    "json-twice": "A name stands twice in one part of the file: line {line}, sign {sign}.",
    "json-number": "No such number can be meant: line {line}, sign {sign}.",
    "drive-file-form": "This is not a file of a drive from Spanwright.",
    "drive-file-version": "This file is of form {found}; Spanwright here reads form {known}. Update Spanwright, or ask for the older form.",
    "drive-file-key": "Spanwright does not know this part of the file.",
    "drive-file-large": "This is too long to be one drive: at most {most} characters.",
    "drive-here": "A drive from such a file is here already, the same to the last number.",
    "too-much": "That is more than can be taken at once: at most {most}.",
    # Numbers and units.
    "not-a-number": "Please type a plain number, such as 412.5 or 412,5.",
    "too-low": "Too low: at least {low}.",
    "too-high": "Too high: at most {high}.",
    "unknown-unit": "Spanwright does not know the unit {unit}.",
    "other-unit": "{value} {unit} cannot be right here. Did you mean {value} {other}?",
    # The span.
    "not-positive": "This has to be more than zero.",
    "no-tension": "These numbers give no tension. Check the span, the reading and the belt.",
    "too-deep-press": "Pressed too far for this span. Press less than half of its length.",
    "belt-length-needed": "The whole belt's length is needed here.",
    # The chassis number.
    "vin-length": "A VIN has 17 signs; this one has {count}.",
    "vin-letter": "A VIN never holds the letter {letter} (sign {place}). Is it {instead}?",
    "vin-sign": "A VIN holds letters and digits only. Look at sign {place}: {sign}",
    # The drive.
    "few-pulleys": "A belt needs at least two pulleys.",
    "no-name": "Give this pulley a name.",
    "same-name": "Two pulleys are called {value}. Give each its own name.",
    "no-crank": "One pulley, and only one, has to be the crankshaft's.",
    "no-such-pulley": "The drive has no pulley called {value}.",
    "number-missing": "This number is needed here.",
    "route-crossed": "No uncrossed belt can take this route. Check each pulley's place, its order and which face touches it.",
    "arm-on-pivot": "The arm's pivot cannot be where its pulley is.",
    "over-centre": "The arm stands on its dead point here: it could not keep the belt tight.",
    "belt-too-long": "The belt is too long by about {by} mm: it would lie loose with the tensioner at its end.",
    "belt-too-short": "The belt is too short by about {by} mm: it cannot be fitted.",
    "tensioner-no-arm": "This drive has no spring arm to compute.",
    "tensioner-not-manual": "This tensioner is not set by hand.",
    "two-arm": "A two-arm tensioner is judged by its marks alone.",
    "tensioner-unknown": "Say first which kind of tensioner this drive has.",
    "move-too-far": "No position of this tensioner gives that tension. Check the belt's length.",
    "same-pulley-twice": "Measure from two different pulleys.",
    "distances-short": "These distances do not meet: together {reach} mm, but the pulleys are {apart} mm apart.",
    "distances-long": "These distances do not meet: they differ by {differ} mm, but the pulleys are only {apart} mm apart.",
    "pick-spot": "Two spots fit these distances. Pick the one where it is.",
    "both-ends": "Please give both ends, or neither.",
    "arm-angle-unknown": "That needs the places of the pivot and of the pulley that moves. Type the angle, or leave the torque empty.",
    "no-such-saved-drive": "This saved drive is not on this device any more. Pick another one.",
    "no-load": "{pulley} needs a torque, a power, or amperes with volts.",
    # What if.
    "if-other-section": "This is section {other}; the drive takes {section}.",
    "if-other-line": "This marking gives the {kind}. Type the length that the drive counts on instead.",
    "if-no-pulley": "There is no alternator on this belt and no decoupler on the crankshaft: nothing to compare.",
    "if-pulley-unknown": "Say first which alternator pulley is fitted.",
    "if-starter-generator": "A starter-generator also drives the belt. That is not computed here.",
    # Belt markings. {part} is the part of the marking that is meant.
    "marking-unread": "Cannot read {part}. A marking looks like 6PK1500 or AV10x1000 La.",
    "marking-sign": "A marking has no sign such as {part}.",
    "marking-pulley": "This is the marking of a pulley, not of a belt.",
    "marking-no-ribs": "How many ribs? Write the count before {part}, such as 6{part}1500.",
    "marking-ribs": "{part} is not a count of ribs. Expected between 1 and 60.",
    "marking-no-length": "The length is missing after {part}.",
    "marking-length": "{part} gives {length} mm. A belt is between {low} and {high} mm long.",
    "marking-order": "{part} is the wrong way round. The ribs come first: {instead}.",
    "marking-width": "No belt has a top width of {part} mm.",
    "marking-line": "{part} does not say which length it is. Write Li (inside) or La (outside).",
    "marking-two-ways": "{part} can be {first} or {second}. Please write the one you mean.",
    "marking-line-unknown": "{part} is not a length this belt is sold by.",
    "marking-strands": "{part} is not a count of joined strands. Expected between 2 and 6.",
    "unknown-section": "Spanwright does not know the belt section {section}.",
    "tape-constant": "Tape three new {section} belts of known length first, to find your tape constant.",
    "no-mass": "No mass is known for {section}. Weigh the belt.",
    "error-too-large": "The error is as large as the reading itself.",
    "out-of-order": "The lower value has to come first.",
    "no-guideline": "There is no guideline for {section}. Use the vehicle maker's data.",
}


# What a comparison or a check found. Same filling-in as ERRORS.
REASONS = {
    # Why the phone heard no pluck.
    "pluck-nothing": "No pluck was heard. Hold the phone close to the middle of the span and pluck it once, firmly.",
    "pluck-noisy": "Too much other noise, or too weak a pluck. Stop fans and engines, come closer, pluck again.",
    "pluck-two-answers": "Two frequencies fit this sound. Pluck again at another place of the span, or type the value.",
    "pluck-clipped": "The sound was too loud for the microphone. Hold the phone a little further away.",
    "pluck-short": "The take was too short. Let it run for a second before and after the pluck.",
    "pluck-silent": "The microphone gave no sound. Look whether something covers it or another app holds it.",
    "finding": "{tile} ({check}). {means}.",
    "finding-half": "{tile} ({check}). {means}. Counted half: it leans on {other}.",
    "share": "About {p} in 100, likely {low} to {high}. Judgement.",
    "share-small": "Under 1 in 100. Judgement.",
    "judgement": "Every share here is one author's judgement, not a measured frequency.",
    "own-jobs": "The table counts as {table} jobs for the shares and {row} for each row; your own {own} proved jobs count as they are.",
    "facts-open": "Not known yet: {facts}. What hangs on it stays in.",
    "answer-not-here": "{check} is left out: this drive does not have it.",
    "answer-unknown": "An answer is left out: the table does not know it.",
    "same-reading": "{check} is left out: it is the same reading as {other}.",
    "not-one-cause": "The answers do not fit one cause. More than one cause is normal.",
    "also": "{cause}: look at it as well, whatever leads. {tile} ({check}).",
    "fits-none": "The answers fit no cause well. Look again at: {tile} ({check}).",
    "several": "Still possible: {causes}.",
    "answer-open": "{check}: {state}. It counts neither for nor against.",
    "next-none": "No check is left that can be done here.",
    "next-guard": "Never skip: {why}.",
    "next-splits": "Tells apart {a} and {b}: {minutes} min.",
    "next-looks": "Looks at what is still possible: {minutes} min.",
    "next-setup": "First {more} min for: {setup}.",
    # The verdict on two belts, and what the kind of tensioner makes of it.
    "both-needed": "Record both belts first.",
    "verdict-same": "The new belt may take the old one's place.",
    "verdict-differs": "Read the reasons before it goes on.",
    "verdict-stop": "Do not fit this belt.",
    "verdict-open": "Something is missing before the two can be compared.",
    "tape-only": "The printed length of one belt is missing; the tape cannot tell the two apart. Confirm it by the parts list.",
    "marking-doubted": "What was counted or taped speaks against a marking, see below. Find out why before the belt goes on.",
    "means-automatic": "Spring arm: with the belt on and two turns by hand, the pointer decides. It has to stand in the new-belt zone.",
    "means-automatic_set": "Set-once arm: a few millimetres change where it sets. Set it with this belt, as the vehicle maker says.",
    "means-hydraulic": "Hydraulic strut: the pointer decides after two turns by hand. Never pull the strut out to make a short belt fit.",
    "means-eccentric": "Eccentric roller: the belt has to slip on without levering, and travel has to be left for run-in.",
    "means-slotted": "Slotted bracket: the belt has to slip on without levering, and travel has to be left for run-in.",
    "means-lead_screw": "Lead screw: the belt has to slip on without levering, and travel has to be left for run-in.",
    "means-stretch_fit": "Stretch-fit drive: only the exact part, fitted with the maker's tool. Type matters more than length.",
    "means-fixed": "Fixed centres: nothing takes up a difference. Only the exact part.",
    "means-two_arm": "Two-arm tensioner: only the exact part.",
    "means-unknown": "The kind of tensioner is not known yet. Record the facts of the drive first.",
    # What a tension reading is worth with each kind of tensioner.
    "tension-automatic": "Automatic tensioner: the pointer between its marks decides. A reading is a second look.",
    "tension-automatic_set": "Set-once tensioner: the pointer in its setting window decides. A reading is a second look.",
    "tension-hydraulic": "Hydraulic strut: its marks decide. A reading is a second look.",
    "tension-two_arm": "Two-arm tensioner: its marks decide. A reading is a second look.",
    "tension-eccentric": "Eccentric roller: you set the tension. Read, adjust, turn two turns by hand, read again.",
    "tension-slotted": "Slotted bracket: you set the tension. Read, adjust, turn two turns by hand, read again.",
    "tension-lead_screw": "Lead screw: you set the tension. Read, adjust, turn two turns by hand, read again.",
    "tension-stretch_fit": "Stretch-fit: measure only. The belt is never adjusted.",
    "tension-fixed": "Fixed centres: measure only. There is nothing to adjust.",
    "tension-unknown": "The kind of tensioner is not known yet. Record the facts of the drive first: it says who decides, the pointer or a reading.",
    "no-target": "Set a target to judge this.",
    "width-fits": "{width} mm wide agrees with the count; expected {expected} mm.",
    # Two belts.
    "same-belt": "Same section, ribs and length.",
    "section-unknown": "The section of one belt is not known.",
    "section-differs": "Other section: {old} came off, {new} is in the hand.",
    "ribs-unknown": "The ribs of one belt have not been counted.",
    "ribs-differ": "Other count of ribs: {old} came off, {new} in the hand.",
    "sides-differ": "One belt has ribs on both faces, the other on one.",
    "stretch-differs": "One is a stretch-fit belt, the other is not. Never swap them, even at the same length.",
    "cogs-differ": "One belt is cogged, the other is plain. Check the parts list.",
    "length-missing": "The length of one belt is not known.",
    "lines-differ": "The lengths cannot be compared: one is {old}, the other {new}.",
    "length-exact": "{apart} mm {way}. This kind of drive takes the exact length only.",
    "length-no-marks": "{apart} mm {way}. A tensioner without marks cannot show whether that fits: use the exact length.",
    "length-pointer": "{apart} mm {way}. Allowed only if the pointer stands in the new-belt zone after two turns by hand.",
    "length-arm": "{apart} mm {way}: more than the arm may take up.",
    "length-adjuster": "{apart} mm {way}. Allowed only if it slips on without levering and the adjuster starts in its first third.",
    "length-too-far": "{apart} mm {way}: too far from the old belt.",
    "length-unknown": "{apart} mm {way}. Name the tensioner first, then this can be judged.",
    # One belt against itself.
    "marking-not-read": "The marking was kept as typed. {why}",
    "marking-differs": "The marking reads {marking}, the entry says something else.",
    "count-differs": "{printed} ribs printed, {counted} counted. Count again from both edges.",
    "width-other-count": "{width} mm wide speaks for {ribs} ribs; expected {expected} mm.",
    "width-no-fit": "{width} mm wide does not fit; expected {expected} mm.",
    "tape-no-constant": "No tape constant for {section} yet, so the tape says nothing about the printed length.",
    "tape-stretch": "A stretch-fit belt cannot be told by its tape length.",
    "tape-other-belt": "The tape says {taped} mm, {apart} mm off the printed {printed} mm. That is another belt, not stretch. Do not average.",
    "tape-short": "The tape says {taped} mm, shorter than the printed {printed} mm. Old belts do not shrink: tape it again.",
    "tape-long": "The tape says {taped} mm, {apart} mm over the printed {printed} mm. More than a belt stretches: check which belt it is.",
    # A span reading.
    "octave": "Reading {place}, {reading} Hz, is about {times} times the others: the belt may have rung another way. "
              "Take it out or pluck again.",
    "few-readings": "Only {count} of {full} readings, so the interval is wide.",
    "spread": "The readings are {percent} % apart; up to {limit} % is usual. Pluck or press at the same place again.",
    "short-span": "The belt's stiffness alone may make {percent} % of this reading. Choose a longer span.",
    "no-belt-length": "Without the belt's length its stretch is guessed, so the interval is wide.",
    "unit-doubt": "{value} {unit} is unusual for this belt, {value} {other} would not be. Which unit does the data give?",
    "tension-unlikely": "{value} {unit} is unusual for this belt: {low} to {high} {unit} is common. Please check.",
    "verdict-inside": "{value} {unit} ({low} to {high}) is inside {from} to {to} {unit}.",
    "verdict-low": "{value} {unit} ({low} to {high}) is below {from} to {to} {unit}.",
    "verdict-high": "{value} {unit} ({low} to {high}) is above {from} to {to} {unit}.",
    "verdict-cannot-tell": "{value} {unit} ({low} to {high}) is not sharp enough for {from} to {to} {unit}.",
    "verdict-octave": "No tension yet: the readings do not belong together.",
    # What a recorded drive adds to belts and readings.
    "kinds-differ": "The facts say: {facts}. The recorded drive says: {drive}. One of them is wrong.",
    "span-best": "Best to measure: long, so its stiff ends count least.",
    "span-best-arm": "Best to measure: long, and clear of the spring arm.",
    "span-longer": "Longer than needed: it rings less clearly.",
    "span-next": "Shorter than the best, so its stiff ends count for more.",
    "span-beside-arm": "Beside the spring arm, which gives way as the span rings.",
    "span-short": "Short: its stiff ends make it read too high.",
    "expect-target": "Set a target, then the reading to expect can be told.",
    "expect-band": "Expect {band} for {window}, from {from}.",
    "expect-octave": "About {times} what was expected for {name}. Did the belt ring another way, or is it another span?",
    "expect-other-span": "Far from what was expected for {name}; it would suit {span}. Is it the right span?",
    "expect-far": "Far from what was expected for {name}. Is it the right span and length? Or is the belt that loose or tight?",
    "move-slot": "{way}: move {pulley} {value} mm along its slot, between {low} and {high} mm, {towards} as seen from the belt side.",
    "move-swing": "{way}: swing {pulley} {value} mm about its pivot, between {low} and {high} mm, {towards} as seen from the belt side.",
    "move-eccentric": "{way}: turn the eccentric of {pulley} {value} degrees, between {low} and {high}, {sense} as seen from the belt side.",
    "move-screw": "{way}: turn the lead screw of {pulley} {value} turns, between {low} and {high}. That moves it {more} {towards}.",
    "move-steps": "Go there in steps and read again: how stiff the belt is, is known within a factor of two or three only.",
    "move-not-enough": "The travel may not reach that far.",
    "spring-agrees": "The reading agrees with the spring.",
    "spring-low": "Below what the spring should give. Is the spring weak, the arm stuck, the belt another one, or the wrong span measured?",
    "spring-high": "Above what the spring should give. Is the arm stuck, the belt another one, or the wrong span measured?",
    "marks-decide": "A hint only: the tensioner's marks decide.",
    # What if.
    "if-no-drive": "No drive is recorded for this belt yet.",
    "if-missing": "Missing for this: {what}.",
    "if-saved": "A saved drive is changed on the job that recorded it.",
    "if-in-marks": "With {belt} the arm stands at about {used} % of its travel, between its marks.",
    "if-outside-marks": "With {belt} the arm stands at about {used} % of its travel, outside its marks.",
    "if-no-marks": "With {belt} the arm stands at about {used} % of its travel. Without marks nobody can say whether that is allowed.",
    "if-same-place": "Both belts stand the arm in the same place.",
    "if-turn-free": "With belt B the arm moves {turn} degrees further out than with belt A, and pulls {by} {way}.",
    "if-turn-full": "With belt B the arm is pushed back {turn} degrees further than with belt A, and pulls {by} {way}.",
    "if-window": "Belts from {low} to {high} keep the pointer between its marks.",
    "if-window-marks": "Enter the tensioner's marks to get the belt lengths that keep the pointer between them.",
    "if-ribs": "{belt} has another count of ribs than the pulleys, {ribs}. Only its length is compared here: do not fit it.",
    "if-places-unknown": "How good the measured places are is not known, so the ranges leave that out.",
    "if-friction-unknown": "The tensioner's friction is not typed in, so the tension has no friction band.",
    "if-stops-unknown": "The arm's stops are not typed in: its travel is taken as far as the belt and the pulleys let it go.",
    "if-exact": "Nothing on this drive takes up a difference in length.",
    "if-length-sharp": "On fixed centres a millimetre of belt or tape changes the tension a lot. Measure it before you trust it.",
    "if-move": "For {belt} the tensioner moves {move}.",
    "if-stays": "{belt} goes on where the tensioner is drawn.",
    "if-move-then": "Then read the tension and set it: the move only brings it near.",
    "if-out-of-reach": "The tensioner cannot take {belt}.",
    "if-slips": "It slips first here: {state}, at the {pulley}, with {times} the grip that this pull needs.",
    "if-grips": "Even in its worst state it holds: {state}, at the {pulley}, with {times} the grip that this pull needs.",
    "if-bars": "Grip at {rpm} per minute. At 1 time it slips.",
    "if-typical-loads": "The ranges cover friction and, where it is typical, the load. A drive that is known to run well may show "
                        "less than 1 here: compare the states with each other.",
    "if-rings-idle": "The span {span} rings near idle: it may flutter there.",
    "if-no-ring-idle": "No span rings near idle.",
    "if-slack-belt": "The belt is slack with these numbers, so its spans have no frequency.",
    "if-still": "At this speed {what} hardly moves, {first} or {second}.",
    "if-starts": "With the {part} {second} {what} swings {other} degrees; {first} it hardly moves.",
    "if-alike": "At this speed and load {what} swings about as far either way.",
    "if-further": "With the {part} {second} {what} swings {times} times as far ({between}).",
    "if-less": "With the {part} {second} {what} swings {times} times as far ({between}): less, at this speed.",
    "if-span-swings": "Tension swing in the span {span}: {one} {first}, {other} {second}.",
    "if-slack": "With it {second}, the span {span} goes slack for moments: it slaps and wears.",
    "if-slack-both": "The span {span} goes slack for moments either way.",
    "if-runs-free": "The healthy pulley lets the rotor run ahead {percent} % of the time.",
    "if-never-free": "The healthy pulley does not run free at this load.",
    "if-typical": "What is not typed in is typical, from memory: the rotor, the arm, how unevenly the engine turns. The ranges cover a light "
                  "rotor with a gentle engine and a heavy one with a rough engine.",
    "if-one-model": "The model shows what a locked pulley does to a belt. It does not prove that this pulley is locked: check the pulley.",
    "arm-at": "The pointer would stand at {used} % of its travel, between {low} and {high} %.",
    "arm-stands": "Clear of both ends of its travel.",
    "arm-near-end": "That may be near an end of its travel.",
    "arm-inside": "Inside its marks.",
    "arm-outside": "Outside its marks.",
    "arm-may-be-inside": "Inside its marks, but not for certain.",
    "arm-may-be-outside": "Outside its marks, but not for certain.",
    "arm-perhaps": "The path is good to {error} mm only, so look at it on the engine.",
    "arm-no-length": "This belt's length is not known on the line that the drive is measured by.",
    "arm-tension": "Tension there: {value} {unit}, between {low} and {high} {unit} with the arm's friction and what the path is good to.",
    "arm-travel": "0 % where the arm stands without a belt, 100 % where it is pushed back to fit one.",
    "arm-same-place": "The pointer stands where it stood with the old belt.",
    "arm-further-back": "The pointer stands {turn} degrees further back than with the old belt, {part} % of the travel.",
    "arm-further-out": "The pointer stands {turn} degrees further out than with the old belt, {part} % of the travel.",
    "window": "Belts of {low} to {high} {unit} keep the pointer between its marks; both ends are good to {error} mm.",
    "length-suits": "The belt's length suits the recorded path, which is good to {error} mm.",
    "same-not-drive": "Both belts are alike, but on the recorded drive this one cannot go. Check the drive's numbers, and whether the old belt was the right one.",
    # What to do next, by kind of tensioner.
    "next-octave": "Decide about the reading that stands out, then judge again.",
    "next-cannot-tell": "Weigh the belt, measure the span again, take more readings: each narrows the interval.",
    "next-manual-inside-new": "Lock the adjuster and read once more. After the run-in, set it to the used-belt value.",
    "next-manual-inside-used": "Lock the adjuster and read once more.",
    "next-manual-low": "Tighten a little, turn two turns by hand, read again.",
    "next-manual-high": "Loosen a little, turn two turns by hand, read again.",
    "next-arm-inside": "Good. The tensioner's marks still decide: look at the pointer.",
    "next-arm-low": "Do not adjust. Look at the pointer: outside its marks, the belt or the tensioner is faulty.",
    "next-arm-high": "Do not adjust. Look at the pointer, and whether the arm moves freely.",
    "next-arm-cannot-tell": "The tensioner's marks decide: look at the pointer.",
    "next-set-inside": "Good. The pointer has to stand in its setting window after two turns by hand.",
    "next-set-low": "Set the eccentric again until the pointer stands in its window. The window decides, not this reading.",
    "next-set-high": "Set the eccentric again until the pointer stands in its window. The window decides, not this reading.",
    "next-set-cannot-tell": "The setting window decides: look at the pointer.",
    "next-stretch-inside": "Nothing to adjust.",
    "next-stretch-low": "Replace the belt. A stretch-fit belt is never adjusted and never used again once off.",
    "next-stretch-high": "Nothing to adjust. Check that it is the exact belt for this drive.",
    "next-fixed-inside": "Nothing to adjust.",
    "next-fixed-low": "Nothing to adjust here: check the belt's number and the pulleys, then replace the belt.",
    "next-fixed-high": "Nothing to adjust here: check that it is the exact belt for this drive.",
    "next-unknown-inside": "Name the tensioner first: with a spring arm its marks decide, not this reading.",
    "next-unknown-low": "Name the tensioner first: only a manual one may be tightened.",
    "next-unknown-high": "Name the tensioner first: only a manual one may be loosened.",
}


# What can be wrong in a drive; {pulleys} stands for the names of the pulleys concerned.
FAULTS = {
    "overlap": "{pulleys} overlap by about {by} mm. Check their places and diameters.",
    "faces-swapped": "The faces are the wrong way round: ribs and back are swapped on every pulley.",
    "not-reached": "The belt does not reach {pulleys} on that face: it would pass by on the other side.",
    "span-blocked": "The span runs through a pulley: {pulleys}.",
    "spans-cross": "Two spans cross each other: {pulleys}. Check the belt order.",
    "small-wrap": "{pulleys} has only {wrap} degrees of contact; about {least} is usual for its load.",
    "short-span": "The span at {pulleys} is {length} mm: shorter than {least} mm it reads too high.",
    "wrong-face": "{pulleys} needs the ribs: the back of this belt cannot drive it.",
    "grooves-on-back": "{pulleys} has grooves, but the smooth back of the belt runs on it.",
    "flat-under-ribs": "{pulleys} has a flat rim, but it needs grooves for the ribs.",
    "turns-backwards": "{pulleys} would turn the wrong way: it has to turn {way}.",
    "small-pulley": "{pulleys} is smaller than {least} mm, the least effective diameter for section {section}.",
    "outside-marks": "The pointer of {pulleys} would stand outside its marks with this belt.",
    "near-dead-point": "{pulleys} stands within {left} degrees of its dead point: it can flip over.",
    "little-take-up": "{pulleys} has only {left} mm of belt left to take up.",
    "spring-slack": "The spring of {pulleys} has nothing left to give there.",
}


def fault_sentence(fault: dict) -> str:
    """Return the sentence for a fault of a drive.

    Parameters:  fault: of `drive.faults`: its "code", "pulleys" and "values" are used
    Returns:     its sentence with names and values filled in
    Raises:      KeyError for a code without a sentence (a test finds these)
    """
    text = FAULTS[fault["code"]] if fault["code"] in FAULTS else ERRORS[fault["code"]]
    return _filled(text.replace("{pulleys}", ", ".join(fault["pulleys"])), fault["values"])


def choice_pairs(name: str) -> list:
    """Return the choices of a list as [[code, label], ...] in the order they are shown."""
    return CHOICES[name]


def is_choice(name: str, code: str) -> bool:
    """Tell whether a code is one of a list's choices."""
    for pair in CHOICES[name]:
        if pair[0] == code:
            return True
    return False


def label(name: str, code: str) -> str:
    """Return a choice's label, or the code itself when an older record holds one that is gone."""
    for pair in CHOICES[name]:
        if pair[0] == code:
            return pair[1]
    return code


def caution(code: str) -> str:
    """Return the sentence of a caution."""
    for pair in CAUTIONS:
        if pair[0] == code:
            return pair[1]
    raise KeyError(code)


def sentence(error) -> str:
    """Return the sentence for a CoreError.

    Parameters:  error: the CoreError
    Returns:     its sentence with the values filled in
    Raises:      KeyError for a code without a sentence (a test finds these)
    """
    return _filled(ERRORS[error.code].replace("{field}", error.field), error.values)


def reason(code: str, values: dict) -> str:
    """Return the sentence for a reason, doubt or finding.

    Parameters:  code: key of `REASONS` · values: texts that it shows
    Returns:     its sentence with the values filled in
    Raises:      KeyError for a code without a sentence (a test finds these)
    """
    return _filled(REASONS[code], values)


def _filled(text, values):
    for key in sorted(values):
        text = text.replace("{" + key + "}", str(values[key]))
    return text
