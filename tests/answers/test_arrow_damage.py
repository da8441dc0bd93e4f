"""What it did to the arrows, from shots whose fates are known beforehand; lives counted by hand."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from proofyard.answers.arrow_damage.dies_of_it import DiesOfIt, endings_of
from proofyard.answers.arrow_damage.page import ArrowDamage, DamageRow, read_arrow_damage
from proofyard.quantities.reason import CantTell, because
from proofyard.statistics.head_life import HeadLife, shots_a_head_lasts
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said
from scipy.stats import binomtest

from tests.fifty_percent_for_tests import Shooting

SOUND, CURLED, OFF, LOST, NOTHING = "sound", "curled", "off_found", "lost", ""


def asked(book: Storage, **more: str | list[str]) -> ArrowDamage:
    return read_arrow_damage(book, {name: value if isinstance(value, list) else [value] for name, value in more.items()})


def shoot(shooting: Shooting, tag: str, fates: Sequence[str], *, form: str = "needle", panel: str = "P1") -> None:
    """One arrow, a shot for each fate of its head; NOTHING: nobody noted it."""
    each = [{"head_fate": [fate]} if fate else {} for fate in fates]
    shooting.loose(form, [50.0] * len(fates), [0] * len(fates), tag=tag, panel=panel, each=each)


def only(found: ArrowDamage) -> DamageRow:
    ((row,),) = [one.rows for one in found.types]
    return row


def life(row: DamageRow) -> HeadLife:
    found = row.head_lives.life
    assert not isinstance(found, CantTell)
    return found


def test_a_head_lasts_the_shots_for_each_that_was_ended(book: Storage) -> None:
    """Heads: curled at its 3rd shot; off at its 2nd; two still sound after 4 and 1. 10 shots, 2 ended, by hand."""
    shooting = Shooting(book)
    for tag, fates in {"1": [SOUND, SOUND, CURLED], "2": [SOUND, OFF], "3": [SOUND] * 4, "4": [SOUND]}.items():
        shoot(shooting, tag, fates)
    row = only(asked(book))
    assert (row.head_lives.shots, row.head_lives.ended_low, row.head_lives.ended_high, row.head_lives.builds) == (10, 2, 2, 4)
    assert life(row) == shots_a_head_lasts(2, 10)
    assert (row.counts["sound"], row.counts["curled"], row.counts["off"]) == (8, 1, 1)
    assert said(asked(book).finding).replace("\N{NO-BREAK SPACE}", " ") == (
        "On 1.6 mm one-piece plate the long needle bodkin lasts 5 shots, 95 % interval 1.8 to 40 shots (2 ended in 10 shots)."
    )


def test_each_fate_has_its_interval_and_what_nobody_found_counts_both_ways(book: Storage) -> None:
    """Ten shots, one arrow each: 6 sound, 2 curled, 1 off, 1 lost. Ends by Clopper and Pearson, scipy's binomtest."""
    shooting = Shooting(book)
    for tag, fate in enumerate([SOUND] * 6 + [CURLED] * 2 + [OFF, LOST]):
        shoot(shooting, str(tag), [fate])
    found = only(asked(book, method="exact")).fates
    assert {key: (one.hits_low, one.hits_high, one.shots) for key, one in found.items()} == {
        "sound": (6, 7, 10),
        "curled": (2, 3, 10),
        "broken": (0, 1, 10),
        "off": (1, 2, 10),
        "lost": (1, 1, 10),
    }
    by_scipy = binomtest(1, 10).proportion_ci(0.95, method="exact")
    assert found["lost"].interval == pytest.approx((by_scipy.low, by_scipy.high), abs=1e-6)
    # None was broken, or the lost one was: both counts' intervals lie within.
    assert found["broken"].interval == pytest.approx((0, by_scipy.high), abs=1e-6)


def test_shots_after_a_head_was_ended_are_no_part_of_its_life(book: Storage) -> None:
    shooting = Shooting(book)
    shoot(shooting, "1", [SOUND, CURLED, CURLED, SOUND])
    assert (only(asked(book)).head_lives.shots, only(asked(book)).head_lives.ended_low) == (2, 1)


def test_a_head_that_flew_again_was_not_ended_and_one_that_nobody_looked_at_or_found_may_have_been(book: Storage) -> None:
    shooting = Shooting(book)
    shoot(shooting, "1", [NOTHING, NOTHING, SOUND])
    shoot(shooting, "2", [SOUND, NOTHING])
    shoot(shooting, "3", [SOUND, LOST])
    row = only(asked(book))
    assert (row.head_lives.shots, row.head_lives.ended_low, row.head_lives.ended_high) == (7, 0, 2)
    assert (row.heads.hits_low, row.heads.hits_high, row.heads.shots) == (0, 2, 7)
    assert life(row).high is None
    assert "none surely ended, perhaps 2 in 7 shots" in said(row.head_lasts)


def test_what_ends_a_head_is_a_setting(book: Storage) -> None:
    shooting = Shooting(book)
    shoot(shooting, "1", [CURLED])
    shoot(shooting, "2", [SOUND, OFF])
    assert only(asked(book)).head_lives.ended_low == 2
    assert only(asked(book, ended="off")).head_lives.ended_low == 1
    assert only(asked(book, ended=["curled", "broken"])).head_lives.ended_low == 1
    assert "ended" in asked(book, ended="rusted").asked.problems


def test_a_broken_shaft_leaves_the_head_its_life(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", [50.0], [0], tag="1", each=[{"head_fate": ["sound"], "shaft_fate": ["cracked"]}])
    shooting.loose("needle", [50.0], [0], tag="2", each=[{"head_fate": ["sound"], "shaft_fate": ["sound"]}])
    row = only(asked(book))
    assert row.head_lives.ended_high == 0 and (row.shaft_lives.ended_low, row.shaft_lives.shots) == (1, 2)


def test_only_hits_on_the_panel_count_fair_or_not(book: Storage) -> None:
    shooting = Shooting(book)
    shoot(shooting, "1", [SOUND, CURLED])
    shooting.loose("needle", [50.0], [0], tag="2", hit="missed", each=[{"head_fate": ["snapped"], "outcome_low": "", "outcome_high": ""}])
    found = asked(book)
    assert (found.on_panel, found.counted) == (2, 3)
    assert only(found).counts["broken"] == 0


def test_panel_types_and_head_forms_are_kept_apart(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.panel("Thin", thickness="1.2 mm")
    shoot(shooting, "1", [SOUND, SOUND, CURLED])
    shoot(shooting, "2", [SOUND], form="leaf")
    shoot(shooting, "3", [SOUND], panel="Thin")
    found = asked(book)
    assert [(one.panel_type, [row.row.key for row in one.rows]) for one in found.types] == [
        ("plate-1.6", ["needle", "leaf"]),
        ("plate-1.2", ["needle"]),
    ]
    assert found.drawing is not None and len(found.drawing.rows) == 3


@pytest.mark.parametrize(("fates", "code"), [([], "no_shots_on_a_panel"), ([NOTHING], "no_head_looked_at"), ([SOUND], "head_lasts")])
def test_what_cannot_be_said_is_said(book: Storage, fates: list[str], code: str) -> None:
    shooting = Shooting(book)
    if fates:
        shoot(shooting, "1", fates)
    assert asked(book).finding.code == code
    if not fates:
        assert asked(book).finding == because("no_shots_on_a_panel")


# Gets through and dies of it


FAIR = {"fair_overrule": "fair", "fair_reason": "the archer saw a fresh spot"}


def volley(shooting: Shooting, form: str, *, shots: int, through: int, ended: int, energies: Sequence[float] = (50.0,)) -> None:
    """So many shots, an arrow each, the first of them through, the first of them ended: by turns at each of the energies."""
    for nth in range(shots):
        fate = {"head_fate": [CURLED if nth < ended else SOUND], **FAIR}
        energy = energies[nth % len(energies)]
        shooting.loose(form, [energy], [int(nth < through)], tag=f"{form} {nth}", each=[fate])


def test_of_the_shots_that_got_through_it_says_how_many_ended_their_head(book: Storage) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", [50.0] * 3, [1, 1, 0], tag="1", each=[{"head_fate": [one]} for one in (SOUND, CURLED, OFF)])
    shooting.loose("needle", [50.0] * 2, [1, 0], tag="2", each=[{"head_fate": [one]} for one in (LOST, SOUND)])
    row = only(asked(book))
    assert len(row.through) == 3 and (row.through_counts["sound"], row.through_counts["curled"], row.through_counts["lost"]) == (1, 1, 1)
    # The arrow whose head was lost flew again as the same build, so that shot did not end it.
    assert (row.through_heads.hits_low, row.through_heads.hits_high, row.through_heads.shots) == (1, 1, 3)


def pair_of(found: ArrowDamage) -> DiesOfIt:
    ((pair,),) = [one.pairs for one in found.types]
    return pair


def test_a_head_that_gets_through_more_and_is_ended_more_dies_of_it_and_it_stands_first(book: Storage) -> None:
    shooting = Shooting(book)
    volley(shooting, "needle", shots=18, through=16, ended=14)
    volley(shooting, "leaf", shots=18, through=1, ended=1)
    found = asked(book)
    pair = pair_of(found)
    # No number of shots was set beforehand, so the pair has 0.316 of 5 %, and each of its two questions half of that.
    assert pair.level == pytest.approx(1 - 0.05 * 0.316 / 2)
    assert pair.through is not None and pair.ended is not None and pair.through.side == pair.ended.side != ""
    assert found.dies is not None and found.dies.code == "gets_through_and_dies"
    assert said(found.dies).replace("\N{NO-BREAK SPACE}", " ") == (
        "On 1.6 mm one-piece plate the long needle bodkin gets through more easily than the leaf and dies of it: at like energy "
        "14 of 18 shots ended its head, against 1 of 18 (both shown, each by an interval of 99.21 %)."
    )


@pytest.mark.parametrize(("through", "ended"), [((16, 1), (6, 4)), ((10, 8), (14, 1)), ((16, 1), (1, 14))])
def test_one_of_the_two_alone_or_the_two_of_different_heads_are_not_enough(
    book: Storage, through: tuple[int, int], ended: tuple[int, int]
) -> None:
    shooting = Shooting(book)
    for form, hits, heads in zip(("needle", "leaf"), through, ended, strict=True):
        volley(shooting, form, shots=18, through=hits, ended=heads)
    found = asked(book)
    assert pair_of(found).side == "" and found.dies == because("not_yet_that_any_dies", pairs=1)


def test_heads_that_nobody_looked_at_speak_for_neither(book: Storage) -> None:
    shooting = Shooting(book)
    volley(shooting, "needle", shots=18, through=16, ended=0)
    for nth in range(18):
        shooting.loose("leaf", [50.0], [0], tag=f"unseen {nth}", each=[FAIR])
    pair = pair_of(asked(book))
    assert pair.ended is not None and pair.ended.side == ""
    assert {(pair.first.low, pair.first.high), (pair.second.low, pair.second.high)} == {(0, 0), (0, 18)}


def test_endings_are_compared_only_at_like_energy(book: Storage) -> None:
    shooting = Shooting(book)
    volley(shooting, "needle", shots=6, through=6, ended=6, energies=(90.0,))
    volley(shooting, "leaf", shots=6, through=0, ended=0, energies=(45.0,))
    pair = pair_of(asked(book))
    assert pair.ended is None and pair.why == because("endings_at_no_like_energy") and pair.side == ""


def test_endings_of_34_and_36_shots_have_the_interval_that_was_worked_independently(book: Storage) -> None:
    """Hurt 10/34 v 1/36: 14.11 (2.162 to 327.4), by an independent computation of the exact conditional odds ratio, mid-P."""
    shooting = Shooting(book)
    volley(shooting, "needle", shots=34, through=20, ended=10)
    volley(shooting, "leaf", shots=36, through=20, ended=1)
    pair = pair_of(asked(book))
    first_is_needle = pair.pair.first.row.key == "needle"
    assert pair.ratio == pytest.approx(14.11 if first_is_needle else 1 / 14.11, rel=5e-4)
    alike = [(one.first, one.second) for one in pair.pair.levels]
    ended = {one.shot.fact.shot_id: CURLED in one.shot.fact.head_fate for level in alike for side in level for one in side}
    ends, _, _ = endings_of(pair.pair, alike, ended, level=0.95)
    assert ends is not None and ends.low is not None and ends.high is not None
    low, high = (ends.low, ends.high) if first_is_needle else (1 / ends.high, 1 / ends.low)
    assert (low, high) == (pytest.approx(2.162, rel=5e-4), pytest.approx(327.4, rel=5e-4))
