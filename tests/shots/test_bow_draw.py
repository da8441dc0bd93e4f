"""The weight that a bow has at an archer's draw, where only the bow's own mark tells of it."""

from __future__ import annotations

import pytest
from proofyard.quantities.reason import CantTell, because
from proofyard.records.archer import Archer
from proofyard.records.bow import Bow
from proofyard.shots.bow_draw import draw_of
from proofyard.wording.reasons.said import said

NO_CURVE = CantTell(because("no_force_read"))


def marked(draw_m: float | None, *, brace_m: float | None, archers_m: float | None = 0.75) -> tuple[float | None, str]:
    bow = Bow(id="b", rev=1, name="Yew", marked_weight_n=600.0, marked_draw_m=draw_m, draw_from="back")
    archer = Archer(id="a", rev=1, call_name="Wren", draw_length_m=archers_m)
    found = draw_of(bow, archer, [], curve=NO_CURVE, brace_m=brace_m)
    return found.weight_n, said(found.weight_source)


def test_a_weight_marked_at_a_longer_draw_is_brought_to_the_archers_by_a_straight_line() -> None:
    """(750 - 150)/(800 - 150) of 600 N."""
    weight, words = marked(0.80, brace_m=0.15)
    assert weight == pytest.approx(600 * 0.60 / 0.65)
    assert words == "marked 135\N{NO-BREAK SPACE}lbf at 31.5\N{NO-BREAK SPACE}in, brought to this draw by a straight line"


@pytest.mark.parametrize(
    ("draw_m", "brace_m", "archers_m"), [(0.752, 0.15, 0.75), (0.80, None, 0.75), (None, 0.15, 0.75), (0.80, 0.15, None)]
)
def test_it_stays_as_marked_where_the_draws_agree_or_one_is_not_recorded(
    draw_m: float | None, brace_m: float | None, archers_m: float | None
) -> None:
    assert marked(draw_m, brace_m=brace_m, archers_m=archers_m) == (600.0, "as marked on the bow")
