"""Draw the app's small pictures: writes static/icons/drawings.svg, one group for each.

    python -m tools.drawings

Few strokes, no text, no colour of its own; the parts are shared, so that a belt, a pulley or an arrow looks the same wherever
it comes. A picture is named after what it shows: the table of causes and the core's lists say where it stands.
"""

from pathlib import Path

from .drawing_parts import (BOLD, DOTTED, FULL, GHOST, LUMPS, SHADE, SPARSE, STYLES, THIN, arm, arrow, at, band, belt_cut, bolt, box,
                            circle, coil, damper, dial, dot, drop, eccentric, edge_on, grooves, head, hum, line, load, loop, on_shaft,
                            overrun, path, pulley, rim, seat, slot, spring, star, strip, strut, turn, wave)

FILE = Path(__file__).resolve().parent.parent / "static" / "icons" / "drawings.svg"
AROUND = range(0, 360, 45)
SPOKES = (30, 150, 270)


def noises():
    yield "noise-chirp", wave(3, 14, 20, 14, 3) + wave(26, 37, 20, 14, 3) + wave(49, 60, 20, 14, 3) + path("M14 20H26M37 20H49", THIN)
    yield "noise-squeal", wave(3, 61, 20, 12, 20)
    yield "noise-rumble", path("M3 20q2-14 4-5t4 8 5-14 4 3 4 14 5-11 4-2 4 10 5-13 4-3 4 9 4-7 4 2")
    yield "noise-rattle", path("M3 20h6l2-15 3 29 2-14h11l2-9 2 17 2-8h5l2-16 3 29 2-13h5l2-7 2 13 2-6h5")
    yield "noise-whine", path("M3 20q5-16 10 0t9 0 8 0 7 0 6 0 5 0 4 0 4 0 4 0")
    yield "noise-slap", path("M3 31h7q7-36 14 0h14q7-36 14 0h9")


def belt_faces():
    yield "ribs-sound", strip()
    yield "ribs-cracked", strip() + path("M13 7l2 4-3 4 2 5M22 20l2 4-3 4 2 5M32 7l2 4-3 4 2 5") + path("M43 7l2 6 4 3 4-3 1-6", FULL)
    yield "ribs-polished", (path("M6 18V7H58V18q-1 16-6 16t-6-16q-1 16-7 16t-6-16q-1 16-7 16t-6-16q-1 16-7 16t-7-16z", SHADE)
                            + path("M10 12H54", DOTTED))
    yield "ribs-wet", (path("M3 9q9-1 12-4t10 3 12-1 10 0 14 2M3 31q9 0 13 4t11-4 12 4 10-3 12-1") + path("M3 20H15M49 20H61", THIN)
                       + drop(21, 14, 1.4) + drop(32, 12, 1.9) + drop(43, 14, 1.4))
    yield "ribs-crumbs", strip() + path("M9 14h3M17 20h4M26 27h2M31 14h4M37 20h1M43 27h4M49 13h2M54 21h2", LUMPS)
    yield "ribs-one-gone", path("M6 16l4 15h4l5-15 4 15h4l5-15 3 3 4-2 3 2 3-3 4 15h4l5-15V6H6z", SHADE) + path("M10 11H54", DOTTED)
    yield "ribs-frayed", strip(3, 4, 24) + path("M8 24q3 5 0 11M17 24q-2 6 3 12M28 24q5 3 4 13M39 24q-3 6 2 11M48 24q1 8 10 10")
    for name, bar, valleys in (("gauge-fits", 6, "h5l4 14 4-14h5" * 3), ("gauge-near", 11, "h3l6 15 6-15h3" * 3),
                               ("gauge-bottoms", 16, "h1q1 17 8 17t8-17h1" * 3)):
        teeth = "".join(f"M{x - 5} {bar}l5 20 5-20z" for x in (14, 32, 50))
        yield name, path(f"M5 20{valleys}V39H5z", SHADE) + path(f"M3 {bar}H61") + path(teeth, FULL)
    yield "back-clean", strip(0) + path("M9 14H57M13 20H57M9 26H57", SPARSE)
    yield "back-glazed", strip(0) + path("M11 28l14-16M18 29l15-17M46 12q1 7 7 8-6 1-7 8-1-7-7-8 6-1 7-8z")
    yield "back-scored", (strip(0) + path("M6 13l32-2M10 19l44 2M6 28l24-2", THIN) + circle(40, 27, 2) + circle(16, 24, 1.5)
                          + circle(52, 13, 2))


def running():
    yield "tracking-true", rim(22, 42) + band(22, 42)
    yield "tracking-side", rim(11, 31) + band(11, 31) + arrow(48, 20, 37, 20)
    yield "tracking-weaves", (path("M18 1q8 9 0 19t0 19M40 1q8 9 0 19t0 19M11 5V35M53 5V35M11 9h7M11 31h8M44 9h9M43 31h10")
                              + path("M29 1q8 9 0 19t0 19", THIN))
    yield "tracking-rib-over", rim(39, 59) + band(39, 59)
    yield "wet-fades", wave(3, 19, 24, 11, 5) + drop(24, 3) + path("M19 24H41") + wave(41, 61, 24, 11, 6)
    yield "wet-louder", wave(3, 19, 24, 3, 5) + drop(19, 3) + wave(19, 61, 24, 14, 12)
    yield "wet-same", wave(3, 61, 26, 7, 18) + drop(24, 3)
    yield "spray-ribs", (strip(2, 24, 38) + path("M4 18V8h9v10zM8 8V3h7l2 3") + path("M22 5l9-2M22 8l10 2M20 11l8 6", DOTTED)
                         + drop(38, 3) + drop(46, 9)
                         + drop(37, 13))
    yield "stop-quiet", path("M3 20q2-17 4 0t4 0 4 0 4 0") + path("M19 20q2-7 4 0t4 0H61", THIN)
    yield "stop-buzz", path("M3 20q2-17 4 0t4 0 4 0 4 0H32M53 20h8") + wave(32, 53, 20, 10, 9)
    yield "stop-kick", path("M3 20q2-17 4 0t4 0 4 0 4 0h6q5-34 10 0t10 0H61")
    for name, before, after in (("same", wave(3, 26, 15, 6, 7), wave(27, 61, 15, 6, 10)),
                                ("rises", wave(3, 26, 15, 2, 7), wave(27, 61, 15, 12, 10)),
                                ("falls", wave(3, 26, 15, 12, 7), wave(27, 61, 15, 2, 10)), ("stops", wave(3, 26, 15, 12, 7), []),
                                ("squeal", [], wave(27, 61, 15, 12, 15)), ("moan", [], hum(27, 61, 15, 11, 5))):
        yield "load-" + name, load(before, after)
    yield "lamp-and-blower", (path("M18 7a13 13 0 0 0 0 26q5-2 5-13t-5-13z") + path("M27 10l7-2M28 17h7M28 24h7M27 31l7 2", THIN)
                              + circle(51, 20, 10, THIN)
                              + path("M51 20q1-8 6-6t-6 6q6 5 2 8t-2-8q-8 3-7-2t7 0z"))
    yield "cold-button", (path("M22 3V37M7 11.5l30 17M7 28.5l30-17M18 6l4 3 4-3M18 34l4-3 4 3", THIN) + arrow(54, 5, 54, 25)
                          + path("M46 32H62", BOLD))
    yield "steering-lock", (circle(28, 21, 15) + circle(28, 21, 4) + path("M13 19H24M32 19H43M28 25V36")
                            + turn(28, 21, 19, -70, 25) + path("M44 36h9", BOLD))
    yield "listening-rod", (circle(48, 20, 12) + bolt(48, 20, 5) + path("M9 30L43 20", BOLD)
                            + path("M10 17q-6 3-5 10t5 11M30 10q-4 4-4 8M24 6q-6 6-6 13", THIN))


def tensioners():
    yield "arm-steady", arm() + path("M58 12q3 5 0 10M33 7q5-3 10-3", THIN)
    yield "arm-swings", arm(to_y=21) + circle(40, 8, 6, GHOST) + circle(46, 34, 5, GHOST) + turn(13, 31, 47, -38, 4, True)
    yield "arm-bangs", arm(to_x=40, to_y=19, r=8) + path("M50 9l5-6M53 17l8-3M53 23l8 3M48 29l5 7M38 7l-1-6M18 8l6 4-6 3 6 4")
    yield "arm-at-stop", arm(to_y=15) + path("M35 25V33") + path("M26 33H44V39H26z", FULL)
    for name, angle in (("inside", -90), ("long", -47), ("short", -133)):
        yield "pointer-" + name, dial(angle)
    yield "sweep-sound", arm(12, 32, 36, 15, 7) + turn(12, 32, 42, -42, 2, True)
    yield "sweep-free", arm(12, 32, 34, 18, 7) + path("M42 10l5 14 4-21 4 18 3-13 3 7")
    yield "sweep-sticks", arm(12, 32, 34, 18, 7) + path("M40 4h7v8h6v9h6V34") + head(59, 34, 90)
    yield "sweep-weak", arm(12, 32, 32, 16, 7) + turn(12, 32, 36, -36, -10) + box(53, 4, 7, 32) + path("M53 30h7v6h-7z", FULL)
    yield "arm-loose", (box(3, 9, 9, 24) + path("M12 21H19", BOLD) + edge_on(26, 21, 30, style=GHOST) + edge_on(26, 21, 30, 13)
                        + box(43, 6, 17, 30) + path("M50 6l4 7-6 4 7 7-5 5 3 7"))
    yield "bar-turns-arm", arm(20, 24, 42, 12, 8) + path("M20 24L60 38", BOLD) + turn(20, 24, 37, 14, -8)
    for name, top, end in (("pin-in", 3, 16), ("pin-out", 16, 3)):
        yield name, (path("M4 22H38V29H4zM4 31H56V38H4z") + path("M16 3H28M22 3V19", BOLD) + path("M19 22v16M25 22v16", THIN)
                     + arrow(46, top, 46, end))
    yield "strut-firm", strut(11) + arrow(10, 5, 32, 5) + arrow(32, 35, 10, 35)
    yield "strut-spongy", (strut(4) + circle(14, 18, 2, THIN) + circle(21, 23, 3, THIN) + circle(29, 17, 2, THIN)
                           + path("M53 12l6-6M55 20h7M53 28l6 6", THIN))
    yield "strut-oily", strut(11) + drop(38, 26) + drop(45, 29) + drop(39, 33, .8)
    yield "strut-pressed", strut(6) + arrow(62, 8, 46, 8)
    yield "nut-held", eccentric() + path("M25 22L61 34", BOLD) + path("M30 5v-3M30 38v-3", THIN)
    yield "slot-free", slot() + turn(8, 33, 9, -20, -150) + turn(50, 19, 11, 75, -20)
    yield "slot-first", slot() + dot(60, 8, BOLD) + dot(18, 30, BOLD) + dot(18, 37, BOLD)
    yield "screw-turned", (path("M3 20H46M10 15l3 10M17 15l3 10M24 15l3 10M31 15l3 10M38 15l3 10") + bolt(52, 21, 6)
                           + turn(52, 21, 11, -150, -20))
    yield "pin-arms", (pulley(32, 27, 9) + pulley(10, 16, 7) + pulley(54, 16, 7) + path("M16 21l9 4M48 21l-9 4")
                       + path("M20 3V19M44 3V19M17 3h6M41 3h6", BOLD))
    yield "tang-in-hole", path("M4 31H23V26H33V31H60M4 38H60M8 17H25V25h5V17H56V8H8z") + arrow(46, 19, 46, 29)


def kinds():
    """What the drive has, as it is asked once for each car."""
    yield "tensioner-automatic", (arm(17, 26, 46, 16) + circle(17, 26, 8, THIN) + circle(17, 26, 12, THIN)
                                  + turn(17, 26, 40, 0, -32) + path("M14 38h8"))
    yield "tensioner-set-once", eccentric() + path("M44 15l10-4", BOLD) + path("M54 2l4 4M62 18l-5-2M57 5q4 4 4 10")
    yield "tensioner-strut", path("M14 36L8 30 24 14l6 6zM27 17l10-9") + arm(58, 33, 42, 10, 7)
    yield "tensioner-eccentric", eccentric() + turn(25, 22, 24, -62, 0)
    yield "tensioner-slot", slot()
    yield "tensioner-screw", (pulley(18, 17, 12) + bolt(9, 35, 3)
                              + path("M30 17H40V26M34 17v9M37 21H58M43 17l3 8M48 17l3 8M53 17l3 8") + path("M60 16v10", BOLD))
    yield "tensioner-none-stretch", loop(12, 23, 52, 23, 9) + arrow(28, 6, 12, 6) + arrow(36, 6, 52, 6)
    yield "tensioner-none-fixed", loop(12, 20, 52, 20, 9)
    yield "tensioner-two-arms", (pulley(32, 27, 9) + pulley(9, 14, 7) + pulley(55, 14, 7)
                                 + path("M14 10q18-18 36 0M14 19l10 4M50 19l-10 4"))
    yield "pulley-solid", circle(32, 20, 17) + circle(32, 20, 5) + star(32, 20, 17, SPOKES, BOLD, 5)
    yield "pulley-one-way", circle(32, 20, 17) + circle(32, 20, 7) + dot(32, 20) + path("".join(f"M{round(x)} {round(y)}h0" for x, y in
                            (at(32, 20, 12, angle) for angle in range(0, 360, 60))), LUMPS)
    yield "pulley-spring", circle(32, 20, 18) + circle(32, 20, 4, FULL) + coil(32, 20, 5, 15, 5)
    yield "pulley-generator", (circle(24, 20, 17) + path("M27 6L15 22h8l-3 12 13-17h-9z", FULL) + arrow(46, 13, 60, 13)
                               + arrow(60, 27, 46, 27))
    yield "crank-solid", circle(32, 20, 18) + circle(32, 20, 8) + dot(32, 20)
    yield "crank-decoupler", damper() + line(*[at(32, 20, 13 if i % 2 else 9, 30 * i) for i in range(12)], style=THIN, close="z")
    yield "crank-viscous", circle(32, 20, 18) + circle(32, 20, 14) + circle(32, 20, 6) + circle(32, 20, 10, DOTTED)
    yield "belt-ribbed", belt_cut(6, 8)
    yield "belt-both-sides", (path("M6 14" + "l5-11h3l5 11" * 4 + "v12" + "l-5 11h-3l-5-11" * 4 + "z", SHADE)
                              + path("M10 20H54", DOTTED))
    yield "belt-v", path("M15 6H49L41 34H23z", SHADE) + path("M21 12H44", DOTTED)
    yield "belt-v-pair", path("M3 8H30L24 32H9zM34 8H61L55 32H40z", SHADE) + path("M8 13H26M39 13H57", DOTTED)
    yield "belt-stretch", belt_cut(12, 15, 3) + arrow(28, 5, 7, 5) + arrow(36, 5, 57, 5)


def bearings():
    yield "roller-smooth", pulley(32, 22, 12) + circle(32, 22, 6, THIN) + turn(32, 22, 17, -150, -60)
    yield "roller-spins-on", pulley(32, 20, 5) + coil(32, 20, 8, 18, 4) + head(32, 2, 0)
    yield "roller-rough", (circle(32, 20, 14) + circle(34, 21, 5)
                           + path("M20 16l4 3-3 3 4 3M40 11l-3 3 4 1M27 30l2-3 2 3")
                            + path("M14 8l-5 5 4 2-5 6 4 2-4 6M51 8l5 5-4 2 5 6-4 2 4 6"))
    yield "turn-blocked", pulley(30, 22, 12) + circle(30, 22, 6, THIN) + turn(30, 22, 17, -150, -50) + path("M44 2V14", BOLD)
    yield "shaft-firm", on_shaft()
    yield "shaft-rocks", on_shaft(11) + edge_on(40, tilt=-11, style=GHOST) + arrow(51, 6, 62, 6, True)
    yield "rock-the-rim", on_shaft() + arrow(50, 8, 62, 8, True) + arrow(50, 32, 62, 32, True)
    yield "weep-trail", (box(6, 5, 26, 17) + path("M32 10h8M32 17h8", THIN) + edge_on(46, 14, 24) + dot(19, 22, BOLD)
                         + path("M17 26q-4 5 0 7t-2 6M21 26q3 6 1 8t3 5", THIN) + drop(10, 28))
    yield "seal-wet", on_shaft() + drop(24, 23) + drop(30, 26) + drop(24, 32, .9)
    yield "overrun-works", overrun(17, 1, True) + overrun(47, -1, False)
    yield "overrun-locked", overrun(17, 1, True) + overrun(47, -1, True)
    yield "overrun-free", overrun(17, 1, False) + overrun(47, -1, False)
    yield "overrun-rough", (circle(32, 20, 17) + circle(32, 20, 5, FULL) + spring(37, 20, 43, 14, 3)
                            + path("M49 15l-4-3M15 22l5 2-3 4 6 1M22 7l2 5 4-2 0 5"))
    yield "overrun-jerks", (circle(13, 25, 10) + circle(13, 25, 4, FULL) + star(13, 25, 10, SPOKES, BOLD, 4)
                            + path("M14 15q8-13 16 0t15-1 16 1M14 35H61"))
    yield "hold-and-turn", (circle(26, 22, 13) + circle(26, 22, 5, FULL) + turn(26, 22, 18, -165, -100)
                            + turn(26, 22, 18, -15, -80) + path("M26 22H60M55 15V29", BOLD))


def cranks():
    yield "damper-sound", damper() + star(32, 20, 12.5, AROUND, THIN, 9.5)
    yield "damper-cracked", (damper() + path("M42 14l1 4 2 1-1 4M24 10l3 1 1-3M31 29l1 2 3 0-1 2")
                             + path("M20 25q-7 4-1 9 5-1 5-5z", FULL))
    yield "damper-parted", damper(38)
    rings = circle(32, 20, 18) + circle(32, 20, 12) + circle(32, 20, 7)
    yield "mark-straight", rings + path("M32 16V2", BOLD)
    yield "mark-broken", rings + path("M32 16V9", BOLD) + star(32, 20, 18, (-48,), BOLD, 13)
    fixed = path("M50 3V37M50 8l7-5M50 16l7-5M50 24l7-5M50 32l7-5", THIN)
    yield "crank-true", edge_on(28, high=34) + path("M6 17H22M6 23H22", THIN) + fixed
    yield "crank-slight", (edge_on(28, high=32, tilt=4) + edge_on(28, high=32, tilt=-4, style=GHOST)
                           + path("M6 17H22M6 23H22", THIN) + fixed)
    yield "crank-wobbles", (edge_on(27, high=32, tilt=16) + edge_on(27, high=32, tilt=-16, style=GHOST)
                            + path("M4 17H20M4 23H20", THIN) + fixed)
    spring_round = [at(32, 20, 14 if i % 2 else 9, 15 * i) for i in range(25)]
    yield "decoupler-springs", circle(32, 20, 18) + circle(32, 20, 5, FULL) + line(*spring_round)
    yield "decoupler-play", (circle(32, 20, 18) + circle(29, 21, 5, FULL) + line(*spring_round[1:6]) + line(*spring_round[10:15])
                             + turn(32, 20, 12, -135, -35, True))
    edge = path("M2 3H62V8H2z", THIN)
    for name, right in (("within", edge_on(48, 21, 20)), ("offset", edge_on(48, 28, 20)), ("tilted", edge_on(49, 24, 20, 15))):
        yield "line-" + name, edge + edge_on(14, 21, 20) + path("M14 21h0") + right
    yield "grooves-clean", grooves()
    worn = "q3 0 3 6 3 0 3 10h2q0-10 3-10 0-6 3-6"
    yield "grooves-worn", path("M4 12" + worn * 4 + "V37H4z")
    yield "grooves-dirty", grooves() + circle(11, 17, 3, FULL) + path("M20 12l9 1-2 10-4 2zM47 12l4-6 5 5-5 5z", FULL)
    yield "grooves-wet", grooves() + drop(11, 4, 1.5) + drop(25, 9, 1.6) + drop(53, 6, 1.5)
    yield "brush-grooves", grooves() + box(21, 2, 22, 6) + path("M24 8V17M28 8V22M32 8V15M36 8V18M40 8V22", THIN)


def fitting():
    yield "seat-right", seat(4)
    yield "seat-one-off", seat(18)
    yield "route-wrong", (pulley(11, 28, 9) + pulley(54, 28, 7) + pulley(33, 15, 7) + path("M9 19Q33-3 57 22M11 37L54 35")
                          + path("M16 20q10 4 17 4t16-1", GHOST))
    yield "marking-same", path("M3 5H61V17H3zM3 23H61V35H3z" + "M9 11H23M28 11h6M9 29H23M28 29h6")
    yield "marking-longer", path("M3 5H42V17H3zM3 23H61V35H3zM9 11H23M28 11h6M9 29H23M28 29h6") + path("M42 2V38", GHOST)
    yield "marking-ribs", path("M6 10V3H58v7" + "l-4 7h-5l-4-7" * 4 + "zM6 29V22H45v7" + "l-4 7h-5l-4-7" * 3 + "z", SHADE)
    yield "marking-worn", path("M3 10H61V30H3z") + path("M9 24q3-9 6-3t6-4 5 6 6-6 6 7 6-8 6 6 5-3", THIN)
    plate = path("M12 3V37H60V24H27V3z")
    yield "bracket-tight", plate + bolt(19.5, 11) + bolt(19.5, 29) + bolt(49, 30.5)
    yield "bracket-loose", plate + bolt(19.5, 11) + circle(49, 30.5, 4, GHOST) + bolt(51, 12) + path("M27 24l-4 4 5 2-4 3 3 4")
    cover = path("M4 3H40V13H4zM40 8h8") + strip(2, 30, 38)
    yield "leak-none", cover
    yield "leak-reaches", cover + path("M12 13q-2 6 1 8t0 9M18 13q3 7 0 17M24 13q-2 5 1 7") + drop(31, 16) + drop(38, 21)
    yield "no-lever", path("M4 38A22 22 0 0 1 42 38M23 38h0M42 2L58 20M58 2L42 20") + path("M18 22L56 9", BOLD)
    yield "cut-belt", (path("M3 12H25l4 8-4 8H3M61 12H38l-4 8 4 8H61")
                       + path("M3 17H24M3 23H24M40 17H61M40 23H61M45 2L27 36M27 4L41 36", THIN))
    yield "guide-on-rim", (path("M4 38A24 24 0 0 1 47 22") + path("M2 26Q8 9 25 8T45 13", "") + path("M40 18l9-9 5 6-8 9z", FULL)
                           + turn(27, 38, 13, -140, -40))
    yield "two-turns", bolt(26, 20, 6) + coil(26, 20, 9, 17, 4) + head(26, 3, 0) + path("M31 23L61 37", BOLD)
    yield "press-span", (pulley(9, 22, 7) + pulley(55, 22, 7) + path("M9 15L32 24 55 15M9 29H55") + path("M9 15H55", GHOST)
                          + arrow(32, 3, 32, 20))
    yield "pluck-span", (pulley(9, 30, 7) + pulley(55, 30, 7) + path("M9 37H55M9 23Q32 15 55 23Q32 31 9 23") + path("M9 23H55", GHOST)
                          + path("M25 1H39V10H25Z") + path("M29 14l-3-2M32 14.500v-2M35 14l3-2", THIN))
    yield "belt-slack", pulley(10, 18, 8) + pulley(54, 18, 8) + path("M10 10Q32 24 54 10M10 26Q32 44 54 26")
    yield "belt-tight", loop(11, 20, 53, 20, 8) + path("M24 6l-5-5M32 5V1M40 6l5-5M24 34l-5 5M32 35v4M40 34l5 5", THIN)
    yield "pulses-uneven", path("M3 34h6V8h7v26h6V8h7v26h6V25h7v9h6V8h7v26h6")


def picture(name, drawing):
    """One picture, its paths of one style joined."""
    styles = [style for style in STYLES if any(style == one for one, _ in drawing)]
    paths = [f'{style} d="{"".join(d for one, d in drawing if one == style)}"/>' for style in styles]
    if len(paths) == 1:
        return f'<path id="{name}"{paths[0]}\n'
    return f'<g id="{name}"><path' + "<path".join(paths) + "</g>\n"


def text():
    """The file as it has to be."""
    groups = (noises, belt_faces, running, tensioners, kinds, bearings, cranks, fitting)
    drawn = "".join(picture(name, drawing) for group in groups for name, drawing in group())
    return f'<svg xmlns="http://www.w3.org/2000/svg"><defs>\n{drawn}</defs></svg>\n'


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
