"""What each archer expected of a trial, beside what its shots show: the share by head, the 50 % energy by head and panel type."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.arrow import FORMS
from proofyard.records.trial import Trial
from proofyard.shots.loosed import LoosedShot
from proofyard.views.cells import CountedShot, counted_shots, settled, tally_of
from proofyard.views.chosen_energies import chosen_among
from proofyard.views.curve import estimate_of, fifty_percent_of
from proofyard.views.panel_type import panel_type_of
from proofyard.views.predictions import SaidBefore
from proofyard.views.settings import ViewSettings, form_of, form_words, through_of


@dataclass(frozen=True)
class Beside:
    """One archer's figures, each in a sentence with what was found."""

    archer: str
    lines: tuple[Reason, ...]


def beside_the_outcome(expected: Sequence[SaidBefore], trial: Trial, shots: Sequence[LoosedShot]) -> tuple[Beside, ...]:
    """Of every archer who gave a figure. `shots`: fair hits of the trial, not by a gap, with an energy or without."""
    settings = settled(ViewSettings(only={"trial": trial.id}, through=through_of(trial)), shots)
    counted = counted_shots(shots, settings, edges=())
    found = []
    for one in expected:
        lines = [] if one.share is None else [_share(one.share, counted, settings.method)]
        lines += [] if one.fifty_percent_j is None else [_energy(one.fifty_percent_j, counted)]
        if lines:
            found.append(Beside(one.archer, tuple(lines)))
    return tuple(found)


def _share(expected: float, counted: Sequence[CountedShot], method: str) -> Reason:
    """By head: a share over several heads is nobody's."""
    heads = []
    for form, mine in _by_form(counted).items():
        tally = tally_of(mine, method)
        low, high = tally.interval or (0.0, 1.0)
        where = "above" if low > expected else "below" if high < expected else "holds"
        heads.append(because("share_beside", head=form_words(form).lower(), counts=tally.words, low=low, high=high, where=where))
    placed = [one for one in counted if one.energy]
    return because("expected_share", share=expected, heads=tuple(heads), chosen=bool(placed) and chosen_among(placed))


def _energy(expected_j: float, counted: Sequence[CountedShot]) -> Reason:
    """By head and panel type, each with the interval that its own page has."""
    points = []
    for form, mine in _by_form(counted).items():
        for on in dict.fromkeys(panel_type_of(one.shot.fact) for one in mine):
            point = fifty_percent_of([one for one in mine if panel_type_of(one.shot.fact) == on]).point
            if point is not None:
                above, below = point.low_j is not None and point.low_j > expected_j, point.high_j is not None and point.high_j < expected_j
                where = "above" if above else "below" if below else "holds"
                head = form_words(form).lower()
                points.append(because("energy_beside", head=head, on=on[1], estimate=estimate_of(point), where=where))
    return because("expected_energy", energy_j=expected_j, points=tuple(points))


def _by_form(counted: Sequence[CountedShot]) -> dict[str, list[CountedShot]]:
    found: dict[str, list[CountedShot]] = {}
    order = [*FORMS, "not_recorded"]
    for one in sorted(counted, key=lambda one: order.index(form_of(one.shot.fact))):
        found.setdefault(form_of(one.shot.fact), []).append(one)
    return found
