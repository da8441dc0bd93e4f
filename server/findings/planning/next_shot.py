"""Which shot next, by the trial's rule: which pairing, why, by how much it is expected to help, and whether to stop.

Energies stand at the chronograph here, shots' and pairings' alike: air takes a part in thirty of all of them, which
moves no choice. Each form of head against each sort of panel has a curve of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.half.point import as_printed, range_words
from server.findings.left_out import standing
from server.findings.loosed import LoosedShot
from server.findings.planning.at_hand import AtHand, InHand
from server.findings.through import Through, may_be_through
from server.findings.view_settings import ViewSettings, form_words
from server.quantities import unit_for_reader, written
from server.records.trial import NEXT_SHOT_RULES, Trial
from server.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve
from server.statistics.next_shot import NarrowingShot, NextByOutcome, enough, next_by_outcome, next_to_narrow
from server.statistics.refusals import CantTell

STEP_PERCENT = 5
NOT_SAID = "not_said"
MOST_OTHERS = 5


@dataclass(frozen=True)
class Series:
    """The shots of one form of head that a rule may use, in the order loosed, and what their 50 % point is."""

    form: str
    energies_j: tuple[float, ...]
    through: tuple[int, ...]
    meant_j: float | None
    point: EnergyPoint | CantTell

    @property
    def shots(self) -> int:
        return len(self.through)


@dataclass(frozen=True)
class Offer:
    """A pairing that could be next. gain: what a shot with it is expected to do, in words."""

    hand: InHand
    energy: str
    gain: str


@dataclass(frozen=True)
class NextShot:
    """What the rule says. best None: `why` tells why there is none. after: how many shots it has seen loosed."""

    rule: str
    rule_words: str
    best: Offer | None
    others: tuple[Offer, ...]
    why: str
    heads: tuple[tuple[str, str], ...]
    waiting: str
    stop: bool
    stop_words: str
    after: int
    left_out: str


def next_shot(trial: Trial, shots: Sequence[LoosedShot], *, hand: AtHand, through: Through, reader: str) -> NextShot:
    """By the trial's own rule. shots: all loosed at this sort of panel in this trial, in order, struck ones left out."""
    rule = trial.next_shot_rule or "none"
    series = [_series(form, shots, through=through, hand=hand) for form in _forms(shots, hand)]
    stop, stop_words = _stopping(trial, series)
    loosed = [s for s in shots if s.fact.purpose != "let_down"]
    best: Offer | None = None
    others: tuple[Offer, ...] = ()
    why = ""
    if trial.state == "closed":
        why = "The trial is closed, so there is no next shot."
    elif rule != "none" and stop:
        why = f"Enough: {stop_words}."
    elif rule != "none" and not hand.pairings:
        why = f"No shot can be chosen: no sound arrow has a known energy. {hand.left_out}".strip()
    elif rule == "up_and_down":
        best, why = _up_and_down(trial, series, hand=hand, reader=reader)
    elif rule == "narrow_the_half":
        best, others, why = _narrowest(trial, series, hand=hand, last_bow=loosed[-1].fact.bow_build_id if loosed else None, reader=reader)
    return NextShot(
        rule=rule, rule_words=NEXT_SHOT_RULES[rule], best=best, others=others, why=why,
        heads=tuple((form_words(one.form), _told(one, reader)) for one in series), waiting=_waiting(loosed), stop=stop,
        stop_words=stop_words, after=len(loosed), left_out=hand.left_out,
    )  # fmt: skip


def _forms(shots: Sequence[LoosedShot], hand: AtHand) -> list[str]:
    """The forms at hand in the order first met, and those that were shot."""
    found = [one.fact.form or NOT_SAID for one in hand.pairings] + [s.fact.form or NOT_SAID for s in shots]
    return list(dict.fromkeys(found))


def _series(form: str, shots: Sequence[LoosedShot], *, through: Through, hand: AtHand) -> Series:
    """Only what counts: fair, read, settled, with an energy. meant_j: what the last of them was meant to have."""
    energies, outcomes = [], []
    meant = None
    known = {one.fact.pairing_id: one.energy_j for one in hand.pairings}
    for shot in shots:
        energy = shot.impact.energy_at_chronograph_j
        if (shot.fact.form or NOT_SAID) != form or energy is None or standing(shot, ViewSettings()) not in (None, "no_target"):
            continue
        sure, maybe = may_be_through(shot.fact, through)
        if sure == maybe:
            energies.append(energy.value)
            outcomes.append(int(sure))
            meant = known.get(shot.fact.pairing_id, energy.value)
    curve = fit_curve(energies, outcomes)
    point = curve if isinstance(curve, CantTell) else fifty_percent_point(curve)
    return Series(form, tuple(energies), tuple(outcomes), meant, point)


def _stopping(trial: Trial, series: Sequence[Series]) -> tuple[bool, str]:
    """Enough for the trial: so many shots in all, or every head that was shot known narrowly enough."""
    if trial.stop_rule == "shots" and trial.stop_shots:
        found = enough(CantTell("not asked"), sum(one.shots for one in series), planned_shots=trial.stop_shots)
        return found.stop, found.why
    if trial.stop_rule == "width" and trial.stop_width_percent:
        wanted = 1 + trial.stop_width_percent / 100
        each = [(one, enough(one.point, one.shots, wanted_width=wanted)) for one in series]
        words = "; ".join(f"{form_words(one.form).lower()}: {found.why}" for one, found in each)
        return bool(each) and all(found.stop for _, found in each), words
    return False, "no rule says when to stop"


def _up_and_down(trial: Trial, series: Sequence[Series], *, hand: AtHand, reader: str) -> tuple[Offer | None, str]:
    """Heads in turn: the one with fewest shots has the next."""
    forms = [one for one in series if any((h.fact.form or NOT_SAID) == one.form for h in hand.pairings)]
    if not forms:
        return None, "No sound arrow with a known energy."
    one = min(forms, key=lambda s: s.shots)
    mine = [h for h in hand.pairings if (h.fact.form or NOT_SAID) == one.form]
    energies = [h.energy_j for h in mine]
    if one.meant_j is None:
        at = _start(trial, energies)
        return _offer(mine[at], "", reader), f"The first shot with this head: {'about where you think half get through' if trial.start_energy_j else 'the middle of what you can shoot'}."
    step = 1 + (STEP_PERCENT if trial.next_step_percent is None else trial.next_step_percent) / 100
    found = next_by_outcome(one.meant_j, one.through[-1], at_hand_j=energies, step=step)
    assert isinstance(found, NextByOutcome)
    return _offer(mine[found.place], "", reader), f"Of the last shot that counts with this head, at {_energy(one.meant_j, reader)}: {found.why}."


def _narrowest(
    trial: Trial, series: Sequence[Series], *, hand: AtHand, last_bow: str | None, reader: str
) -> tuple[Offer | None, tuple[Offer, ...], str]:
    """Over all heads: where one shot takes most from the doubt, for its work."""
    found: list[tuple[float, Offer, str]] = []
    dear = 1.0 + (trial.bow_change_costs or 0)
    for one in series:
        mine = [h for h in hand.pairings if (h.fact.form or NOT_SAID) == one.form]
        if not mine:
            continue
        energies = [h.energy_j for h in mine]
        works = [1.0 if last_bow in (None, h.fact.bow_build_id) else dear for h in mine]
        asked = next_to_narrow(one.energies_j, one.through, at_hand_j=energies, works=works)
        assert isinstance(asked, NarrowingShot)
        start = _start(trial, energies) if not one.shots and trial.start_energy_j else None
        for each in (asked.best, *asked.others):
            gain = f"expected to narrow the half of the {form_words(one.form).lower()} by {100 * (1 - each.factor):.0f}\u00a0%"
            offer = _offer(mine[each.place], gain, reader)
            why = (
                f"{form_words(one.form)}: half get through somewhere from {_energy(asked.low_j, reader)} to {_energy(asked.high_j, reader)}, "
                f"as far as {_many(one.shots)} and what is at hand can say. A shot here gets through with a chance of about {_tens(each.chance)}."
            )
            found.append((each.worth * (2.0 if each.place == start else 1.0), offer, why))
    found.sort(key=lambda three: -three[0])
    if not found:
        return None, (), "No sound arrow with a known energy."
    best, others = found[0], [offer for _, offer, _ in found[1:] if offer.hand.energy_j != found[0][1].hand.energy_j]
    return best[1], tuple(others[:MOST_OTHERS]), best[2]


def _start(trial: Trial, energies: Sequence[float]) -> int:
    """The pairing nearest to where the archers think half get through; else the middle one."""
    if trial.start_energy_j is None:
        return len(energies) // 2
    return min(range(len(energies)), key=lambda n: abs(energies[n] - (trial.start_energy_j or 0.0)))


def _offer(hand: InHand, gain: str, reader: str) -> Offer:
    return Offer(hand, _energy(hand.energy_j, reader) + (", as like pairings have" if hand.pooled else ""), gain)


def _told(one: Series, reader: str) -> str:
    """ "6 shots: half at 44 J, 38 to 52 J" or why there is none."""
    said = f"{_many(one.shots)} that count"
    if isinstance(one.point, CantTell):
        return f"{said}: {as_printed(one.point.reason)}" if one.shots else said
    ends = range_words(one.point.low_j, one.point.high_j, reader=reader)
    return f"{said}: half get through at {_energy(one.point.energy_j, reader)}, {ends} (95\u00a0%)"


def _waiting(loosed: Sequence[LoosedShot]) -> str:
    unread = [s.fact.label for s in loosed if s.fact.hit is None and s.fact.purpose == "counted"]
    if not unread:
        return ""
    return f"{', '.join(unread[:6])}{' and more' if len(unread) > 6 else ''} {'is' if len(unread) == 1 else 'are'} not read yet: the rule has not heard of {'it' if len(unread) == 1 else 'them'}."


def _energy(energy_j: float, reader: str) -> str:
    return written(energy_j, unit_for_reader("energy", reader), figures=2 if energy_j < 100 else 3)


def _tens(chance: float) -> str:
    tenths = min(9, max(1, round(10 * chance)))
    return f"{tenths} in 10"


def _many(n: int) -> str:
    return f"{n or 'no'} shot{'' if n == 1 else 's'}"
