"""Names, notes and lists beside numbers, and what a phone says for itself: each read once, as a reader meets it."""

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons.said import said

READ = (
    (because("near_name"), "Near an earlier hit"),
    (because("near_who"), "those near an earlier hit"),
    (because("fresh_name"), "Fair"),
    (because("fresh_who"), "the fair ones"),
    (because("term_angle", step_deg=10.0), "10° further from square"),
    (because("term_near", step_mm=10.0), "10 mm further from the nearest earlier hit"),
    (because("term_entry", entry="rivet", usual="plate"), "in at rivet instead of plate"),
    (because("plan_in_a_list", each=3, mixed="heads", panel="P3, build 2", seed=418), "3 each, heads, at P3, build 2, seed 418"),
    (because("plan_seed", seed=418), "418 (the same seed and kit give the same order again)"),
    (because("phone_enough"), "Enough, by the trial’s rule"),
    (because("phone_unread"), "Once the last is read, the rule says which"),
    (because("phone_not_sound"), "The rule’s arrow is not sound: once the laptop hears of it, the rule says which"),
    (because("phone_none_at_hand"), "The rule has no sound arrow with a known energy"),
    (because("counted_in_a_file", counted=39, loosed=43), "Counted: 39 of 43 shots."),
    (because("perhaps_next_band", limit="80 J"), "perhaps in the next band, at 80 J"),
    (because("several_bows", bows=3, most="145 lb bow"), "3 bows, most shots with the 145 lb bow"),
    (because("no_such_list"), "There is no such list of shots left out."),
    (because("no_such_row"), "The table has no such row."),
    (because("no_such_band"), "The table has no such energy band."),
    (because("no_such_count"), "The table has no such count."),
    (
        because("axis_note", axis="tip"),
        "A tip’s area is known to 10 % at best; of a rounded tip it is taken 0.1 mm in. Use it only to compare heads at first contact.",
    ),
    (because("axis_note", axis="front"), "This uses the head’s frontal area, as if the whole head had to pass."),
    (
        because(
            "showing",
            fair="fair",
            picked=("not through a gap", "on P16"),
            place="target",
            by="",
            meaning="point through or more",
            interval="mid-P",
        ),
        "Showing: fair hits, not through a gap, on P16. Energy at the target. Through means point through or more. "
        "Intervals: mid-P, 95\N{NO-BREAK SPACE}%.",
    ),
    (
        because(
            "showing",
            fair="any",
            picked=("wherever it went in",),
            place="chronograph",
            by="per mm of cutting edge",
            meaning="past the body line",
            interval="Wilson",
        ),
        "Showing: hits, fair or not, wherever it went in. Energy at the chronograph, per mm of cutting edge. Through "
        "means past the body line. Intervals: Wilson, 95\N{NO-BREAK SPACE}%.",
    ),
    (because("no_distance"), "distance to the panel not recorded"),
    (because("no_shaft"), "shaft not measured"),
    (because("no_flight"), "the flight to the panel can’t be worked out"),
    (because("no_own_speed"), "short draw with no speed of its own"),
    (because("no_speed"), "no speed read for that bow, arrow and archer"),
    (because("left_out_never_weighed"), "arrow never weighed"),
    (because("of_a_gap", counts="2 by rivet"), "2 by rivet; says nothing about the plate, counted separately"),
    (because("of_no_band", counts="3 arrow never weighed"), "3 arrow never weighed; in no band, listed by head in the table"),
    (because("energy_not_told", place="target"), "energy at the target can’t be told"),
    (because("past_rear_face", depth_m=0.028, at_least=True), "at least 28\N{NO-BREAK SPACE}mm past the rear face"),
    (because("past_rear_face", depth_m=0.06, at_least=False), "60\N{NO-BREAK SPACE}mm past the rear face"),
    (because("order_on_panel", of_trial=True), "order of this trial’s hits on this panel"),
    (because("order_on_panel", of_trial=False), "order on this panel"),
    (
        because("panel_hits_caption", order="order on this panel", unplaced=0),
        "Number: order on this panel. Letter: phone and its count. Tile: the outcome level.",
    ),
    (
        because("panel_hits_caption", order="order on this panel", unplaced=2),
        "Number: order on this panel. Letter: phone and its count. Tile: the outcome level. 2 with no known place are only in the list.",
    ),
    (
        because("panel_room", free=("3", "7"), spots=12, unplaced=1),
        "2 of 12 aim spots still free: 3, 7. 1 hit with no known place may spoil more.",
    ),
    (because("panel_room", free=(), spots=12, unplaced=0), "None of 12 aim spots is free."),
    (because("heads_without_measure", measure="tip flat"), "heads whose tip flat is not known"),
    (because("heads_with_measure", measure="wedge angle", words="20 to 25°"), "heads with a wedge angle of 20 to 25°"),
    (because("shots_over", garment="linen 9 mm"), "shots at panels over linen 9 mm"),
    (because("shots_in_front", backing="clay 90 mm"), "shots at panels in front of clay 90 mm"),
    (because("energy_of_bow", bow="Ash", archer="Wren"), "Energy of Ash, Wren, at the chronograph"),
    (because("weight_of_bow", bow="Ash"), "Weight of Ash at the draw"),
    (because("not_shot"), "not shot"),
    (because("not_weighed"), "not weighed"),
    (because("arrows_on_average", mass_kg=0.0812), "arrows of 81.2\N{NO-BREAK SPACE}g on average"),
    (
        because("backing_was_deep", stand="Frame", deep_m=0.02, mass_kg=1.0, height_m=2.0, how="a steel ball", at=None),
        "Frame: 20\N{NO-BREAK SPACE}mm deep, 1\N{NO-BREAK SPACE}kg let fall 2\N{NO-BREAK SPACE}m, a steel ball",
    ),
    (
        because("backing_was_deep", stand="Frame", deep_m=0.02, mass_kg=None, height_m=None, how="", at=None),
        "Frame: 20\N{NO-BREAK SPACE}mm deep",
    ),
    (because("many_of_them", number=21, again=("2", "6", "7 in build 3")), "21 of them, 3 in all trials: 2, 6, 7 in build 3"),
    (because("many_of_them", number=21, again=()), "21 of them, none in all trials"),
    (because("day_with_its_weather"), "the day with its weather"),
    (because("hits_when_it_began", trial="Trial 2", hits=3, day="2026-10-17"), "Trial 2: 3 earlier hits when it began on 17 October 2026"),
    (
        because(
            "same_build_again",
            number=1,
            met=(
                because("hits_when_it_began", trial="Trial 1", hits=0, day="2026-10-17"),
                because("hits_when_it_began", trial="Trial 2", hits=1, day="2026-10-24"),
            ),
        ),
        "The same build 1, nothing was done to it between, as far as the book knows. Trial 1: 0 earlier hits when it "
        "began on 17 October 2026; Trial 2: 1 earlier hit when it began on 24 October 2026.",
    ),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=[str(reason) for reason, _ in READ])
def test_a_reason_is_said_in_its_reviewed_words(reason: Reason, words: str) -> None:
    assert said(reason) == words
