"""Words that texts of the notebook begin with, so that a short text can be packed by pointing at them.

Never changed: what is packed with them can be read with these alone. Better ones would be others beside them, under a number of their own
in `packed.py`. Written from the fields and choices of what is written down most often, that last, as the notebook writes a change.
"""

WORDS_1 = (
    b'"noun": [null, ""slides": [null, 0."bites": [null, 0."sticks": [null, 0."scale": [null, "HV", null, "HV"], HBW HRC HRB '
    b'"trial": [null, "\x01"noun": [null, "panel", null, "panel"], bow "stand": [null, "\x01"distance": [null, '
    b'0."chronograph_at": [null, 0."combination": [null, "\x01"stood_at": [null, 0."air_temperature": [null, 0."day": [null, '
    b'""session": [null, "\x01"caution": [null, "backstop", null, "backstop"], nobody eyes arrows rules "noun": [null, '
    b'""taken_at": [null, ""seen_from": [null, "front", null, "front"], back close "arrow": [null, "\x01"work": [null, '
    b'""read_by": [null, "\x01"outcome_low": [null, ""outcome_high": [null, ""depth_bound": [null, ""entry": [null, ""noun": [null, '
    b'"head", null, "head"], "record": [null, "\x01"measured": [null, "mass", null, "mass"], thickness balance length width '
    b'"instrument": [null, "\x01"panel_build": [null, "\x01"sort": [null, ""name": [null, ""to_x": [null, 0."to_y": [null, '
    b'0."reach": [null, 0."series": [null, "\x01"shot": [null, "\x01"value": [null, 0."place": [null, ""method": [null, "chronograph", '
    b'null, "chronograph"], frames other "uncertainty": [null, 0."inputs": [null, ""left_out_reason": [null, ""sound": [null, '
    b'"not_sound", null, "not_sound"], "at": [null, ""setup": [null, "\x01"number": [null, ""begun_at": [null, ""at_butt_at": [null, '
    b'""hit": [null, "on_panel", null, "on_panel"], partial missed spoiled "why": [null, ""x": [null, 0."y": [null, '
    b'0."place_known": [null, ""touched_first": [null, "plate", null, "plate"], '
    b"ridge rolled_edge rivet plate_edge overlap lace_hole on_lace gap under_row "
    b"broke_rings through_ring field quilting seam panel_edge old_hit cant_tell "
    b'"entry": [null, ""layers": [null, ""angle": [null, 0."yaw": [null, 0."outcome_low": [null, "0", null, "0"], 1 2 3 4 5 '
    b'"outcome_high": [null, ""rear_check": [null, ""depth": [null, 0."depth_bound": [null, "equal", null, "equal"], at_least '
    b'"depth_method": [null, "mark_and_pull", null, "mark_and_pull"], seen_behind witness film estimate "reached": [null, '
    b'"armour_only", null, "armour_only"], garment body_line "back_face": [null, 0."arrow_did": [null, "stuck_armour", null, '
    b'"stuck_armour"], stuck_backing passed dropped bounced glanced broke_up "head_fate": [null, '
    b'"sound blunted curled snapped edge_rolled socket_split tang_bent loose off_found lost "shaft_fate": [null, '
    b'"cracked crushed broken_behind_head broken_elsewhere bent nock_split fletching_torn "damage": [null, ""may_be_shot": [null, '
    b'"\x01"certainty": [null, "sure", null, "sure"], fairly unsure "fair_overrule": [null, "fair", null, "fair"], not_fair '
    b'"fair_reason": [null, ""label": [null, ""shooting_end": [null, "\x01"position": [null, ""bow_build": [null, '
    b'"\x01"arrow_build": [null, "\x01"archer": [null, "\x01"purpose": [null, "counted", null, "counted"], sighter speed_only let_down '
    b'"short_draw": [null, ""aim": [null, "\x01"loosed_at": [null, ""planned_shot": [null, "\x01"note": [null, "[null, null, null, '
    b'null], "recorded_by": [null, "\x01'
)
