"""A range of a 50 % energy that is open on one side says its own level, wherever it stands; one that is closed says 95 %."""

from __future__ import annotations

import pytest
from proofyard.answers.planning.next_shot import head_told
from proofyard.quantities.reason import because
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.wording.energies import range_words, ranged_words
from proofyard.wording.reasons.said import said
from proofyard.wording.reasons.what_if import joules_range, with_level

OPEN = ([30.0 + n for n in range(20)], [0] * 19 + [1])
CLOSED = ([22.0, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0] * 5 + [1] * 5)


def point_of(energies: list[float], through: list[int], level: float = 0.95) -> EnergyPoint:
    curve = fit_curve(energies, through)
    assert isinstance(curve, Curve)
    found = fifty_percent_point(curve, level=level)
    assert isinstance(found, EnergyPoint)
    return found


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(("level", "side"), [(0.95, 0.975), (0.9, 0.95)])
def test_one_end_alone_holds_half_as_often_wrong(level: float, side: float) -> None:
    assert point_of(*OPEN, level).one_sided_level == pytest.approx(side)
    assert point_of(*CLOSED, level).one_sided_level is None


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (63.0, None, "not less than 63 J (one-sided, 97.5 %), how far above can’t be told"),
        (None, 63.0, "not more than 63 J (one-sided, 97.5 %), how far below can’t be told"),
    ],
)
def test_an_open_range_never_stands_beside_95_percent(low: float | None, high: float | None, said: str) -> None:
    assert plain(range_words(low, high)) == plain(ranged_words(low, high)) == said
    assert "97.5 %" in plain(joules_range(low, high, reader="metric")) and "(95 %)" not in plain(with_level(low, high, reader="metric"))
    assert (
        plain(with_level(40.0, 63.0, reader="metric")) == "40 to 63 J (95 %)"
        and plain(ranged_words(40.0, 63.0)) == "95 % interval 40 to 63 J"
    )


class _Series:
    shots = 20
    point = point_of(*OPEN)


def test_the_next_shot_too_says_the_level_of_the_one_end() -> None:
    words = plain(said(head_told(_Series())))
    assert "not less than 46 J (one-sided, 97.5 %)" in words and "(95 %)" not in words


def test_ratios_open_on_one_side_say_so_as_well() -> None:
    assert plain(said(because("pair_ends", low=1.04, high=None, level=0.95, way="curve"))) == "1.04 or more (one-sided, 97.5 %)"
    told = plain(said(because("term_told", term="angle", times=1.4, low=1.04, high=None)))
    assert "1.04 or more (one-sided, 97.5 %)" in told and "(95 %)" not in told
