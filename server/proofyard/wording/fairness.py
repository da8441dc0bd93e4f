"""Fair hits in words: the three answers, what a reason is of, and the sentence of each reason."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import hand_length, in_readers
from proofyard.records.shot import HEAD_FATES, SHAFT_FATES
from proofyard.records.trial import OUTCOME_WORDS

FAIR_WORDS: Mapping[str, str] = MappingProxyType({"fair": "fair", "not_fair": "not fair", "not_known": "fairness undecided"})
UNNAMED = "a shot of another trial"
SORTS: Mapping[str, str] = MappingProxyType(
    {
        "fair": "fair",
        "overruled": "overruled by an archer",
        "arrow": "arrow not sound",
        "edge": "at the panel’s edge, or too near it",
        "edge_limit": "too near the limit from the panel’s edge to say",
        "old_hit": "in an old hit",
        "same_plate": "same plate as an earlier hit",
        "unread": "an earlier shot is not read yet",
        "order": "order within the end not known",
        "place": "place not known",
        "either": "may be another shot’s hit",
        "limit": "too near the limit to say",
        "near": "too near an earlier hit",
    }
)
_NEARER = "nearer the limit than the position accuracy"


def _from(text: str) -> Callable[..., str]:
    """A sentence about another shot so far away; `{shot}` is its label, or words for one of another trial (None)."""
    return lambda *, shot, away_m, reader: text.format(shot=shot or UNNAMED, away=hand_length(away_m, reader))


def _earlier_not_read(*, shot: str | None, earlier: bool) -> str:
    return f"{shot or UNNAMED} {'before it' if earlier else 'of about the same time'} is not read yet"


def _too_near(*, shot: str | None, away_m: float, opened_ring: bool, reader: str) -> str:
    return f"{'in an opened ring’s reach, ' if opened_ring else ''}{hand_length(away_m, reader)} from {shot or UNNAMED}"


def _arrow_hurt(*, shot: str | None, fates: tuple[str, ...]) -> str:
    hurt = ", ".join((HEAD_FATES.get(fate) or SHAFT_FATES[fate]).lower() for fate in fates)
    return f"arrow unsound: {hurt} at {shot or 'an earlier shot of another trial'}"


def _distances(*, opened_m: float, dented_m: float, edge_m: float, accuracy_m: float, spoils: tuple[int, ...], reader: str) -> str:
    opened, dented, edge, accuracy = (
        in_readers(metres, "length", reader, figures=2) for metres in (opened_m, dented_m, edge_m, accuracy_m)
    )
    spared = [OUTCOME_WORDS[level].lower() for level in range(2, 6) if level not in spoils]
    also = [OUTCOME_WORDS[level].lower() for level in (0, 1) if level in spoils]
    words = f"{opened} from any hit that opened, {dented} from a dent, {edge} from the edge; a place is good to {accuracy}"
    words += f"; a hit spoils nothing if {' or '.join(spared)}" if spared else ""
    return words + (f"; {' or '.join(also)} spoils a spot too" if also else "")


def _rules_of(*, own: int, all: int) -> str:
    if own == 0:
        return "defaults of the construction"
    return "this trial’s own" if own == all else "this trial’s own; what it leaves empty is the construction’s default"


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "fair_overruled": lambda *, why: f"overruled: {why or 'no reason given'}",
        "fair_panel_edge": "panel edge",
        "fair_in_an_old_hit": "went in at an old hit",
        "fair_may_be_another_hit": "may be the hit of another shot",
        "fair_may_be_the_hit_of": lambda *, shot: f"may be the hit of {shot or UNNAMED}",
        "fair_place_not_known": "its place is not known",
        "fair_from_the_edge": lambda *, away_m, reader: f"{hand_length(away_m, reader)} from the panel’s edge",
        "fair_near_the_limit_from_the_edge": lambda *, away_m, reader: f"{hand_length(away_m, reader)} from the panel’s edge: {_NEARER}",
        "fair_earlier_not_read": _earlier_not_read,
        "fair_order_not_known": lambda *, shot, near: f"nobody knows whether {shot or UNNAMED} came before it: {near}",
        "fair_earlier_place_not_known": lambda *, shot: f"the place of {shot or UNNAMED} before it is not known",
        "fair_same_plate": lambda *, shot: f"same plate as {shot or UNNAMED}",
        "fair_too_near": _too_near,
        "fair_near_the_limit": _from(f"{{away}} from {{shot}}: {_NEARER}"),
        "fair_earlier_outcome_open": _from("{away} from {shot}: what {shot} did is not settled"),
        "fair_arrow_found_unsound": "arrow unsound: looked at and found not sound",
        "fair_arrow_hurt": _arrow_hurt,
        "fair_nothing_against_it": "nothing stood against it",
        "fair_first_hit": "first hit on this build",
        "fair_nearest": _from("{away} from {shot}, the nearest"),
        # the rules themselves
        "fair_hit_distances": _distances,
        "fair_hit_rules_of": _rules_of,
        "rule_of_nij_0101_03": "NIJ 0101.03 and .04, bullets on body armour: 5 cm from an earlier hit, 7.6 cm from the edge",
        "rule_of_nij_0101_06": "NIJ 0101.06, bullets on body armour: 51 mm from an earlier hit, 51 or 76 mm from the edge",
        "rule_quoted_in_a_book": "as quoted in a book extract, not seen in the standard itself",
        "rule_quoted_in_notes": (
            "its sections 7.6.1 and 7.6.2, as quoted in notes on the standard (NCJ 223054), not seen in the standard itself"
        ),
    }
)
