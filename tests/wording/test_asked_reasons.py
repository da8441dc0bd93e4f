"""What is wrong with what an address asks, and words of forms, lists and drawings: each read once, as a reader meets it."""

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons import asked
from proofyard.wording.reasons.said import said

READ = (
    (
        because("asked_no_choice", typed="colour", shown="Fair only"),
        "“colour” is not one of the choices. Pick one; until then it shows “Fair only”.",
    ),
    (because("asked_no_choice", typed="colour", shown=""), "“colour” is not one of the choices. Pick one."),
    (because("asked_is_not", typed="felt", what="a kind of steel"), "“felt” is not a kind of steel here. Pick one from the list."),
    (because("asked_nothing"), "That has to be more than nothing."),
    (because("asked_no_page", typed="x"), "“x” is no page of the list. Pick one below; until then it shows the first."),
    (because("asked_depth"), "Enter the depth past the rear face, for example 20 mm; until then it shows any depth."),
    (
        because("asked_limits_too_long", most=12, example="60, 80, 105"),
        "That is too long for band limits: 12 numbers at most, for example 60, 80, 105.",
    ),
    (
        because("asked_one_limit_or_two", typed="60,80", example="60, 80, 105"),
        "“60,80” could be one number or two. Put a space between limits, for example 60, 80, 105.",
    ),
    (
        because("asked_too_many_limits", limits=14, most=12, example="60, 80, 105"),
        "14 limits are too many to read: 12 at most, for example 60, 80, 105.",
    ),
    (because("asked_no_limit", typed=";", example="60, 80, 105"), "There is no number in “;”. Enter band limits, for example 60, 80, 105."),
    (because("asked_limit_twice", example="60, 80, 105"), "One limit is there twice. Enter each once, for example 60, 80, 105."),
    (
        because("asked_limit_in_unit", typed="5 mm", unit="mm", example="60, 80, 105"),
        "“5 mm” is not a band limit. Enter numbers in mm without the unit, for example 60, 80, 105.",
    ),
    (
        because("asked_never_fair"),
        "These two settings exclude each other: a hit there is never fair. Pick “Any, fair or not”, or another place where it went in.",
    ),
    (
        because("asked_no_percentages", typed="all", example="10, 90"),
        "“all” is not a list of percentages. Enter numbers, for example 10, 90.",
    ),
    (because("asked_within_100", example="10, 90"), "Enter percentages above 0 and below 100 %, for example 10, 90."),
    (because("asked_too_many_shares", shares=5, most=4, example="10, 90"), "5 are too many to read: 4 at most, for example 10, 90."),
    (because("asked_a_second"), "Tick a second one, or none to compare all."),
    (because("asked_too_many_groups", most=5, groups=7), "Tick 5 at most: 7 need too many comparisons for any difference to be shown."),
    (because("asked_too_many_trials", trials=6, most=4), "6 trials are too many: pick 4 at most. The first 4 are shown."),
    (because("asked_no_number_of_shots", typed="many", most=200), "“many” is no number of shots that can be counted out. Give 1 to 200."),
    (because("asked_draw_weight"), "Enter the draw weight, for example 160 lb."),
    (because("asked_panel"), "That panel is not in the list. Pick one."),
    (because("asked_panel_type"), "The panel was not shot with that behind it. Pick one from the list."),
    (because("asked_no_rule", what="the rings’ wire"), "There is no rule for the rings’ wire of this kind of armour. Enter nothing here."),
    (
        because("asked_no_interval", typed="180 HV"),
        "“180 HV” is not an interval: enter a range, for example 170 to 190 HV, 45 to 50 HRC or 500 to 600 MPa.",
    ),
    (because("asked_one_scale"), "Both ends on one scale: enter a range, for example 170 to 190 HV, 45 to 50 HRC or 500 to 600 MPa."),
    (
        because("asked_no_table", scale="HRB"),
        "No table leads from HRB to a strength: enter a range, for example 170 to 190 HV, 45 to 50 HRC or 500 to 600 MPa.",
    ),
    (
        because("asked_one_figure"),
        "A hardness is never one figure: enter a range, for example 170 to 190 HV, 45 to 50 HRC or 500 to 600 MPa.",
    ),
    (because("asked_softer_first", low=170.0, high=190.0, scale="HV"), "From the softer end to the harder: 170 to 190 HV?"),
    (because("asked_trial"), "That trial is not in the list. Pick one."),
    (because("asked_panel_not_hit"), "None of these shots hit that panel. Pick one from the list."),
    (because("asked_shot"), "That shot is not among these."),
    (because("asked_no_after"), "Enter nothing here: this arrow neither bounced back nor passed right through."),
    (because("blunt_drawing"), "Energy passed to the panel, by energy at the target"),
    (
        because("blunt_drawn", shots=1),
        "1 shot that did not get through: the energy of each at the panel, and the least and most of it that passed to "
        "the panel. The rest went into dent, heat and shaft. Illustrative: this does not show what anyone could bear.",
    ),
    (
        because("blunt_drawn", shots=3),
        "3 shots that did not get through: the energy of each at the panel, and the least and most of it that passed to "
        "the panel. The rest went into dent, heat and shaft. Illustrative: this does not show what anyone could bear.",
    ),
    (
        because("blunt_mark", label="B1", panel="P2", energy_j=72.0, low_j=1.4, high_j=5.2, open_above=False),
        "B1: hit with 72\N{NO-BREAK SPACE}J, 1.4 to 5.2\N{NO-BREAK SPACE}J passed to P2",
    ),
    (
        because(
            "what_if_drawn",
            shots=8,
            through=3,
            told=(because("what_if_drawn_one", letter="A", finding=because("no_speed"), low_j=74.0, high_j=82.0),),
        ),
        "8 shots, 3 through. A: no speed read for that bow, arrow and archer; by the rules alone 74 to 82\N{NO-BREAK SPACE}J.",
    ),
    (
        because("setup_in_a_list", panel="P3", day="2026-10-17", trial=3, question="Which heads?"),
        "P3, 17 October 2026, trial 3: Which heads?",
    ),
    (because("end_with", setup="P3, 14 m", labels="A7 and B3"), "P3, 14 m: end with A7 and B3"),
    (because("end_of_its_own", setup="P3, 14 m"), "P3, 14 m: an end of its own"),
    (because("step_trial_not_open"), "its trial is not open"),
    (because("step_cautions", ticked=2, of=7), "2 of 7 cautions ticked"),
    (because("step_no_setup"), "no set-up yet"),
    (because("order_not_recorded", did="Dented"), "Dented; order in the end not recorded"),
    (because("head_without_name"), "a head with no name"),
    (because("speeds_named"), "Beside a line: the arrow, in brackets its build."),
    (because("speeds_as_written"), "in the order written down"),
    (because("label_in_series", series=2, reading=4), "series 2, reading 4"),
    (because("label_on_shot", reading=4), "shot, reading 4"),
    (because("speed_short_draw"), "short draw"),
    (because("speed_read_further"), "read further down range"),
    (because("claim_of_these"), "With these arrows on these panels"),
    (because("claim_of_the_type"), "For the type"),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=[str(reason) for reason, _ in READ])
def test_a_reason_is_said_in_its_reviewed_words(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_every_sentence_was_reviewed() -> None:
    assert set(asked.SENTENCES) - {reason.code for reason, _ in READ} == set()
