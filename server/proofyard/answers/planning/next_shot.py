"""Which shot next, by the trial's rule: which combination, why, by how much it is expected to help, and whether to stop.

Energies stand at the chronograph here, shots' and combinations' alike: air takes a part in thirty of all of them, which
moves no choice. Each form of head against each panel type has a curve of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.trial import NEXT_SHOT_RULES, Trial
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.next_shot import NarrowingShot, enough, next_by_outcome, next_to_narrow
from proofyard.views.at_hand import AtHand, InHand
from proofyard.views.chosen_energies import chosen_runs, rule_chooses
from proofyard.views.counted import standing
from proofyard.views.panel_type import NOT_RECORDED
from proofyard.views.settings import Through, ViewSettings, form_words, through_bounds_of

STEP_PERCENT = 5
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
    """A combination that could be next. gain: what a shot with it is expected to do."""

    hand: InHand
    energy: Reason
    gain: Reason | None = None


@dataclass(frozen=True)
class NextShot:
    """What the rule says. best None: `why` tells why there is none. after: how many shots it has seen loosed.

    plainly: what it looks at, in one short sentence, for whoever stands at the line
    """

    rule: str
    rule_words: str
    best: Offer | None
    others: tuple[Offer, ...]
    why: Reason | None
    heads: tuple[tuple[str, Reason], ...]
    waiting: Reason | None
    stop: bool
    stop_why: Reason
    after: int
    left_out: tuple[Reason, ...]
    plainly: Reason | None = None


def next_shot(trial: Trial, shots: Sequence[LoosedShot], *, hand: AtHand, through: Through) -> NextShot:
    """By the trial's own rule. shots: all loosed at this panel type in this trial, in order, crossed-out ones left out."""
    rule = trial.next_shot_rule or "none"
    chosen = rule_chooses(trial.next_shot_rule)
    series = [_series(form, shots, through=through, hand=hand, chosen=chosen) for form in _forms(shots, hand)]
    stop, stop_why = _stopping(trial, series)
    loosed = [s for s in shots if s.fact.purpose != "let_down"]
    best: Offer | None = None
    others: tuple[Offer, ...] = ()
    why: Reason | None = None
    if trial.state == "closed":
        why = because("trial_closed_no_next")
    elif rule != "none" and stop:
        why = because("enough_so_stop", why=stop_why)
    elif rule != "none" and not hand.combinations:
        why = because("no_shot_can_be_chosen", left_out=hand.left_out)
    elif rule == "up_and_down":
        best, why = _up_and_down(trial, series, hand=hand)
    elif rule == "smallest_interval":
        best, others, why = _narrowest(trial, series, hand=hand, last_bow=loosed[-1].fact.bow_build_id if loosed else None)
    unread = tuple(s.fact.label for s in loosed if s.fact.hit is None and s.fact.purpose == "counted")
    return NextShot(
        rule=rule,
        rule_words=NEXT_SHOT_RULES[rule],
        best=best,
        others=others,
        why=why,
        heads=tuple((form_words(one.form), head_told(one)) for one in series),
        waiting=because("unread_so_unknown", labels=unread) if unread else None,
        stop=stop,
        stop_why=stop_why,
        after=len(loosed),
        left_out=hand.left_out,
        plainly=_plainly(rule, best, series) if best else None,
    )


def _plainly(rule: str, best: Offer, series: Sequence[Series]) -> Reason:
    form = best.hand.fact.form or NOT_RECORDED
    head = form_words(form).lower()
    if rule == "smallest_interval":
        return because("rule_narrows", head=head)
    last = next((one.through[-1] for one in series if one.form == form and one.through), None)
    return because("rule_begins", head=head) if last is None else because("rule_by_the_last", head=head, through=bool(last))


def _forms(shots: Sequence[LoosedShot], hand: AtHand) -> list[str]:
    """The forms at hand in the order first met, and those that were shot."""
    found = [one.fact.form or NOT_RECORDED for one in hand.combinations] + [s.fact.form or NOT_RECORDED for s in shots]
    return list(dict.fromkeys(found))


def _series(form: str, shots: Sequence[LoosedShot], *, through: Through, hand: AtHand, chosen: bool) -> Series:
    """Only what counts: fair, read, settled, with an energy. meant_j: what the last of them was meant to have.

    chosen  the trial's rule chooses energies by the outcomes; without one their order may show the same
    """
    kept: list[LoosedShot] = []
    energies, outcomes = [], []
    meant = None
    known = {one.fact.combination_id: one.energy_j for one in hand.combinations}
    for shot in shots:
        energy = shot.impact.energy_at_chronograph_j
        if (shot.fact.form or NOT_RECORDED) != form or energy is None or standing(shot, ViewSettings()) not in (None, "no_target"):
            continue
        sure, maybe = through_bounds_of(shot.fact, through)
        if sure == maybe:
            kept.append(shot)
            energies.append(energy.value)
            outcomes.append(int(sure))
            meant = known.get(shot.fact.combination_id, energy.value)
    curve = fit_curve(energies, outcomes)
    # Energies that were chosen by the outcomes pay for that, here as on the page of 50 % energies; others don't.
    pays = chosen or _order_shows_it(kept, energies, outcomes)
    point = curve if isinstance(curve, CantTell) else fifty_percent_point(curve, chosen=pays)
    return Series(form, tuple(energies), tuple(outcomes), meant, point)


def _order_shows_it(shots: Sequence[LoosedShot], energies_j: Sequence[float], through: Sequence[int]) -> bool:
    energy = {shot.fact.shot_id: one for shot, one in zip(shots, energies_j, strict=True)}
    hit = {shot.fact.shot_id: bool(one) for shot, one in zip(shots, through, strict=True)}
    return bool(
        chosen_runs(
            shots,
            shots,
            energy_of=lambda shot: energy[shot.fact.shot_id],
            bounds_of=lambda shot: (hit[shot.fact.shot_id], hit[shot.fact.shot_id]),
        )
    )


def _stopping(trial: Trial, series: Sequence[Series]) -> tuple[bool, Reason]:
    """Enough for the trial: so many shots in all, or every head that was shot known narrowly enough."""
    if trial.stop_rule == "shots" and trial.stop_shots:
        found = enough(CantTell(because("no_shots")), sum(one.shots for one in series), planned_shots=trial.stop_shots)
        return found.stop, found.why
    if trial.stop_rule == "width" and trial.stop_width_percent:
        wanted = 1 + trial.stop_width_percent / 100
        each = [(one, enough(one.point, one.shots, wanted_width=wanted)) for one in series]
        heads = tuple(because("head_so_far", head=form_words(one.form).lower(), why=found.why) for one, found in each)
        return bool(each) and all(found.stop for _, found in each), because("heads_so_far", heads=heads)
    return False, because("no_rule_to_stop")


def _up_and_down(trial: Trial, series: Sequence[Series], *, hand: AtHand) -> tuple[Offer | None, Reason]:
    """Heads in turn: the one with fewest shots that has an energy at hand on the right side has the next."""
    why: Reason | None = None
    for one in sorted(series, key=lambda s: s.shots):
        mine = [h for h in hand.combinations if (h.fact.form or NOT_RECORDED) == one.form]
        if not mine:
            continue
        offer, said = _by_last(trial, one, mine)
        if offer is not None:
            return offer, said
        why = why or said
    return None, why or because("no_sound_arrow_with_energy")


def _by_last(trial: Trial, one: Series, mine: Sequence[InHand]) -> tuple[Offer | None, Reason]:
    energies = [h.energy_j for h in mine]
    if one.meant_j is None:
        return _offer(mine[_start(trial, energies)]), because("first_with_this_head", guessed=bool(trial.start_energy_j))
    step = 1 + (STEP_PERCENT if trial.next_step_percent is None else trial.next_step_percent) / 100
    found = next_by_outcome(one.meant_j, one.through[-1], at_hand_j=energies, step=step)
    if isinstance(found, CantTell):
        return None, because("none_at_hand_after_last", head=form_words(one.form).lower(), energy_j=one.meant_j, why=found.reason)
    return _offer(mine[found.place]), because("after_the_last", energy_j=one.meant_j, why=found.why)


def _narrowest(
    trial: Trial, series: Sequence[Series], *, hand: AtHand, last_bow: str | None
) -> tuple[Offer | None, tuple[Offer, ...], Reason]:
    """Over all heads: where one shot reduces the uncertainty most, for its work."""
    found: list[tuple[float, Offer, Reason]] = []
    dear = 1.0 + (trial.bow_change_costs or 0)
    for one in series:
        mine = [h for h in hand.combinations if (h.fact.form or NOT_RECORDED) == one.form]
        if not mine:
            continue
        energies = [h.energy_j for h in mine]
        works = [1.0 if last_bow in (None, h.fact.bow_build_id) else dear for h in mine]
        asked = next_to_narrow(one.energies_j, one.through, at_hand_j=energies, works=works)
        assert isinstance(asked, NarrowingShot)
        start = _start(trial, energies) if not one.shots and trial.start_energy_j else None
        head = form_words(one.form)
        for each in (asked.best, *asked.others):
            gain = because("expected_to_narrow", head=head.lower(), by=1 - each.factor)
            why = because("where_it_lies", head=head, shots=one.shots, low_j=asked.low_j, high_j=asked.high_j, chance=each.chance)
            found.append((each.worth * (2.0 if each.place == start else 1.0), _offer(mine[each.place], gain), why))
    found.sort(key=lambda three: -three[0])
    if not found:
        return None, (), because("no_sound_arrow_with_energy")
    best, others = found[0], [offer for _, offer, _ in found[1:] if offer.hand.energy_j != found[0][1].hand.energy_j]
    return best[1], tuple(others[:MOST_OTHERS]), best[2]


def _start(trial: Trial, energies: Sequence[float]) -> int:
    """The combination nearest to where the archers think half get through; else the middle one."""
    if trial.start_energy_j is None:
        return len(energies) // 2
    return min(range(len(energies)), key=lambda n: abs(energies[n] - (trial.start_energy_j or 0.0)))


def _offer(hand: InHand, gain: Reason | None = None) -> Offer:
    return Offer(hand, because("energy_at_hand", energy_j=hand.energy_j, pooled=hand.pooled), gain)


def head_told(one: Series) -> Reason:
    """Its shots that count, and its 50 % energy or why there is none."""
    if not one.shots:
        return because("none_counts_yet")
    if isinstance(one.point, CantTell):
        return because("so_many_count_no_point", shots=one.shots, why=one.point.reason)
    point = one.point
    return because("so_many_count", shots=one.shots, energy_j=point.energy_j, low_j=point.low_j, high_j=point.high_j)
