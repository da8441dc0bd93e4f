"""Every reason, as a reader meets it: one reviewed text. Change a sentence here and in its table in `wording/reasons`."""

from __future__ import annotations

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording import fairness
from proofyard.wording.reasons import physics, results, shots, statistics
from proofyard.wording.reasons.said import said

# what the answers say is reviewed page by page
TABLES = (physics.SENTENCES, statistics.SENTENCES, shots.SENTENCES, fairness.SENTENCES, results.CAVEATS)
REVIEWED: tuple[tuple[Reason, str], ...] = (
    # where an uncertainty comes from
    (because("scatter_of_readings"), "scatter of the readings"),
    (because("scatter_within_a_series"), "scatter within a series"),
    (because("series_lie_apart"), "series lie apart"),
    # how often an arrow hit, and what was read of a shot
    (because("arrow_hits", made=0, sharpened=None, mounted=None, unread=0), "No hit since it was made."),
    (
        because("arrow_hits", made=4, sharpened=0, mounted=4, unread=2),
        "4 hits since it was made, never since it was sharpened, 4 since its head was mounted; 2 not read yet.",
    ),
    (
        because("thickness_along_the_shot", along_m=0.0032, layers=2, sheet_m=0.0008, angle_rad=1.0471975511965976),
        "3.2\N{NO-BREAK SPACE}mm along the shot: 2 × 0.8\N{NO-BREAK SPACE}mm nominal, at 60° from square",
    ),
    (
        because("read_again", depth_m=0.021, at_least=True, entry="plate"),
        "21\N{NO-BREAK SPACE}mm or more past the rear face, where it went in: plate",
    ),
    (because("read_again_differs", outcome=True, entry=True, apart_m=0.004), "outcome, where it went in, depth, by 4\N{NO-BREAK SPACE}mm"),
    (because("common_practice"), "common practice, no source"),
    # hardness
    (because("hardness_not_told", why=because("no_readings")), "can’t be told: no readings"),
    (because("hardness_of_the_surface", range="45 to 50 HRC"), "45 to 50 HRC, steel only, surface only"),
    (because("hardness_converted", ranges=("446 HV", "421 HBW")), "446 HV, 421 HBW, by the table, which calls itself approximate"),
    (because("strength_by_hardness", range="1480 to 1760 MPa"), "1480 to 1760 MPa, to within a tenth, if it is as hard within"),
    (because("hardness_anvil_felt", here_m=0.0008), "too thin for the method: at 0.8\N{NO-BREAK SPACE}mm the anvil is felt"),
    (
        because("hardness_too_thin", least_m=0.0016, here_m=0.0008),
        "too thin for the method: it wants 1.6\N{NO-BREAK SPACE}mm, and here are 0.8\N{NO-BREAK SPACE}mm",
    ),
    # the rules of fair hits
    (
        because("fair_hit_distances", opened_m=0.05, dented_m=0.025, edge_m=0.03, accuracy_m=0.005, spoils=(1, 3, 4, 5)),
        "50\N{NO-BREAK SPACE}mm from any hit that opened, 25\N{NO-BREAK SPACE}mm from a dent, 30\N{NO-BREAK SPACE}mm from the edge; "
        "a place is good to 5\N{NO-BREAK SPACE}mm; a hit spoils nothing if dented; marked spoils a spot too",
    ),
    (because("fair_hit_rules_of", own=0, all=4), "defaults of the construction"),
    (because("fair_hit_rules_of", own=2, all=4), "this trial’s own; what it leaves empty is the construction’s default"),
    (because("fair_hit_rules_of", own=4, all=4), "this trial’s own"),
    (because("rule_of_nij_0101_03"), "NIJ 0101.03 and .04, bullets on body armour: 5 cm from an earlier hit, 7.6 cm from the edge"),
    (because("rule_of_nij_0101_06"), "NIJ 0101.06, bullets on body armour: 51 mm from an earlier hit, 51 or 76 mm from the edge"),
    (because("rule_quoted_in_a_book"), "as quoted in a book extract, not seen in the standard itself"),
    (
        because("rule_quoted_in_notes"),
        "its sections 7.6.1 and 7.6.2, as quoted in notes on the standard (NCJ 223054), not seen in the standard itself",
    ),
    (because("no_shots"), "no shots"),
    (because("no_readings"), "no readings"),
    (because("one_reading_has_no_scatter"), "one reading tells nothing about scatter"),
    (because("one_has_no_shots"), "one of the two has no shots"),
    (because("one_has_no_depths"), "one of the two has no depths"),
    (because("no_result_could_tell", shots=3, other_shots=2), "3 against 2: no result could tell"),
    (because("only_all_against_none_could_tell", shots=4, other_shots=4), "4 against 4: only all against none could tell"),
    (because("these_could_tell", shots=5, other_shots=4, needed_hits=4), "5 against 4: it takes at least 4 of 5 against none to tell"),
    (because("depths_open_above"), "some depths are only known to be at least so much"),
    (
        because("too_few_depths_for_a_shift", depths=3, other_depths=3, level=0.95),
        "3 against 3 depths can’t bound the shift at 95\N{NO-BREAK SPACE}%",
    ),
    (because("one_head_only"), "only one head was shot, so there is nothing to compare it with"),
    (because("no_energy_level_of_both_heads"), "no energy level was shot with both heads, so nothing tells the head from the energy"),
    (because("too_few_readings_for_a_creep", readings=4, groups=2), "4 readings in 2 groups leave no room to tell a creep from scatter"),
    (because("no_group_read_at_two_places"), "no group was read at two places"),
    (because("nothing_read_twice"), "nothing was read twice"),
    (because("both_gave_one_answer"), "both gave one and the same answer to all"),
    (because("none_near_an_earlier_hit"), "no shot hit near an earlier hit"),
    (because("no_fair_shot"), "no fair shot to compare with"),
    (
        because("nobody_drew_lots_for_near_hits"),
        (
            "Nobody drew lots for which shots would hit near an earlier hit. Close groups, easy spots, the later hours and "
            "the heads shot last end there more often, and each of those may matter by itself. So this shows what went "
            "together, not what an earlier hit does. To learn that, shoot at marks set beforehand, some of them near a hit."
        ),
    ),
    (because("both_energies_not_closed"), "one of the two 50\N{NO-BREAK SPACE}% energies is not bounded on both sides yet"),
    (
        because("weights_too_alike", extra_kg_m2=0.31, within_kg_m2=0.42),
        "the two weigh alike as far as can be told: they differ by 0.31 kg/m², and that difference is known to 0.42 kg/m²",
    ),
    (because("too_few_groups", groups=2, needed=3), "it takes 3 groups to see how far groups lie apart, and only 2 can be counted here"),
    (
        because("too_many_groups_open", open_groups=2, groups=5),
        "2 of 5 groups are not bounded on both sides yet, so too few are left to speak for all",
    ),
    (because("no_two_heads_differ_at_a_level"), "no two heads were shot at one level of energy with different outcomes"),
    (because("no_head_has_a_fifty_percent_energy"), "no head has a 50\N{NO-BREAK SPACE}% energy yet"),
    (
        because("too_few_heads_for_measures", heads=4, measures=1, needed=5),
        "this can’t be told from so few heads: luck alone often puts 4 in order by the best of one measure, and it takes 5 heads that all "
        "have been measured",
    ),
    (because("more_energy_not_yet_more_often"), "your shots don’t yet show that more energy gets through more often"),
    (
        because("more_energy_no_more_often"),
        (
            "in your shots, those with more energy got through no more often than those with less, so no curve can rise "
            "through half: look for what else changed with the energy"
        ),
    ),
    (because("open_below"), "your shots don’t yet show that more energy gets through more often, so it may lie any way below"),
    (because("open_above"), "your shots don’t yet show that more energy gets through more often, so it may lie any way above"),
    (because("no_measured_energy", shots=2), "none of the 2 shots has a measured energy"),
    (because("all_got_through", shots=3), "all 3 shots got through, so half lies below the energies shot: try less"),
    (because("none_got_through", shots=3), "none of 3 shots got through, so half lies above the energies shot: try more"),
    (because("one_energy_only"), "all shots had one energy, so they can’t show how the chance changes with it"),
    (
        because("too_few_for_a_tail", shots=39, needed=40, share=0.9),
        "39 shots say too little about the tails: it takes 40 to ask where 90\N{NO-BREAK SPACE}% get through",
    ),
    (
        because("tail_outside_the_energies_shot", share=0.9, low_j=30.0, high_j=65.5),
        "the curve puts where 90\N{NO-BREAK SPACE}% get through outside the energies shot, 30 to 65.5\N{NO-BREAK SPACE}J",
    ),
    (because("two_terms_say_the_same"), "in these shots two of the terms say the same thing, so neither can be told from the other"),
    (because("one_value_parts_them"), "one value parts all shots that got through from all that did not"),
    (because("shot_scatter_unknown"), "The scatter of single shots about their combination’s energy is not known, so it is left out."),
    (
        because("shot_scatter_alone_as_flat"),
        "The scatter of single shots about their combination’s energy alone could make a curve this flat.",
    ),
    (
        because("shot_scatter_flattens", share=0.004),
        "The scatter of single shots about their combination’s energy flattens the curve by less than 1\N{NO-BREAK SPACE}%.",
    ),
    (
        because("shot_scatter_flattens", share=0.13),
        "The scatter of single shots about their combination’s energy flattens the curve by about 13\N{NO-BREAK SPACE}%.",
    ),
    (
        because("heads_slopes_differ"),
        "This takes it that more energy helps every head alike. Your shots speak against that: read it as a mean over the energies shot.",
    ),
    (
        because("heads_slopes_taken_alike"),
        "This takes it that more energy helps every head alike. Your shots don’t speak against that, though so few could hardly do so.",
    ),
    (because("heads_at_one_energy"), "all shots had one energy: compare the shares instead"),
    (because("each_head_at_its_own_energy"), "every head was shot at one energy of its own, so nothing tells the head from the energy"),
    (because("each_level_alike_throughout"), "at each energy level all shots got through, or none did"),
    (
        because("estimate_too_near_the_limit"),
        "the estimate lies so near what is claimed that nobody can say how many more shots would settle it",
    ),
    (because("energies_too_unsure_to_settle"), "more shots alone would not settle it: the energies themselves are not known well enough"),
    (because("energies_do_not_meet"), "their energies do not meet, so nothing tells them from the energy"),
    (
        because("energies_not_known_well_enough", own=0.04),
        "their energies are not known well enough to call them alike (± 4\N{NO-BREAK SPACE}%)",
    ),
    (
        because("energies_not_known_well_enough", own=None),
        "the uncertainty of their energies is not known, so nothing says that they are alike",
    ),
    (because("energies_chosen_and_no_curve"), "their energies were chosen by the outcomes, and these shots carry no curve"),
    (
        because("too_few_with_chosen_energies", shots=12, needed=20),
        "12 shots at energies chosen by the outcomes so far: under 20, the interval of such a point can’t be trusted",
    ),
    (because("only_this_head", head="leaf"), "only leaf was shot, so there is nothing to compare it with"),
    (because("every_head_alike_throughout", shots=8, through=True), "all of 8 shots got through, with every head"),
    (because("every_head_alike_throughout", shots=8, through=False), "none of 8 shots got through, with every head"),
    (
        because("too_few_for_terms", needed=10, terms=1, rarer=2),
        "it takes 10 shots of the rarer outcome to ask about 1 more thing beside the energy: there are 2",
    ),
    (
        because("too_few_for_terms", needed=30, terms=3, rarer=24),
        "it takes 30 shots of the rarer outcome to ask about 3 more things beside the energy: there are 24",
    ),
    (because("terms_at_one_energy"), "all shots had one energy: leave the energy out and compare the shares"),
    (because("term_never_changed", term="angle"), "angle was the same at every shot, so its part can’t be told"),
    (
        because("more_than_one_projectile", projectiles=("arrow A1", "arrow B2")),
        "the rule is for one projectile, and here are 2: arrow A1, arrow B2",
    ),
    (
        because("more_than_one_projectile", projectiles=tuple(f"arrow {n}" for n in range(1, 16))),
        "the rule is for one projectile, and here are 15: arrow 1, arrow 2, arrow 3, arrow 4, arrow 5, arrow 6, arrow 7, arrow 8, arrow 9, "
        "arrow 10, arrow 11, arrow 12 and 3 more",
    ),
    (
        because(
            "no_rule_is_met",
            rules=(because("rule_lacks_stopped", each_side=3, stopped=0), because("rule_lacks_stopped", each_side=5, stopped=4)),
        ),
        "3 and 3: none stopped; 5 and 5: 4 stopped",
    ),
    (because("rule_lacks_stopped", each_side=5, stopped=4), "5 and 5: 4 stopped"),
    (because("rule_lacks_through", each_side=3, through=0), "3 and 3: none got through"),
    (
        because("rule_spread_too_wide", each_side=3, spread_m_s=7.0, most_m_s=5),
        "3 and 3: they lie 7\N{NO-BREAK SPACE}m/s apart, 5\N{NO-BREAK SPACE}m/s at most",
    ),
    (
        because("rules_contradict", more=5, more_within_m_s=30.0, fewer=3, fewer_within_m_s=40.0),
        "the settings contradict each other: 5 and 5 within 30\N{NO-BREAK SPACE}m/s "
        "can never decide beside 3 and 3 within 40\N{NO-BREAK SPACE}m/s",
    ),
    (because("one_shot_follows_nothing"), "it takes two shots to see whether the second followed from the first"),
    (because("nothing_at_hand_has_an_energy"), "no arrow at hand has a known energy"),
    (because("less_after_through"), "it got through, so the next should have less"),
    (because("more_after_held"), "it was stopped, so the next should have more"),
    (
        because("same_energy_again", through=True, energy_j=40.0),
        "it got through, so the next should have less, but no energy at hand lies further down, so it is 40\N{NO-BREAK SPACE}J again",
    ),
    (
        because("same_energy_again", through=False, energy_j=65.0),
        "it was stopped, so the next should have more, but no energy at hand lies further up, so it is 65\N{NO-BREAK SPACE}J again",
    ),
    (
        because("less_than_a_step", through=True, energy_j=38.5),
        "it got through, so the next should have less, "
        "but no energy at hand lies a whole step further down: 38.5\N{NO-BREAK SPACE}J is the nearest to one",
    ),
    (
        because("all_on_the_wrong_side", through=True, last_j=40.0, nearest_j=45.0),
        "it got through, so the next should have less than 40\N{NO-BREAK SPACE}J, "
        "but all that is at hand has more: 45\N{NO-BREAK SPACE}J is the nearest",
    ),
    (
        because("all_on_the_wrong_side", through=False, last_j=50.0, nearest_j=45.0),
        "it was stopped, so the next should have more than 50\N{NO-BREAK SPACE}J, "
        "but all that is at hand has less: 45\N{NO-BREAK SPACE}J is the nearest",
    ),
    (because("all_planned_are_shot", planned=10), "all 10 planned shots are shot"),
    (because("planned_shots_left", left=10, planned=20), "10 of the 20 planned shots are left"),
    (because("no_rule_to_stop"), "no rule says when to stop"),
    (because("as_narrow_as_wanted", times=1.42, wanted_times=1.5), "the high end is 1.42 times the low end, and 1.5 was wanted"),
    (
        because("wider_than_wanted", times=1.73, wanted_times=1.5, left=because("planned_shots_left", left=10, planned=20)),
        "the high end is 1.73 times the low end, and 1.5 times is wanted; 10 of the 20 planned shots are left",
    ),
    (
        because("wider_than_wanted", times=None, wanted_times=1.5, left=None),
        "the 50\N{NO-BREAK SPACE}% energy is not bounded yet, and 1.5 times is wanted",
    ),
    (because("too_many_for_a_width", most=400, width=0.05), "it takes more than 400 shots for an interval 5 points wide"),
    (because("shares_are_the_same"), "no number of shots can show a difference between two shares that are the same"),
    (because("every_result_of_the_interval", method="mid-p"), "mid-p interval, every result counted"),
    (
        because("more_of_the_type_needed", arrows=4, panels=2),
        "no number of shots with 4 arrows on 2 panels would settle it for the type: it takes more panels",
    ),
    (because("more_shots_than_any_yard", most=5000), "it would take more than 5,000 shots"),
    (because("so_few_refute_nothing", one_in=5.0, through=2), "2 through can’t refute 1 in 5"),
    (because("every_result_of_the_mid_p_test"), "mid-P test, every result counted"),
    (because("by_a_normal_curve"), "by a normal curve with its correction: more shots than can be counted out"),
    (because("above_zero"), "above 0 and finite"),
    (because("zero_or_more"), "0 or more and finite"),
    (because("finite"), "finite"),
    (because("a_result_too_large"), "inputs whose result a number can hold"),
    (because("between", low=0.0, high=0.4), "0 to 0.4"),
    (because("whole_between", low=1, high=8), "a whole number from 1 to 8"),
    (because("whole_number"), "a whole number"),
    (because("at_least", least=2), "at least 2"),
    (because("at_most", most=0.012), "at most 0.012"),
    (because("above", limit=0.002), "above 0.002"),
    (because("below", limit=0.5), "below 0.5"),
    (because("one_for_each", count=3), "3, one for each"),
    (because("one_end_at_least"), "one end at least"),
    (because("one_channel"), "one channel"),
    (because("section_has_no_thickness", section="round"), "none: a round section is given by its width"),
    (because("what_a_panel_can_leave", panel_kg=3.0), "what a panel of 3\N{NO-BREAK SPACE}kg can have left"),
    (
        because("arrow_has_more_than_the_bow_stored"),
        "the arrow would carry more energy than the bow stored, so the draw, the force-draw points, the mass or the speed is wrong",
    ),
    (because("limbs_would_take_the_rest"), "no bow of this make gives so much to so light an arrow: its own limbs would take the rest"),
    (because("too_many_times_the_bow", most_times=3.0), "it would have to be more than 3 times as strong: no bow of the same make"),
    (
        because("arrow_too_far_from_those_shot"),
        "the arrow is under half of the lightest or over twice the heaviest that was shot: too far to say",
    ),
    (because("one_arrow_only"), "one arrow can’t tell a virtual mass: shoot a clearly heavier or lighter one too"),
    (because("masses_within_a_tenth"), "the arrows are too alike: their masses lie within a tenth of each other"),
    (because("heavier_not_slower"), "the heavier arrows weren’t the slower ones, so they differ in more than mass"),
    (because("virtual_mass_below_nothing"), "the virtual mass comes out below nothing, so the arrows differ in more than mass"),
    (
        because("virtual_mass_lost_in_chance"),
        "the arrows are too alike, or their speeds too rough: the virtual mass can’t be told from chance",
    ),
    (because("virtual_mass_not_above_nothing"), "the virtual mass can’t be told from nothing"),
    (
        because("arrow_gets_too_little", least_efficiency=0.3),
        (
            "the bow would give the heavier arrow under 30\N{NO-BREAK SPACE}% of its energy, as no bow in print does: the "
            "arrows’ speeds are too alike for their masses, so they differ in more than mass"
        ),
    ),
    (because("loosed_too_steeply", steepest_rad=0.7853981633974483), "it would have to be loosed at more than 45 degrees"),
    (because("out_of_reach"), "the arrow doesn’t reach so far, however high it is loosed"),
    (because("drag_lost_in_chance"), "the arrow’s loss of speed can’t be told from chance: stand further off, or shoot more"),
    (because("bounce_fits_any_speed"), "so long a bounce fits any speed, if the arrow left downwards"),
    (because("fewer_than_two_noises"), "fewer than two noises stand out: mark release and hit by hand"),
    (because("no_two_noises_far_enough"), "no two noises lie as far apart as release and hit do: mark them by hand"),
    (
        because("no_two_noises_fit_the_flight", slowest_m_s=20.0, fastest_m_s=120.0, distance_m=23.0),
        "no two noises lie as far apart as release and hit do at 20 to 120 m/s over 23 m: mark them by hand",
    ),
    (because("no_time_left_to_fly"), "once the sound’s own travel is taken out no time is left to fly in"),
    (because("flight_time_too_poor"), "the time from release to hit is known too poorly to tell a speed by"),
    (because("hardness_never_tried"), "nobody tried its hardness"),
    (because("hardness_outside_the_table", scale="HRC"), "what was found lies outside the table for HRC"),
    (
        because("hardness_contradicts", at_least=50.0, at_most=45.0, scale="HRC"),
        (
            "the findings contradict each other: one says at least 50 HRC, another at most 45 HRC; they may be of different "
            "places, or of a skin and what lies under it"
        ),
    ),
    (because("hardness_table_ends", scale="HRC", to="HV"), "the table from HRC to HV doesn’t reach there"),
    (because("strength_table_ends", scale="HRC"), "the table from HRC to strength doesn’t reach there"),
    (because("sheet_may_be_too_thin", least=45, scale="HRC"), "a sheet so thin needs 45 HRC or more, and that isn’t sure"),
    (
        because("asked_steel_open"),
        "the hardness of the steel asked about is open at one end, so its strength has no upper or no lower limit",
    ),
    (
        because("shot_steel_open"),
        "the hardness of the steel that was shot at is open at one end, so its strength has no upper or no lower limit",
    ),
    (because("no_faster_than_the_limit"), "it is no faster than the speed at which half are stopped"),
    (because("short_draw_without_a_speed"), "It was a short draw, and no speed was read on it."),
    (because("no_speed_read"), "No speed was read."),
    (because("never_weighed", arrow="7", arrow_build=2), "Arrow 7, build 2, was never weighed."),
    (
        because("neither_weighed_nor_speed_read", arrow="7", arrow_build=2, bow="Yew", bow_build=1),
        "Arrow 7, build 2, was never weighed, and no speed was read for it with Yew, build 1, and this archer.",
    ),
    (
        because("no_speed_of_the_combination", arrow="7", arrow_build=2, bow="Yew", bow_build=1),
        "No speed was read for arrow 7, build 2 with Yew, build 1, and this archer.",
    ),
    (because("speed_is_zero"), "its speed is 0"),
    (because("way_not_written_down", distance=True, shaft_of=None), "Nobody wrote down how far off the panel stood."),
    (
        because("way_not_written_down", distance=True, shaft_of="7"),
        "Nobody wrote down how far off the panel stood or how thick the shaft of arrow 7 is.",
    ),
    (because("speed_read_beyond_the_panel"), "The speed was read beyond the panel’s distance: one of the two was mistyped."),
    (
        because("flight_not_covered", of="diameter_m", expected=because("between", low=0.001, high=0.05)),
        "The formulas of flight don’t cover this shaft: they want 0.001 to 0.05.",
    ),
    (because("weather_outside_the_formula", of="temperature_k"), "The day’s temperature is outside of what the formula for air covers."),
    (because("no_way_to_fall_over"), "there is no way to fall over"),
    (because("sound_never_shot"), "nor checked"),
    (because("sound_looked_at"), "flexed, looked at, sound"),
    (because("sound_found_not_sound", loosed_since=False, shot=None), "found not sound"),
    (because("sound_found_not_sound", loosed_since=True, shot=None), "found not sound, and loosed since"),
    (because("sound_found_not_sound", loosed_since=True, shot="A3"), "found not sound, and loosed since: A3"),
    (because("sound_read_as_broken", shot="A7"), "cracked, broken or loose as A7 was read, not looked at since"),
    (because("sound_read_as_broken", shot=None), "cracked, broken or loose when it was read, not looked at since"),
    (because("sound_loosed_since", shot="A7"), "loosed as A7, not looked at since"),
    (because("sound_loosed_since", shot=None), "loosed, not looked at since"),
    (because("no_force_read"), "no force was read yet"),
    (because("string_rest_unknown"), "it isn’t known where the string rests: add a point with force 0, or this build’s brace height"),
    (
        because("first_point_within_the_brace"),
        "the first point lies nearer than the brace height, and has a force: one of the two is wrong",
    ),
    (because("too_few_points_with_a_force", fewest=2), "2 points with a force are the fewest, 6 to 12 are good"),
    (because("points_end_before_that_draw"), "the points end before that draw: read the force on to there"),
    (because("draw_before_the_rest"), "that draw lies before the string’s rest"),
    (because("too_few_points_below_that_draw"), "too few points lie below that draw"),
    (because("every_force_is_zero"), "every force is 0"),
    (because("bow_scale_accuracy_not_recorded"), "its uncertainty can’t be told: the bow scale’s accuracy is not recorded"),
    (because("one_weight_without_a_draw"), "one of the two says no draw"),
    (because("weights_at_different_draws"), "they were read at different draws"),
    (because("weight_of_zero"), "a weight of 0 was written down"),
    (because("drift_too_large_for_a_model"), "so large a drift asks for speeds again, not for a model"),
    (because("fair_overruled", why=None), "overruled: no reason given"),
    (because("fair_overruled", why="the edge was whole"), "overruled: the edge was whole"),
    (because("fair_panel_edge"), "panel edge"),
    (because("fair_in_an_old_hit"), "went in at an old hit"),
    (because("fair_may_be_another_hit"), "may be the hit of another shot"),
    (because("fair_may_be_the_hit_of", shot="A7"), "may be the hit of A7"),
    (because("fair_may_be_the_hit_of", shot=None), "may be the hit of a shot of another trial"),
    (because("fair_place_not_known"), "its place is not known"),
    (because("fair_from_the_edge", away_m=0.01), "10\N{NO-BREAK SPACE}mm from the panel’s edge"),
    (
        because("fair_near_the_limit_from_the_edge", away_m=0.03),
        "30\N{NO-BREAK SPACE}mm from the panel’s edge: nearer the limit than the position accuracy",
    ),
    (because("fair_earlier_not_read", shot="A1", earlier=True), "A1 before it is not read yet"),
    (because("fair_earlier_not_read", shot=None, earlier=False), "a shot of another trial of about the same time is not read yet"),
    (
        because("fair_order_not_known", shot="A1", near=because("fair_same_plate", shot="A1")),
        "nobody knows whether A1 came before it: same plate as A1",
    ),
    (because("fair_earlier_place_not_known", shot="A1"), "the place of A1 before it is not known"),
    (because("fair_same_plate", shot=None), "same plate as a shot of another trial"),
    (because("fair_too_near", shot="A1", away_m=0.018, opened_ring=False), "18\N{NO-BREAK SPACE}mm from A1"),
    (because("fair_too_near", shot="A1", away_m=0.02, opened_ring=True), "in an opened ring’s reach, 20\N{NO-BREAK SPACE}mm from A1"),
    (
        because("fair_near_the_limit", shot="A1", away_m=0.052),
        "52\N{NO-BREAK SPACE}mm from A1: nearer the limit than the position accuracy",
    ),
    (because("fair_earlier_outcome_open", shot="A1", away_m=0.04), "40\N{NO-BREAK SPACE}mm from A1: what A1 did is not settled"),
    (because("fair_arrow_found_unsound"), "arrow unsound: looked at and found not sound"),
    (because("fair_arrow_hurt", shot="A1", fates=("blunted", "cracked")), "arrow unsound: point blunted, cracked at A1"),
    (because("fair_arrow_hurt", shot=None, fates=("curled",)), "arrow unsound: point curled at an earlier shot of another trial"),
    (because("fair_nothing_against_it"), "nothing stood against it"),
    (because("fair_first_hit"), "first hit on this build"),
    (because("fair_nearest", shot="A5", away_m=0.068), "68\N{NO-BREAK SPACE}mm from A5, the nearest"),
    (
        because(
            "archer_unbalanced",
            archer="Wren",
            by="groups",
            one="the needle",
            one_shots=6,
            one_of=6,
            other="the leaf",
            other_shots=1,
            other_of=6,
        ),
        (
            "Wren shot 6 of 6 shots with the needle and 1 of 6 shots with the leaf: a difference between those two could be "
            "due to the archer."
        ),
    ),
    (
        because(
            "archer_unbalanced",
            archer="Wren",
            by="energies",
            one="55 to 80 J",
            one_shots=5,
            one_of=5,
            other="80 to 105 J",
            other_shots=0,
            other_of=5,
        ),
        (
            "Wren shot 5 of 5 shots at 55 to 80 J and none of 5 shots at 80 to 105 J: a difference between those energies "
            "could be due to the archer."
        ),
    ),
    (because("affects_energies"), "comparing energies"),
    (because("affects_one_energy"), "comparing them at one energy"),
    (
        because("one_dominates", arrows=1, bows=0, panels=2, counts=2, fewest=5, alike=0.2),
        (
            "More than half of the shots come from one arrow in 1, one panel in 2 of 2 counts of 5 shots or more. Shots of "
            "one arrow, bow or panel resemble each other, so the intervals may be too narrow. Each such count also shows "
            "its interval if shots of one arrow, bow or panel correlate by 0.2 (0 = independent, 1 = identical)."
        ),
    ),
    (
        because("one_dominates", arrows=1, bows=0, panels=0, counts=1, fewest=5, alike=None),
        (
            "More than half of the shots come from one arrow in 1 of 1 count of 5 shots or more. Shots of one arrow, bow or "
            "panel resemble each other, so such counts say less than their number suggests."
        ),
    ),
    (
        because("if_correlated", carried=(because("carried_by", what="arrow", name="9", shots=4, of=6),), alike=0.2, low=0.21, high=0.97),
        "4 of 6 with arrow 9; if correlated by 0.2: 95\N{NO-BREAK SPACE}% interval 21 to 97\N{NO-BREAK SPACE}%",
    ),
    (because("carried_by", what="panel", name="P1", shots=6, of=6), "all 6 on P1"),
    (because("carried_by", what="bow", name="Yew", shots=4, of=6), "4 of 6 with Yew"),
    (because("affects_counts", counts=2), "2 counts"),
    (because("affects_group", group="the needle, 80 to 105 J"), "the needle, 80 to 105 J"),
    (
        because("all_on_one_panel", shots=5, panel="P1"),
        "All 5 counted shots hit one panel, P1. Another panel of the same type may behave differently.",
    ),
    (because("affects_every_share"), "every share here"),
    (because("trial_chose_energies", shots=1), "The trial chose each next energy by the outcomes so far (1 shot)."),
    (
        because("order_shows_chosen_energies", shots=12, form="Leaf", panel="P1", more_runs=0),
        (
            "The order of the shots shows it: less energy after a shot that got through, more after one that was stopped, "
            "12 shots of the leaf at P1."
        ),
    ),
    (
        because("order_shows_chosen_energies", shots=12, form="Leaf", panel="P1", more_runs=2),
        (
            "The order of the shots shows it: less energy after a shot that got through, more after one that was stopped, "
            "12 shots of the leaf at P1, and 2 more such runs."
        ),
    ),
    (
        because("totals_mean_nothing"),
        (
            "Totals over several energies then mean nothing and are hidden; counts within one band are drawn towards a "
            "half. The 50\N{NO-BREAK SPACE}% energy can still be estimated."
        ),
    ),
    (because("affects_totals"), "every total over energies"),
    (
        because("goes_with", rows=(because("at_one_panel", row="the leaf", shots=3, panel="P1"),), day=False),
        "The leaf (3 shots) at P1 only: a difference could be due to that panel.",
    ),
    (
        because("goes_with", rows=(because("on_one_day", row="the leaf", shots=1, day="2026-10-31"),), day=True),
        "The leaf (1 shot) on 31 October 2026 only: a difference could be due to that day (air, bows, archers).",
    ),
    (because("at_one_panel", row="the leaf", shots=3, panel="P1"), "the leaf (3 shots) at P1 only"),
    (because("on_one_day", row="the leaf", shots=3, day="2026-10-31"), "the leaf (3 shots) on 31 October 2026 only"),
    (because("affects_rows", rows=("the leaf", "the needle")), "the leaf and the needle"),
    (
        because(
            "draw_changed",
            archer="Wren",
            bow="Yew",
            first_m=0.75,
            last_m=0.72,
            first=because("at_its_start"),
            last=because("at_the_end_of", day="2026-10-24"),
        ),
        "Wren drew Yew to 720\N{NO-BREAK SPACE}mm at the end of 24 October 2026, and to 750\N{NO-BREAK SPACE}mm at its start.",
    ),
    (
        because(
            "weight_changed",
            archer="Wren",
            bow="Yew",
            change=-0.025,
            first=because("at_the_start_of", day="2026-10-24"),
            last=because("on_day", day="2026-10-31"),
        ),
        "Yew at Wren’s draw was 2.5\N{NO-BREAK SPACE}% weaker on 31 October 2026 than at the start of 24 October 2026.",
    ),
    (because("at_its_start"), "at its start"),
    (because("at_the_start_of", day="2026-10-24"), "at the start of 24 October 2026"),
    (because("at_the_end_of", day="2026-10-24"), "at the end of 24 October 2026"),
    (because("on_day", day="2026-10-24"), "on 24 October 2026"),
    (
        because("mean_as_if_unchanged", shots=1),
        "1 shot used a mean speed, as if nothing had changed: its energy may be off by about as much.",
    ),
    (
        because("mean_as_if_unchanged", shots=3),
        "3 shots used a mean speed, as if nothing had changed: their energies may be off by about as much.",
    ),
    (because("affects_bow", bow="Yew"), "energies of Yew"),
    (
        because(
            "harder_heads_on_their_own_days",
            heads=("N9", ""),
            days=("2026-10-31",),
            other_days=("2026-10-24", "2026-10-31"),
            both=("2026-10-31",),
        ),
        (
            "The harder heads (N9 and a head with no name) were shot on 31 October 2026 only, the softer ones of their form "
            "on 24 and 31 October 2026. Between days, other things than hardness changed too: compare them on 31 October "
            "2026 only."
        ),
    ),
    (
        because("harder_heads_on_their_own_days", heads=("N9",), days=("2026-10-24", "2026-10-31"), other_days=("2026-10-17",), both=()),
        (
            "The harder heads (N9) were shot on 24 and 31 October 2026, the softer ones of their form on 17 October 2026. "
            "Between days, other things than hardness changed too: no day had both."
        ),
    ),
    (because("affects_heads_of_one_form"), "heads of one form that differ in hardness"),
    (because("still_to_check_from_behind", hits=1, of=8), "1 of 8 hits still has to be checked from behind."),
    (because("still_to_check_from_behind", hits=2, of=8), "2 of 8 hits still have to be checked from behind."),
    (because("undecided_between_levels", hits=1, of=8), "1 of 8 hits is undecided between two outcome levels."),
    (because("may_belong_to_another", hits=2, of=8), "2 of 8 hits may belong to another shot."),
    (because("could_still_change", hits=2), "2 of these could still count as through or not."),
    (because("not_read_yet", shots=1), "1 shot has not been read and is not counted."),
    (because("not_read_yet", shots=2), "2 shots have not been read and are not counted."),
    (because("affects_undecided_counts"), "counts that may still change"),
    (
        because("read_by_a_second", hits=9, same=7, within_one=9),
        "9 hits were read by a second person: same outcome in 7 of 9, within one level in 9 of 9.",
    ),
    (because("disagree_on_through", labels=("A1", "B3")), "They disagree on whether it got through for A1, B3."),
    (because("same_place_of_entry", same=9, hits=9), "Same place of entry in 9 of 9."),
    (because("depths_differ", depths=1, median_m=0.003, most_m=0.003), "Depths differ by 3\N{NO-BREAK SPACE}mm."),
    (
        because("depths_differ", depths=9, median_m=0.003, most_m=0.005),
        "9 depths differ by 3\N{NO-BREAK SPACE}mm (median), 5\N{NO-BREAK SPACE}mm at most.",
    ),
    (because("too_few_for_kappa", fewest=10), "Too few for agreement beyond chance: at least 10 are needed."),
    (
        because("no_kappa", why=because("both_gave_one_answer")),
        "Agreement beyond chance could not be worked out: both gave one and the same answer to all.",
    ),
    (
        because("kappa", kappa=0.71, low=0.42, high=0.93),
        "Agreement beyond chance (weighted kappa): 0.71 (95\N{NO-BREAK SPACE}% interval 0.42 to 0.93; 0 is chance, 1 is full agreement).",
    ),
    (because("kappa", kappa=1.0, low=None, high=None), "Agreement beyond chance (weighted kappa): 1.00."),
    (because("affects_readings"), "how sure a reading is"),
    (
        because("speeds_drifted", day="2026-10-24", bow="Yew", archer="Wren", change=-0.022, readings=12, low=0.018, high=0.026),
        (
            "On 24 October 2026, arrow speeds from Yew shot by Wren fell by 2.2\N{NO-BREAK SPACE}% from the first to the "
            "last of 12 readings (99\N{NO-BREAK SPACE}% interval 1.8 to 2.6\N{NO-BREAK SPACE}%)."
        ),
    ),
    (
        because("mean_in_a_drift", shots=2, falling=True),
        "2 shots used a mean speed: the early ones may be too low, the late ones too high.",
    ),
    (
        because("mean_in_a_drift", shots=1, falling=False),
        "1 shot used a mean speed: the early ones may be too high, the late ones too low.",
    ),
    (because("affects_bow_that_day", bow="Yew"), "energies of Yew that day"),
    (because("few_spots_left", free=0, spots=9, panel="K1"), "None of 9 aim spots on K1 is still free."),
    (because("few_spots_left", free=2, spots=9, panel="K1"), "2 of 9 aim spots on K1 are still free."),
    (
        because("hits_turned_unfair", panel="P1", now=4, last=6, then=0, before=8),
        "On P1, 4 of the last 6 hits were not fair; none of the 8 before was.",
    ),
    (
        because("hits_turned_unfair", panel="P1", now=5, last=6, then=2, before=8),
        "On P1, 5 of the last 6 hits were not fair; 2 of the 8 before were.",
    ),
    (because("same_of_more_panels", panels=2), "The same is true of 2 more panels."),
    (because("use_a_fresh_panel"), "Fair hits now need aim at what is left, often the edge. Use a fresh panel."),
    (because("affects_panels", panels=("P0", "P1")), "shots at P0 and P1"),
    (
        because("rule_kept", rule="smallest_interval", stop_shots=None, stop_percent=50, stopped_because="It rained."),
        (
            "Next shot: smallest interval: the shot expected to narrow the 50 % energy most. Stop: when the high end of the "
            "50\N{NO-BREAK SPACE}% point is at most 50\N{NO-BREAK SPACE}% above the low end. Stopped because: it rained."
        ),
    ),
    (because("rule_kept", rule=None, stop_shots=20, stop_percent=None, stopped_because=None), "Stop: after 20 shots."),
    (because("no_group_counted"), "none of these has a counted shot"),
    (because("only_one_group_counted", group="the needle"), "only the needle has counted shots"),
    (because("no_level_of_like_energy"), "no energy level holds both at like energy"),
    (because("no_point_through_in_either"), "no point was through in either, so there is no depth to compare"),
    (because("no_depth_measured"), "no depth past the rear face was measured"),
    (because("not_every_point_measured"), "not every point was through and measured"),
    (because("arrow_not_shot_with_this_head"), "that arrow was not shot with this head"),
    (
        because("averaging_limit_is_borrowed"),
        (
            "A rule borrowed from tests of bullets and fragments against modern armour. No standard lays it down for "
            "arrows, and it certifies nothing."
        ),
    ),
    (because("no_measured_speed"), "no shot has a measured speed"),
    (because("depth_fits_no_point_through"), "Nothing came past the rear face, so the outcome level fits."),
    (
        because("depth_past_the_face_without_a_point", depth_m=0.028, high=3, low=3),
        (
            "“Opened (3)” says that no point came through, but the tip is 28\N{NO-BREAK SPACE}mm past the rear face. Look "
            "again: one of them is wrong."
        ),
    ),
    (
        because("depth_of_a_point_through_is_0"),
        "“Point through” says that the tip passed the rear face, but the depth is 0. Look again: one of them is wrong.",
    ),
    (
        because("depth_without_tip_to_widest"),
        "The head’s tip to widest is not measured, so outcome level and depth can’t be checked against each other.",
    ),
    (
        because("depth_past_the_widest", depth_m=0.028, widest_m=0.06),
        (
            "Tip to widest is 60\N{NO-BREAK SPACE}mm, and the tip is 28\N{NO-BREAK SPACE}mm past the rear face: then the "
            "head’s widest part passed too. Look again: head through, or less deep?"
        ),
    ),
    (
        because("depth_short_of_the_widest", depth_m=0.028, widest_m=0.06),
        (
            "Tip to widest is 60\N{NO-BREAK SPACE}mm, and the tip is only 28\N{NO-BREAK SPACE}mm past the rear face: then "
            "the widest part did not pass. Look again: point through, or deeper?"
        ),
    ),
    (
        because("depth_at_least_short_of_the_widest", depth_m=0.028, widest_m=0.06),
        (
            "Tip to widest is 60\N{NO-BREAK SPACE}mm. The depth is only known to be 28\N{NO-BREAK SPACE}mm or more, so it "
            "can’t be told whether the outcome level fits."
        ),
    ),
    (because("depth_fits_the_widest", widest_m=0.06), "Tip to widest is 60\N{NO-BREAK SPACE}mm, so the outcome level fits."),
    (because("tip_flat_not_measured"), "the flat on its tip was not measured"),
    (because("tip_flat_measured"), "measured across the flat"),
    (because("tip_outline_not_known"), "the outline of its tip is not known: its section was not given"),
    (because("tip_of_two_measures", section="square"), "a square section’s tip has two measures, and one was taken"),
    (because("tip_area_of_the_flat", section="square"), "the flat, square as its section"),
    (
        because("tip_too_sharp_for_an_area", depth_m=0.0001),
        "its tip is sharper than 0.1\N{NO-BREAK SPACE}mm in: it has no area to speak of",
    ),
    (because("tip_area_of_the_round", depth_m=0.0001), "of the rounded tip, 0.1\N{NO-BREAK SPACE}mm in"),
    (because("tip_without_flat_or_radius"), "its tip has no flat, and its radius was not measured"),
    (because("tip_not_measured"), "its tip was not measured"),
    (because("section_not_given"), "its section was not given"),
    (because("section_not_covered"), "its section is none that a formula covers"),
    (because("head_width_not_measured"), "its width was not measured"),
    (because("head_thickness_not_measured"), "its thickness was not measured"),
    (
        because("measures_do_not_fit_the_section", expected=because("above_zero"), of="width_m"),
        "its measures don’t fit its section: width is wanted above 0 and finite m",
    ),
    (because("front_of_the_section", section="square"), "square, width taken from flat to flat"),
    (because("edge_measured"), "measured along all edges together"),
    (because("no_cutting_edge"), "it has no cutting edge"),
    (because("edge_of_two_straight_lines"), "not measured: two straight edges from tip to widest"),
    (because("edge_not_measured"), "its cutting edge was not measured"),
    (because("wedge_not_measured"), "its width or the way from tip to widest was not measured"),
    (because("tip_broader_than_the_head"), "its tip is given as broader than the head"),
    (because("wedge_is_the_mean"), "mean, from tip to widest"),
    (because("arrow_never_weighed"), "the arrow was never weighed"),
    (because("mass_over_the_front"), "mass of the arrow over the frontal area"),
    (because("help_own_drag"), "more readings of this arrow’s speed at both distances"),
    (because("help_drag"), "this arrow’s speed, read at two distances far apart"),
    (because("help_one_chronograph"), "one chronograph that reads it surely"),
    (because("help_scale"), "a surer scale, or one checked against a known weight"),
    (because("help_weighings"), "weighing the arrow more often"),
    (because("help_chronograph"), "a surer chronograph, or one checked against something known"),
    (because("help_speeds"), "more speed readings of this bow, arrow and archer"),
    (because("help_speed_of_the_shot"), "a speed read on the shot itself"),
    (because("help_chronograph_for_count"), "a chronograph, where frames or sound were used"),
    (because("help_calliper"), "a calliper on the shaft"),
    (because("help_weather"), "the day’s temperature and pressure, written down"),
    (because("help_tape"), "a tape, to the target and to the chronograph"),
    (because("sheet_measured", readings=3), "mean of 3 readings"),
    (because("sheet_nominal"), "nominal, not measured"),
    (because("sheet_not_measured"), "its thickness was not measured"),
    (
        because("plate_of_steel", density_kg_m3=7850.0, sheet=because("sheet_nominal")),
        "nominal, not measured, assumed to be steel, 7850\N{NO-BREAK SPACE}kg/m³",
    ),
    (
        because("plates_of_steel", density_kg_m3=7850.0, sheet=because("sheet_nominal"), what=because("without_lacing")),
        "nominal, not measured, assumed to be steel, 7850\N{NO-BREAK SPACE}kg/m³, without lacing",
    ),
    (because("with_its_lacing"), "with its lacing"),
    (because("without_lacing"), "without lacing"),
    (because("without_rivets"), "without rivets"),
    (because("without_cloth_and_rivets"), "without cloth and rivets"),
    (because("parts_together", parts=("plates", "cloth")), "plates and cloth together"),
    (
        because("rings_not_counted", ring=because("ring_weighed", mass_kg=0.0004)),
        "how many rings hang on a square decimetre was not counted; one ring weighs 0.4\N{NO-BREAK SPACE}g, weighed",
    ),
    (
        because("rings_in_a_square", ring=because("ring_weighed", mass_kg=0.0004), rings=120, without_cloth=True),
        "120 rings in 100 by 100\N{NO-BREAK SPACE}mm, one ring weighs 0.4\N{NO-BREAK SPACE}g, weighed, without its cloth",
    ),
    (because("ring_weighed", mass_kg=0.0004), "one ring weighs 0.4\N{NO-BREAK SPACE}g, weighed"),
    (because("ring_by_its_wire", mass_kg=0.0004), "one ring weighs about 0.4\N{NO-BREAK SPACE}g, if it is butted and of round wire"),
    (because("ring_mass_not_known"), "what one ring weighs is not known: weigh a hundred, or measure ring and wire"),
    (because("rings_without_a_hole"), "its rings would have no hole"),
    (because("cloth_layer_not_weighed"), "what each layer of cloth weighs was not written down"),
    (because("cloth_layers_not_counted"), "how many layers of cloth it has was not written down"),
    (because("cloth_of_layers", layer_kg_m2=0.3, layers=2), "2 layers of 300\N{NO-BREAK SPACE}g/m² each, on average"),
    (because("plate_sizes_not_recorded"), "the size of its plates and their overlap are not all written down"),
    (because("rows_not_recorded"), "its rows and its height are not both written down"),
    (because("plates_do_not_fit"), "its plates, overlap, rows and height don’t fit each other"),
    (
        because("layers_by_measures", at=2, fewest=1, most=2, not_as_read=False),
        "2 by plates, overlap and rows, or 1 to 2 within the position accuracy",
    ),
    (because("mean_layers_of_plates", layers=1.62), "1.6 on average, by plates, overlap and rows; at one spot it is a whole number"),
    (because("panel_not_weighed"), "it was not weighed"),
    (because("panel_size_not_recorded"), "its width and height are not both written down"),
    (because("outline_area_not_known"), "the area of its outline is not known"),
    (because("mass_over_outline", outline="disc"), "mass over disc"),
    (
        because("weighed_beside_measures", apart=3.0, ratio=1.2),
        (
            "20\N{NO-BREAK SPACE}% more than its measures account for, 3 times what both may be off by: a measure, a layer or "
            "a rivet is missing"
        ),
    ),
    (because("no_bow_with_speeds"), "no bow has arrows whose mass and speed are known"),
    (
        because("bow_too_far_from_those_shot", most_times=2),
        "that is over 2 times the strongest of your bows or under a third of the weakest: no bow of the same make",
    ),
    (
        because("arrow_too_far_for_its_bow"),
        "for such a bow the arrow is under half of the lightest or over twice the heaviest that you shot: too far to say",
    ),
    (because("no_shot_bounds_that_energy"), "no shot at less energy got through, and none at more was stopped"),
)


@pytest.mark.parametrize(("reason", "words"), REVIEWED, ids=[str(reason) for reason, _ in REVIEWED])
def test_a_reason_is_said_in_its_reviewed_words(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_every_sentence_was_reviewed() -> None:
    assert {code for table in TABLES for code in table} - {reason.code for reason, _ in REVIEWED} == set()
