"""What the reasons of answers and views say, one of each; the others are read in the test of each page."""

from proofyard.quantities.reason import Reason, because

REVIEWED: tuple[tuple[Reason, str], ...] = (
    (
        because(
            "expected_share",
            share=0.1,
            heads=(
                because("share_beside", head="leaf", counts="1 of 3", low=0.02, high=0.87, where="holds"),
                because("share_beside", head="long needle bodkin", counts="4 of 4", low=0.47, high=1.0, where="above"),
            ),
            chosen=False,
        ),
        "10\xa0% through. Found: leaf 1 of 3 (2 to 87\xa0%: may be as expected); long needle bodkin 4 of 4 (47 to 100\xa0%: more than "
        "expected).",
    ),
    (
        because(
            "expected_share",
            share=0.6,
            heads=(because("share_beside", head="leaf", counts="1 of 9", low=0.0, high=0.4, where="below"),),
            chosen=True,
        ),
        "60\xa0% through. Energies were chosen by the outcomes so far, so a share over all of them means nothing.",
    ),
    (
        because(
            "expected_energy",
            energy_j=100.0,
            points=(
                because(
                    "energy_beside",
                    head="leaf",
                    on="1.6 mm one-piece plate",
                    estimate=because("estimate", energy_j=75.4, low_j=63.0, high_j=90.3),
                    where="below",
                ),
            ),
        ),
        "a 50\xa0% energy of 100\xa0J. Found: leaf on 1.6 mm one-piece plate 75\xa0J, 95\xa0% interval 63 to 90\xa0J: less than expected.",
    ),
    (because("expected_energy", energy_j=100.0, points=()), "a 50\xa0% energy of 100\xa0J. These shots give no 50\xa0% energy yet."),
    (because("other_not_compared"), "not compared"),
    (
        because("gap_size", difference=1.0, high=1.0, low=0.2548),
        "100 percentage points more; 95\xa0% interval 25 to 100 percentage points more",
    ),
    (
        because("near_energies_unlike", gap=0.031),
        "The mean energies of the two groups differ by 3.1\xa0%, so a difference could be due to the energy.",
    ),
    (
        because("near_energies_not_measured"),
        "The energies of one of the two groups are not measured, so a difference could be due to the energy.",
    ),
    (
        because("ranks_told", kind="depth", higher=13.5, pairs=24, p=0.21, shifts=(), who="the leaf"),
        "Depth past the rear face, exploratory: the leaf went deeper in 13.5 of 24 pairs of shots at like energy, a tie counted half "
        "(p = 0.21, uncorrected).",
    ),
    (
        because("point_of_chosen_energies"),
        "The energies were chosen by the outcomes so far, so the interval is widened for that; where the curve rises slowly, closed "
        "intervals of 20 shots still held the true point in only 82 to 93 of 100 simulations.",
    ),
    (
        because("shots_to_tell_apart", method=because("every_result_of_the_mid_p_test"), other=0.8, reached=0.8066, share=0.3, shots=15),
        "To tell 30\xa0% from 80\xa0%, shoot 15 with each head: such a trial shows the difference 81\xa0% of the time, if the shares are "
        "as you think (mid-P test, every result counted).",
    ),
    (
        because(
            "near_and_fair_counts",
            fair=11,
            near=3,
            of_fair=20,
            of_near=4,
            past="through",
            size=because("gap_size", difference=0.2, high=0.5, low=-0.3),
        ),
        "Near an earlier hit: 3 of 4 through; fair hits: 11 of 20. That is 20 percentage points more; 95\xa0% interval 30 percentage "
        "points less to 50 percentage points more.",
    ),
    (
        because("ratio_hardly_shown", shots=8),
        "With 8 shots a head over several energies, a head that needs 1.3 times the energy of another is shown in fewer than 3 of 10 "
        "such trials.",
    ),
    (
        because("tenth_hardly_settled"),
        "A difference of a tenth of the energy can hardly be ruled out, even with 40 shots a head: with none at all, such a trial says so "
        "in about 9 to 26 of 100 cases.",
    ),
    # results
    (because("no_shots_yet"), "No shots yet"),
    (because("no_shot_matches"), "No shot in the book matches what you picked."),
    (because("reasons_below"), "The reasons are listed below."),
    (because("table_lists_them"), "The table lists them by head."),
    (
        because("others_at_that_energy", on="mail", heads=(because("head_so_far", head="leaf", why="3 of the 20 planned shots are left"),)),
        "At the same energy, mail: leaf: 3 of the 20 planned shots are left.",
    ),
    (because("other_too_few"), "too few shots to give a percentage"),
    (because("no_totals"), ("Energies were chosen by the outcomes so far, so one share over all of them means nothing")),
    (because("no_totals_do"), ("Enter band limits under Settings, or look at the 50\xa0% energy, which such shots can still give.")),
    (
        because("blind_energies", shots=2),
        ("The energy of 2 shots has no uncertainty, because the accuracy of the instruments is not recorded."),
    ),
    (
        because("drag_assumed", shots=39),
        (
            "For 39 shots the loss to air drag rests on an assumed drag, not a measured one: an arrow "
            "with tall feathers or a broad head may have lost more."
        ),
    ),
    (because("axis_note", axis="edge"), "This counts the whole edge as cutting; once through, only the part still in contact cuts."),
    (
        because("speeds_of_like_pooled", shots=6),
        ("6 shots took the speed of like combinations (same bow, archer and fletching, mass within 2 %), with a wider uncertainty."),
    ),
    (
        because("mixed_panel_types", types=("1\xa0mm scale", "mail")),
        ("These counts mix 2 panel types (1\xa0mm scale, mail). Pick one panel type to compare heads on it."),
    ),
    (because("no_shots_to_count"), "No shots to count."),
    (because("too_few_in_a_band", most=3), "Too few shots to give a percentage: at most 3 shots in a band."),
    (because("no_total"), ("No total over all energies, because each energy was chosen by the outcomes so far.")),
    (because("most_in_one_band", band="55 to 80\xa0J", counted="0 of 5"), "Most shots in one band: 0 of 5, 55 to 80\xa0J."),
    # compare
    (because("hits_of", high=7, low=7, shots=7), "7 of 7"),
    (
        because("nothing_to_compare", why=because("only_one_group_counted", group="the long needle bodkin")),
        "Nothing to compare: only the long needle bodkin has counted shots",
    ),
    (because("no_group_counted"), "none of these has a counted shot"),
    (because("only_one_group_counted", group="the long needle bodkin"), "only the long needle bodkin has counted shots"),
    (because("no_level_of_like_energy"), "no energy level holds both at like energy"),
    (because("no_point_through_in_either"), "no point was through in either, so there is no depth to compare"),
    (because("no_depth_measured"), "no depth past the rear face was measured"),
    (because("not_every_point_measured"), "not every point was through and measured"),
    (
        because("group_and_counts", counts=because("group_counted", apart=("1 unread",), counted=0, loosed=1), name="Leaf"),
        "Leaf: none of 1 shot are counted; 1 unread.",
    ),
    (because("not_at_equal_energy"), "These cannot be compared at equal energy"),
    (because("too_few_whatever_their_outcomes"), "Too few shots to show a difference, whatever their outcomes"),
    (
        because("no_difference_between", first="the leaf", second="the short bodkin"),
        "No difference shown between the leaf and the short bodkin",
    ),
    (because("no_two_at_one_level"), ("Their energies do not meet, so a difference could be due to the energy.")),
    (because("a_difference_may_exist"), "A difference may still exist: the intervals below say how large it can be."),
    (
        because("small_numbers", least=1),
        ("Few shots, down to 1 shot of one group: the intervals are wide, and a single shot changes them."),
    ),
    (
        because("ranks_not_told", kind="depth", why=because("no_point_through_in_either")),
        ("Depth past the rear face: no point was through in either, so there is no depth to compare."),
    ),
    (because("none_shot"), "none shot"),
    (because("count_with_interval", counted="1 of 2", interval="3 to 98"), "1 of 2 (3 to 98\xa0%)"),
    (because("no_answer_yet", why=because("none_near_an_earlier_hit")), "No answer yet: no shot hit near an earlier hit"),
    (because("too_few_near"), "Too few shots to show whether an earlier hit nearby matters"),
    (because("no_effect_of_near_shown"), "No effect of an earlier hit nearby is shown"),
    (because("near_differs", more=()), "Near an earlier hit, shots got through less often; this does not show why"),
    (
        because("two_kinds_needed"),
        ("Two kinds of shot are needed: fair hits, and hits near an earlier one. Pick other panels, or change the settings."),
    ),
    (
        because("near_against_fair", could=because("only_all_against_none_could_tell", other_shots=37, shots=1)),
        ("Near an earlier hit against fair, 1 against 37: only all against none could tell."),
    ),
    (
        because("totals_hidden"),
        ("Totals over all energies are hidden, because they mean nothing then; look at one energy level at a time."),
    ),
    (
        because("near_by_chance", p=1.0),
        (
            "Without any effect, chance alone gives such a difference or a larger one with p = 1 (mid-P, "
            "two-sided). A large p does not show that an earlier hit has no effect."
        ),
    ),
    (because("near_energies_alike"), "The mean energies of the two groups are alike."),
    (because("near_no_curve", why="no shots"), "At equal energy: no answer yet, no shots."),
    (
        because("near_mixes_types", types=("1\xa0mm scale", "mail")),
        ("This mixes 2 panel types (1\xa0mm scale, mail), and an earlier hit may matter on one and not on another. Pick one."),
    ),
    (
        because("near_mixes_forms", forms=4),
        ("This mixes 4 head forms: if the later shots had other heads than the earlier ones, a difference could be due to the head."),
    ),
    (because("p_value", p=1.0), "1"),
    # fifty percent
    (because("energy_carried", energy_j=106.5, high_j=None, low_j=74.26), "106\xa0J"),
    (
        because("estimate", energy_j=106.5, high_j=None, low_j=74.26),
        "106\xa0J, not less than 74\xa0J (one-sided, 97.5\xa0%), how far above can’t be told",
    ),
    (
        because("estimate_of_shots", estimate=because("estimate", energy_j=106.5, high_j=None, low_j=74.26), shots=6),
        ("106\xa0J, not less than 74\xa0J (one-sided, 97.5\xa0%), how far above can’t be told (6 shots)"),
    ),
    (
        because("no_estimate", why=because("none_got_through", shots=9)),
        ("no estimate yet: none of 9 shots got through, so half lies above the energies shot: try more"),
    ),
    (because("undecided_check_behind", shots=6), "6 shots undecided: check from behind whether they got through"),
    (
        because("outside_the_energies_shot", high_j=126.6, low_j=66.55),
        ("That is outside the energies shot, 67 to 127\xa0J: an extrapolation of the curve that no shot has checked."),
    ),
    (
        because("sentence_of_its_own", why=because("open_above")),
        ("Your shots don’t yet show that more energy gets through more often, so it may lie any way above."),
    ),
    (because("curve_of_mixed_types", types=4), "No curve: these shots mix 4 panel types, and each needs its own curve."),
    (
        because(
            "fifty_percent_found",
            estimate=because("estimate_of_shots", estimate=because("estimate", energy_j=100.8, high_j=190.3, low_j=81.99), shots=12),
            more=None,
        ),
        "50\xa0% energy: 101\xa0J, 95\xa0% interval 82 to 190\xa0J (12 shots).",
    ),
    (
        because("fifty_percent_not_found", why=because("none_got_through", shots=9)),
        ("No estimate yet of the 50\xa0% energy: none of 9 shots got through, so half lies above the energies shot: try more."),
    ),
    (because("estimate_of_mixed_types", types=2), "no estimate: it was shot at 2 panel types, and each needs its own"),
    (because("no_estimate_with_any_head"), "No estimate yet with any head."),
    (because("no_shots_for_a_curve"), "No shots yet."),
    (
        because(
            "lead_found",
            estimate=because("estimate", energy_j=89.99, high_j=222.8, low_j=57.93),
            more=(),
            on="1\xa0mm scale",
            who="the short bodkin",
        ),
        ("The 50\xa0% energy of the short bodkin against 1\xa0mm scale is 90\xa0J, 95\xa0% interval 58 to 223\xa0J."),
    ),
    (
        because("lead_not_found", on="mail", who="the leaf", why=because("none_got_through", shots=4)),
        (
            "No estimate yet of the 50\xa0% energy of the leaf against mail: none of 4 shots got through, so "
            "half lies above the energies shot: try more."
        ),
    ),
    (because("so_many_shots", shots=6), "6 shots"),
    (because("through_of_shots", hits=3, shots=6), "3 of 6"),
    (because("point_not_found"), "no estimate yet"),
    (
        because("range_of_point", high_j=None, low_j=90.95, outside=True),
        ("Not less than 91\xa0J (one-sided, 97.5\xa0%), how far above can’t be told; outside the energies shot"),
    ),
    (
        because("one_sided_means"),
        (
            "In simulations such a one-sided limit is right in about 98 of 100 cases where the true 50 % "
            "energy is off the middle of the energies shot. Where it is in the middle and the curve rises "
            "slowly, it is right in about 7 of 8. Shoot on the open side to close the interval."
        ),
    ),
    (
        because("closed_off_the_middle"),
        (
            "Closed intervals are right less often where the true 50 % energy is off the middle of the "
            "energies shot and the curve rises slowly: in simulations with 20 shots at slope 4, 94.2 % of "
            "them held it."
        ),
    ),
    (because("only_few_shots", shots=7), "Only 7 shots: a few more may change it a lot."),
    (because("point_on_one_panel", panel="P1"), "All on one panel, P1; another panel of this type may differ."),
    (
        because("undecided_left_out", if_all=None, if_none=None, shots=2),
        (
            "2 shots undecided and left out: counted as through, the 50\xa0% energy would be not estimated; "
            "counted as not through, not estimated."
        ),
    ),
    (because("unmeasured_left_out", shots=1), "1 shot more has no measured energy and is left out."),
    (because("no_energy_has_uncertainty"), ("None of these shots has an energy with an uncertainty, so the interval holds none.")),
    (
        because("with_energy_uncertainty", high_j=None, low_j=74.23),
        ("With the uncertainty of the energies included: not less than 74\xa0J (one-sided, 97.5\xa0%), how far above can’t be told."),
    ),
    (
        because("of_instruments", part=0.006729),
        (
            "Of that, 0.67\xa0% comes from the instruments and is shared by all these energies: it moves "
            "every head alike and changes no comparison."
        ),
    ),
    (
        because("of_combinations", combinations=3, most=0.01183, moved=0.005031),
        (
            "Up to 1.2\xa0% belongs to single combinations of bow, arrow and archer (3 combinations) and "
            "moves the 50\xa0% energy by 0.5\xa0%."
        ),
    ),
    (because("each_its_own_speed"), "Every shot has its own speed reading, so none uses the mean of its combination."),
    (because("energies_without_uncertainty", shots=1), "The energy of 1 shot has no uncertainty, so it is not included."),
    (because("energy_of_shares", shares=(0.1, 0.9)), "10\xa0% and 90\xa0% energy"),
    (because("too_few_for_tails", needed=40, shots=6), "Too few shots: 6 of the 40 needed."),
    (
        because("term_told", high=None, low=1.04, term="angle", times=1.4),
        "Angle: 50\xa0% energy times 1.40, 1.04 or more (one-sided, 97.5\xa0%).",
    ),
    (
        because("not_worked_out", why=because("too_few_for_terms", needed=20, rarer=3, terms=2)),
        ("Not worked out: it takes 20 shots of the rarer outcome to ask about 2 more things beside the energy: there are 3."),
    ),
    (
        because("one_entry_only"),
        ("Every shot here went in at the same kind of place, as far as recorded, so where it went in is not included."),
    ),
    (
        because("terms_rest_on", left_out=0, shots=6),
        ("From 6 shots, each at equal energy. Effects that always changed together cannot be separated."),
    ),
    (
        because("averaging_limit", energy_j=44.0, limit_m_s=47.75, mass_kg=0.0801),
        "47.8\xa0m/s, which is 44\xa0J with 80.1\xa0g; the rule gives no interval",
    ),
    (
        because("limit_made_of", arrows=("7",), each=5, shots=6, spread_m_s=7.0, widest_m_s=27.0),
        (
            "the 5 highest that did not get through and the 5 lowest that did, of 6 shots with arrow 7; "
            "they are 7\xa0m/s apart, 27\xa0m/s at most"
        ),
    ),
    (
        because("by_the_curve", told=because("no_estimate", why=because("none_got_through", shots=9))),
        ("No estimate yet: none of 9 shots got through, so half lies above the energies shot: try more"),
    ),
    (because("arrow_not_shot_with_this_head"), "that arrow was not shot with this head"),
    (
        because("averaging_limit_is_borrowed"),
        (
            "A rule borrowed from tests of bullets and fragments against modern armour. No standard lays "
            "it down for arrows, and it certifies nothing."
        ),
    ),
    (because("no_measured_speed"), "no shot has a measured speed"),
    # planning
    (because("panel_size_not_in_book"), "the panel’s width and height are not in the book, so no spots can be drawn"),
    (because("no_spot_far_enough"), "no spot on this panel is far enough from the edge and from earlier hits"),
    (because("choose_arrows"), "Choose the arrows that you will shoot; only sound ones are offered."),
    (
        because("more_than_a_day_holds", cells=4, each=5, most=3, of="arrows", shots=6),
        "5 for each of 4 arrows is 6 shots, more than a day holds. A plan has 3 at most.",
    ),
    (
        because("next_planned", when=because("when_line_clear"), words="arrow 7, left, spot 10 (84 mm left, 24 mm up)"),
        "arrow 7, left, spot 10 (84 mm left, 24 mm up), when the line is clear",
    ),
    (because("arrow_not_sound", tag="7"), "waits: arrow 7 is not sound"),
    (because("arrow_away", tag="7"), "waits: arrow 7 has been retired or rebuilt"),
    (because("once_checked"), "once it is checked"),
    (because("when_line_clear"), "when the line is clear"),
    (
        because("spots_caption", unplaced=0),
        (
            "Numbers in rings are the spots that the order names. They lie so far from each other, the "
            "edge and earlier hits that a hit on the spot is fair."
        ),
    ),
    (because("arrows_to_check_first", tags=("2", "3", "5")), "Arrows 2, 3, 5 must be checked first."),
    (because("combinations_without_energy", count=2), "2 combinations with no speed or mass in the book can’t be chosen."),
    (
        because("chosen_of_many_arrows", newest=20),
        "Many arrows are in use: the next is chosen from those that this trial uses, plans with or shot at its panels, "
        "and the 20 built last.",
    ),
    (
        because("plan_of_many_arrows", newest=20),
        "Many arrows are in use: counted and offered here are those that this trial uses, plans with or shot at its panels, and the 20 "
        "built last. Any other is ticked in the trial’s planned kit first.",
    ),
    (
        because("arrows_of_many", newest=20),
        "Many arrows are in use: listed are those that this trial uses, plans with or shot at its panels, and the 20 built last. Any other "
        "is ticked in the trial’s planned kit first.",
    ),
    (because("setups_of_many", most=40), "Of other open trials the newest 40 set-ups are listed."),
    (
        because("trials_of_many", most=100),
        "The newest 100 are listed. To follow an older one, open that trial and tap “Start a follow-up trial”.",
    ),
    (
        because("panels_of_many", most=100),
        "The newest 100 are listed, and this trial’s own. Any other is ticked in the trial’s planned kit first.",
    ),
    (because("rule_begins", head="leaf"), "up-and-down method: the first shot with the leaf"),
    (
        because("rule_by_the_last", head="leaf", through=True),
        "up-and-down method: the last shot with the leaf went through, so this one is to have less energy",
    ),
    (
        because("rule_by_the_last", head="leaf", through=False),
        "up-and-down method: the last shot with the leaf was stopped, so this one is to have more energy",
    ),
    (
        because("rule_narrows", head="leaf"),
        "smallest interval: this shot should tell most about the 50\N{NO-BREAK SPACE}% energy of the leaf",
    ),
    (because("trial_closed_no_next"), "The trial is closed, so there is no next shot."),
    (because("enough_so_stop", why="no shots"), "Enough: no shots."),
    (because("no_sound_arrow_with_energy"), "No sound arrow with a known energy."),
    (because("head_so_far", head="Leaf", why="no shots"), "Leaf: no shots"),
    (
        because("heads_so_far", heads=(because("head_so_far", head="leaf", why="3 of the 20 planned shots are left"),)),
        "leaf: 3 of the 20 planned shots are left",
    ),
    (because("first_with_this_head", guessed=True), "The first shot with this head: near your guess of the 50 % energy."),
    (
        because("none_at_hand_after_last", energy_j=44.0, head="Leaf", why="no shots"),
        (
            "Of the last shot that counts with the Leaf, at 44\xa0J: no shots. Bring another arrow or bow, "
            "or choose the next shot yourselves."
        ),
    ),
    (because("expected_to_narrow", by=0.2, head="Leaf"), "expected to narrow the interval of the 50 % energy of the Leaf by 20\xa0%"),
    (because("energy_at_hand", energy_j=44.0, pooled=True), "44\xa0J, as like combinations have"),
    (because("none_counts_yet"), "no shots that count"),
    (
        because("so_many_count_no_point", shots=9, why=because("none_got_through", shots=9)),
        ("9 shots that count: none of 9 shots got through, so half lies above the energies shot: try more"),
    ),
    (because("no_arrow_is_sound"), "No arrow is sound: each must be looked at before it flies."),
    (
        because("one_shot_with_each", arrows=2, head="Leaf", none_below=0.7764, width=0.8632),
        (
            "Leaf: 2 sound. One shot with each gives an interval 86 points wide if half go through, and "
            "if none do, the share may still be 78\xa0%."
        ),
    ),
    (
        because("two_heads_could_show", could=because("no_result_could_tell", other_shots=2, shots=3), first="Short bodkin", second="leaf"),
        "Short bodkin and leaf, 3 against 2: no result could tell.",
    ),
    (
        because("shots_for_a_width", about=because("if_so_many_go_through", share=0.3), reached=0.3989, shots=18, width=0.4),
        ("For an interval no wider than 40 points, shoot 18: 40 points are to be expected, if 30\xa0% go through."),
    ),
    (
        because("no_shots_for_a_width", about=because("if_half_go_through"), why="no shots"),
        "No shots, if half go through, which is the worst case.",
    ),
    (because("if_half_go_through"), "if half go through, which is the worst case"),
    (because("if_so_many_go_through", share=0.3), "if 30\xa0% go through"),
    # trial comparison
    (because("trials_side_by_side"), "Trials side by side"),
    (because("nothing_recorded_changed"), "Nothing recorded changed"),
    (because("no_trial_yet"), "There is no trial yet."),
    (because("only_one_trial"), "There is only one trial; a comparison needs two."),
    (because("pick_one_more_trial"), "Pick one more trial."),
    (because("pick_two_to_four_trials"), "Pick two to four trials."),
    (because("changes_listed_below"), "What changed from each trial to the next is listed below."),
    (
        because("for_some_shots_only", factors=("the hardness of the heads", "the arrows themselves", "who shot which bow")),
        ("For some shots only: the hardness of the heads, the arrows themselves and who shot which bow."),
    ),
    (
        because("measured_differences", figures=("weight of Bracken 112 at the draw",)),
        "Measured differences: weight of Bracken 112 at the draw.",
    ),
    (because("all_shots_looked_at"), "One of them has no counted shot here, so the changes are listed for all shots."),
    (because("nothing_changed_between"), "Nothing recorded changed between the shots counted here."),
    (because("cause_not_recorded"), "If the counts differ by more than chance, the cause is not recorded."),
    (because("nothing_changed_for_every_shot"), "No recorded thing changed for every shot."),
    (because("how_to_separate_them"), "To separate them, keep all but one the same, or shoot both ways on one day."),
    (
        because("some_could_explain_part", factors=("the arrows themselves", "the bow", "the day")),
        ("For some shots only: the arrows themselves, the bow and the day. That could explain part of a difference too."),
    ),
    (
        because("none_alike"),
        ("No shots are left in one trial if only those alike in all of that are counted, so these changes cannot be excluded."),
    ),
    (because("fair_in_one_not_in_another"), "the same hit may count as fair in one trial and not in another"),
    (because("too_few_energies", fewest=3), "fewer than 3 shots with a measured energy: too few to show a change"),
    (because("within_the_scatter"), "no larger than the shot-to-shot scatter explains"),
    (because("more_than_one_chronograph"), "read by more than one chronograph, so part of it may be due to them"),
    (because("bands_allow_for_it"), "comparing within one energy band allows for this"),
    (
        because("fair_distances_differ"),
        ("Their fair distances differ, and each trial’s hits are counted by its own. Pick “Any, fair or not” to count them alike."),
    ),
)
