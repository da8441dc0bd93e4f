"""What planning says: spots to aim at, the order, and when something was said beforehand."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import hand_length, unit_for_reader, written
from proofyard.records.plan import MIXED
from proofyard.wording.counts import be, capital, counted
from proofyard.wording.energies import ranged_words
from proofyard.wording.when import moment_words


def _order_lead(*, shots: int, done: int, skipped: int, following: str | None, waiting: bool) -> str:
    said = f"{shots} shots planned: {done} done" + (f", {skipped} skipped" if skipped else "") + "."
    if following:
        return f"{said} Next: {following}."
    return said + (" What is left waits for its arrows." if waiting else " Nothing of it is left to shoot.")


# What a plan is balanced over, as a count of them is said.
_CELLS = {"arrows": "arrows", "heads": "forms of head", "heads_archers": "pairs of form and archer"}


def _room(*, each: int, cells: int, of: str, shots: int, spots: int, most: int) -> str:
    do = f"Give {most} at most, take a fresh panel," if most else "Take a fresh panel, pick fewer arrows or archers,"
    room = f"{each} for each of {cells} {_CELLS[of]} is {shots} shots, and this panel has room for {spots} that stay fair."
    return f"{room} {do} or plan without spots."


def _energy(energy_j: float, reader: str) -> str:
    return written(energy_j, unit_for_reader("energy", reader), figures=2 if energy_j < 100 else 3)


def _where_it_lies(*, head: str, shots: int, low_j: float, high_j: float, chance: float, reader: str) -> str:
    lies = f"{counted(shots)}: the 50 % energy lies" if shots else "no shots yet: the 50 % energy is taken to lie"
    tenths = min(9, max(1, round(10 * chance)))
    return (
        f"{head}, {lies} between {_energy(low_j, reader)} and {_energy(high_j, reader)}. "
        f"A shot here goes through with a chance of about {tenths} in 10."
    )


def _by_the_last(*, head: str, through: bool) -> str:
    did, energy = ("went through", "less") if through else ("was stopped", "more")
    return f"up-and-down method: the last shot with the {head} {did}, so this one is to have {energy} energy"


def _percent(share: float) -> str:
    return f"{100 * share:.0f}\N{NO-BREAK SPACE}%"


def _points(width: float) -> str:
    return f"{100 * width:.0f} points"


def _said_before(*, before: int, unclear: int) -> str:
    """Whether something was said before the first shot, by when the shots were loosed."""
    if before:
        return f"after {counted(before)}"
    if unclear:
        return "on the day of the first shot, before or after it: when it was loosed is not recorded"
    return "before the first shot"


def _prediction_said(*, changed: bool, at_ms: int, before_it: str, kept_first: bool) -> str:
    more = "; first recorded before that, and the notebook keeps what" if kept_first else ""
    return f"{'Changed' if changed else 'Said'} {moment_words(at_ms)}, {before_it}{more}."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # spots to aim at
        "panel_size_not_in_book": "the panel’s width and height are not in the book, so no spots can be drawn",
        "no_spot_far_enough": "no spot on this panel is far enough from the edge and from earlier hits",
        "no_longer_fair": lambda *, label, away_m, reader: f"no longer fair: {label} hit {hand_length(away_m, reader)} from it",
        # the order made
        "choose_arrows": "Choose the arrows that you will shoot; only sound ones are offered.",
        "more_than_a_day_holds": lambda *, each, cells, of, shots, most: (
            f"{each} for each of {cells} {_CELLS[of]} is {shots} shots, more than a day holds. A plan has {most} at most."
        ),
        "no_room_for_spots": lambda *, why: f"{why[:1].upper()}{why[1:]}. Take another panel, or plan without spots.",
        "too_few_spots": _room,
        # the order shown
        "order_lead": _order_lead,
        "plan_in_a_list": lambda *, each, mixed, panel, seed: f"{each} each, {MIXED[mixed].lower()}, at {panel}, seed {seed}",
        "plan_seed": "{seed} (the same seed and kit give the same order again)",
        "next_planned": "{words}, {when}",
        "arrow_not_sound": "waits: arrow {tag} is not sound",
        "arrow_away": "waits: arrow {tag} has been retired or rebuilt",
        "once_checked": "once it is checked",
        "when_line_clear": "when the line is clear",
        "spots_caption": lambda *, unplaced: (
            "Numbers in rings are the spots that the order names. They lie so far from each other, the edge and earlier hits that a hit "
            "on the spot is fair." + (f" {counted(unplaced, 'earlier hit')} with no known place may spoil some." if unplaced else "")
        ),
        # what is at hand
        "arrows_to_check_first": lambda *, tags: f"Arrow{'' if len(tags) == 1 else 's'} {', '.join(tags)} must be checked first.",
        "combinations_without_energy": lambda *, count: (
            f"{counted(count, 'combination')} with no speed or mass in the book can’t be chosen."
        ),
        "chosen_of_many_arrows": (
            "Many arrows are in use: the next is chosen from those that this trial uses, plans with or shot at its panels, "
            "and the {newest} built last."
        ),
        "plan_of_many_arrows": (
            "Many arrows are in use: counted and offered here are those that this trial uses, plans with or shot at its panels, "
            "and the {newest} built last. Any other is ticked in the trial’s planned kit first."
        ),
        "arrows_of_many": (
            "Many arrows are in use: listed are those that this trial uses, plans with or shot at its panels, and the {newest} built last. "
            "Any other is ticked in the trial’s planned kit first."
        ),
        "setups_of_many": "Of other open trials the newest {most} set-ups are listed.",
        "trials_of_many": "The newest {most} are listed. To follow an older one, open that trial and tap “Start a follow-up trial”.",
        "panels_of_many": "The newest {most} are listed, and this trial’s own. Any other is ticked in the trial’s planned kit first.",
        # the next shot by a trial's rule
        "rule_begins": "up-and-down method: the first shot with the {head}",
        "rule_by_the_last": _by_the_last,
        "rule_narrows": "smallest interval: this shot should tell most about the 50\N{NO-BREAK SPACE}% energy of the {head}",
        "trial_closed_no_next": "The trial is closed, so there is no next shot.",
        "enough_so_stop": "Enough: {why}.",
        "no_shot_can_be_chosen": lambda *, left_out: " ".join(["No shot can be chosen: no sound arrow has a known energy.", *left_out]),
        "no_sound_arrow_with_energy": "No sound arrow with a known energy.",
        "head_so_far": "{head}: {why}",
        "heads_so_far": lambda *, heads: "; ".join(heads),
        "first_with_this_head": lambda *, guessed: (
            f"The first shot with this head: {'near your guess of the 50 % energy' if guessed else 'the middle of what you can shoot'}."
        ),
        "none_at_hand_after_last": lambda *, head, energy_j, why, reader: (
            f"Of the last shot that counts with the {head}, at {_energy(energy_j, reader)}: {why}. "
            "Bring another arrow or bow, or choose the next shot yourselves."
        ),
        "after_the_last": lambda *, energy_j, why, reader: (
            f"Of the last shot that counts with this head, at {_energy(energy_j, reader)}: {why}."
        ),
        "expected_to_narrow": lambda *, head, by: (
            f"expected to narrow the interval of the 50 % energy of the {head} by {100 * by:.0f}\N{NO-BREAK SPACE}%"
        ),
        "where_it_lies": _where_it_lies,
        "energy_at_hand": lambda *, energy_j, pooled, reader: _energy(energy_j, reader) + (", as like combinations have" if pooled else ""),
        "none_counts_yet": "no shots that count",
        "so_many_count_no_point": lambda *, shots, why: f"{counted(shots)} that count: {why}",
        "so_many_count": lambda *, shots, energy_j, low_j, high_j, reader: (
            f"{counted(shots)} that count: 50 % energy {_energy(energy_j, reader)}, {ranged_words(low_j, high_j, reader=reader)}"
        ),
        "unread_so_unknown": lambda *, labels: (
            f"{', '.join(labels[:6])}{' and more' if len(labels) > 6 else ''} {be(len(labels))} not read yet, so the rule "
            f"does not know {'it' if len(labels) == 1 else 'them'}."
        ),
        # the same, as a phone says it for itself until the laptop knows more
        "phone_enough": "Enough, by the trial’s rule",
        "phone_unread": "Once the last is read, the rule says which",
        "phone_not_sound": "The rule’s arrow is not sound: once the laptop hears of it, the rule says which",
        "phone_none_at_hand": "The rule has no sound arrow with a known energy",
        # how many shots are enough
        "no_arrow_is_sound": "No arrow is sound: each must be looked at before it flies.",
        "one_shot_with_each": lambda *, head, arrows, width, none_below: (
            f"{head}: {arrows} sound. One shot with each gives an interval {_points(width)} wide if half go through, and if none do, "
            f"the share may still be {_percent(none_below)}."
        ),
        "two_heads_could_show": "{first} and {second}, {could}.",
        "shots_to_rule_out": lambda *, share, shots: (
            f"To rule out a share of {_percent(share)} or more, {shots} fair shots must be stopped in a row (95\N{NO-BREAK SPACE}%)."
        ),
        "shots_to_tell_apart": lambda *, share, other, shots, reached, method: (
            f"To tell {_percent(share)} from {_percent(other)}, shoot {shots} with each head: such a trial shows the difference "
            f"{_percent(reached)} of the time, if the shares are as you think ({method})."
        ),
        "shots_for_a_width": lambda *, width, shots, reached, about: (
            f"For an interval no wider than {_points(width)}, shoot {shots}: {_points(reached)} are to be expected, {about}."
        ),
        "no_shots_for_a_width": lambda *, why, about: f"{capital(why)}, {about}.",
        "ratio_hardly_shown": (
            "With {shots} shots a head over several energies, a head that needs 1.3 times the energy of another is shown in fewer than "
            "3 of 10 such trials."
        ),
        "tenth_hardly_settled": (
            "A difference of a tenth of the energy can hardly be ruled out, even with 40 shots a head: with none at all, such a trial "
            "says so in about 9 to 26 of 100 cases."
        ),
        "if_half_go_through": "if half go through, which is the worst case",
        "if_so_many_go_through": lambda *, share: f"if {_percent(share)} go through",
        # predictions
        "said_before_shots": _said_before,
        "prediction_said": _prediction_said,
    }
)
