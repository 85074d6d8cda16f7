"""The order of work for each kind of tensioner. The order itself is common practice, no source; what is held here is its logic."""

import pytest

from webapp.core import fitting, words

KINDS = [code for code, _label in words.choice_pairs("tensioner") if code != "unknown"]


def codes(tensioner, belt="ribbed", pin_hole="yes", pulleys=()):
    return [line["item"] for line in fitting.lines(tensioner, belt, pin_hole, list(pulleys))]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("pin_hole", ["yes", "no", "unknown"])
def test_every_kind_has_an_order_that_ends_with_turns_by_hand_and_counted_tools(kind, pin_hole):
    order = codes(kind, pin_hole=pin_hole)
    assert len(order) == len(set(order)) and order[-1] == "counted"
    assert order.index("seats") < order.index("turned") < order.index("seated_again")
    pins = [order.index(code) for code in ("pin_out", "arms_out") if code in order]
    assert all(at < order.index("turned") for at in pins)
    assert ("pin_in" in order) == ("pin_out" in order)
    if "pin_in" in order:
        assert order.index("pin_in") < order.index("belt_on") < order.index("pin_out")


def test_a_tensioner_that_is_not_known_has_no_order():
    assert fitting.lines("unknown", "ribbed", "unknown", []) == []
    # But a stretch-fit belt says enough by itself.
    assert "cut_off" in codes("unknown", "stretch") and codes("fixed", "stretch") == codes("stretch_fit")


def test_pins_follow_the_pin_hole():
    assert "pin_in" not in codes("automatic", pin_hole="no")
    by_hole = {line["item"]: line["kind"] for line in fitting.lines("hydraulic", "ribbed", "yes", [])}
    unsure = {line["item"]: line["kind"] for line in fitting.lines("hydraulic", "ribbed", "unknown", [])}
    assert by_hole["pin_out"] == "must" and unsure["pin_out"] == "maybe"
    assert "pin_in" not in codes("eccentric") and "arms_out" in codes("two_arm")


def test_manual_kinds_measure_again_and_automatic_ones_read_the_pointer():
    assert all("measure_again" in codes(kind) and "pointer" not in codes(kind) for kind in ("eccentric", "slotted", "lead_screw"))
    assert "pointer_again" in codes("automatic") and "window_again" in codes("automatic_set") and "marks_both_again" in codes("two_arm")
    # A strut may have no pointer; a stretch-fit belt shows at its edges what fitting did to it.
    assert {line["item"]: line["kind"] for line in fitting.lines("hydraulic", "ribbed", "yes", [])}["strut_pointer"] == "maybe"
    assert codes("stretch_fit").index("seated_again") < codes("stretch_fit").index("edges")
    assert codes("slotted").index("loose_slot") < codes("slotted").index("set_slot") < codes("slotted").index("lock_slot")


def test_ribs_are_seated_pulley_by_pulley_where_the_drive_is_known():
    order = fitting.lines("slotted", "ribbed", "no", ["crank", "pump", "alternator"])
    assert [line["what"] for line in order if line["item"].startswith("seat:")] == [
        "Ribs seated: crank", "Ribs seated: pump", "Ribs seated: alternator"]
    long = ["Idler between pump and alternator, upper", "Idler between pump and alternator, lower"]
    assert len({line["item"] for line in fitting.lines("slotted", "ribbed", "no", long) if line["before_turning"]}) == 2
    # The belt's back has no ribs to seat on a smooth pulley.
    order = fitting.lines("automatic", "ribbed", "no", ["crank", "idler"], ["idler"])
    assert [line["what"] for line in order if line["before_turning"]] == ["Ribs seated: crank", "Belt's back between both edges: idler"]
    assert [line["what"] for line in fitting.lines("slotted", "vbelt", "no", ["crank"]) if line["before_turning"]] == [
        "Belt deep in its groove: crank"]


def test_a_matched_pair_is_one_set_and_equally_tight():
    order = codes("slotted", "vbelt_pair")
    assert order[0] == "one_set" and order.index("set_slot") < order.index("both_tight") < order.index("turned")


def test_nobody_turns_the_engine_with_a_pin_in_or_ribs_unseated():
    found = [dict(line, state="open") for line in fitting.lines("automatic", "ribbed", "yes", ["crank", "pump"])]
    assert fitting.too_early(found, ["clean"]) == []
    assert fitting.too_early(found, ["turned"]) == ["Weight taken on the bar, locking pin out and counted", "Ribs seated: crank",
                                                    "Ribs seated: pump"]
    assert fitting.too_early(found, ["turned", "pin_out", "seat:crank", "seat:pump"]) == []


def test_every_line_has_a_reason_and_no_number_of_its_own():
    """Torque and angle are typed from the maker's data, so no line may hold one."""
    used = {code for _kind, order in fitting.ORDER for code in order}
    for code, what, why, caution, _kind in fitting.LINES:
        assert what and why and (not caution or words.caution(caution))
        assert not any(sign.isdigit() for sign in what + why), code
        assert code in used or code in ("one_set", "both_tight")
