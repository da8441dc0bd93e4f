"""What is said of a claim: the claim itself, its answer with the numbers that decide, what limits it, what would settle it."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import unit_for_reader, written
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.wording.counts import capital, hits_of, listed
from proofyard.wording.counts import counted as so_many
from proofyard.wording.when import moment_words

PERCENT = "\N{NO-BREAK SPACE}%"
_RUNNING = "running bound"


def panels_words(construction: str | None, thickness_m: float | None) -> str:
    """ "1.6 mm one-piece plate"."""
    made = CONSTRUCTIONS[construction].lower() if construction else "the armour"
    return f"{written(thickness_m, 'mm')} {made}" if thickness_m else made


def _shot_how(*, heads: Sequence[str], bow: str | None, energy_j: float | None, stand: str | None, reader: str) -> str:
    """What the armour stands against: "the leaf shot with Ash, on the hanging frame"."""
    shot = f"shot with {bow}" if bow else f"at {written(energy_j or 0.0, unit_for_reader('energy', reader))}"
    return f"the {listed(heads, most=9)} {shot}{f', on {stand}' if stand else ''}"


def _stated(*, who: str | None, at: int, when: str, late: bool, changed_at: int | None) -> str:
    words = f"{f'Stated by {who}' if who else 'Stated'}, {moment_words(at)}"
    if changed_at is not None:
        words += f"; changed {moment_words(changed_at)}"
    return f"{words}, {when}." + (" Asked after the shots: a lead, not a test." if late else "")


def _least(share: float) -> str:
    """A low end, never rounded up beyond itself."""
    return f"{int(100 * share)}{PERCENT}"


def _most(share: float) -> str:
    """A high end, never rounded down below itself."""
    tenths = -int(-1000 * share // 1) / 10
    return f"{tenths:g}{PERCENT}" if tenths < 10 else f"{-int(-100 * share // 1)}{PERCENT}"


def _no(*, heads: Sequence[str], scope: str, percent: int | None, others: str) -> str:
    bounds = f"({_level(percent)}{_RUNNING}{'s' if len(heads) > 1 else ''})"
    return f"No, not against {'; nor against '.join(heads)} {bounds}{f', {scope}' if scope else ''}.{f' {others}' if others else ''}"


def _head_refuted(*, head: str, low: int, high: int, shots: int, least: float) -> str:
    return f"the {head}: {hits_of(low, high, shots)} got through, so at least {_least(least)} do"


def _others(*, no: int, not_yet: int, yes: int) -> str:
    words = ((no, "no with these arrows"), (yes, "yes, as far as asked"), (not_yet, "not yet"))
    said = [f"{_other(n)}: {answer}" for n, answer in words if n]
    return f"{capital('; '.join(said))}." if said else ""


def _other(heads: int) -> str:
    return "the other head" if heads == 1 else f"{heads} other heads"


def _yes(*, heads: Sequence[str], scope: str, most: float, set_shots: int | None, percent: int | None) -> str:
    where = f", {scope}" if scope else ""
    return f"Yes, as far as asked{where}: {'; '.join(heads)}. At most {_most(most)} get through ({_level(percent)}{_bound(set_shots)})."


def _level(percent: int | None) -> str:
    return f"{percent}{PERCENT} " if percent else ""


def _bound(set_shots: int | None) -> str:
    """What sort of bound it is: one that holds at every look, or one for the number of shots that was set."""
    return _RUNNING if set_shots is None else f"bound for the {set_shots} shots set beforehand"


def _head_held(*, head: str, through: int, shots: int) -> str:
    return f"{hits_of(through, through, shots)} with the {head}"


def _not_yet(*, heads: Sequence[str], settles: str) -> str:
    return f"Not yet: {'; '.join(heads)}.{f' {settles}' if settles else ''}"


def _head_so_far(*, head: str, low: int, high: int, shots: int) -> str:
    return f"{hits_of(low, high, shots)} through with the {head}" if shots else f"no shot counts with the {head}"


def _settles(*, heads: Sequence[tuple[str, int]]) -> str:
    (first, shots), *others = heads
    if not others:
        return f"{capital(so_many(shots, 'more shot'))} with the {first}, none of them through, would settle it."
    more = [f"{so_many(shots, 'more shot')} with the {first}", *(f"{n} with the {head}" for head, n in others)]
    return f"{capital(listed(more, most=9))}, none of them through, would settle it."


def _scope(*, arrows: Sequence[str], panels: Sequence[str]) -> str:
    """ "with arrows A3 and A7 on panel P5"."""
    with_ = f"with {'arrow' if len(arrows) == 1 else 'arrows'} {listed(arrows, most=6)}"
    return f"{with_} on {_panel_names(panels)}"


def _panel_names(panels: Sequence[str]) -> str:
    """ "panel P5", "panels P5 and P6"; a panel that is called Panel 1 needs no such word."""
    named = listed(panels, most=6)
    return named if panels[0].lower().startswith("panel") else f"{'panel' if len(panels) == 1 else 'panels'} {named}"


def _never_no(*, shots: Sequence[str], panels: Sequence[str], through: int, counted: int) -> str:
    which = f" ({listed(shots)})" if shots else ""
    on = f"{'this panel' if len(panels) == 1 else 'these panels'}, {listed(panels, most=6)}"
    return f"No, not on {on}: {through} of {so_many(counted)} got through{which}. One is enough to refute “never”."


def _never_so_far(*, heads: Sequence[str]) -> str:
    return f"Not refuted so far: {'; '.join(heads)}. No number of shots can show “never”."


def _never_head(*, head: str, shots: int, one_in: int, percent: int | None) -> str:
    if not shots:
        return f"no shot counts with the {head}"
    most = f", so at most 1 in {one_in} gets through ({_level(percent)}{_RUNNING})" if one_in > 1 else ", too few to say how many may"
    return f"none of {shots} with the {head}{most}"


def _limit(*, head: str, arrows: int, panels: int, few: str) -> str:
    if panels == 1 and few == "panel":
        return f"{capital(head)}: all on one panel. Another panel would say more than 20 more shots here."
    if arrows == 1:
        return f"{capital(head)}: all with one arrow. Another arrow would say more than 20 more shots with this one."
    return f"{capital(head)}: {so_many(arrows, 'arrow')} on {so_many(panels, 'panel')}. For the type, more {few}s say more than more shots."


_APART = {
    "unread": "not read yet",
    "not_fair": "not fair",
    "by_gap": "through a gap",
    "cant_tell_way": "where it went in can’t be told",
    "no_target": "no energy at the target, or its uncertainty not known",
    "too_near": "too near the energy to count",
}


def _apart(*, apart: Sequence[tuple[str, int]]) -> str:
    return f"Counted apart, in neither direction: {', '.join(f'{n} {_APART[why]}' for why, n in apart if n)}."


def _could_change(*, shots: int) -> str:
    return f"{so_many(shots, 'undecided shot')} could change this."


def _rule(*, percent: int, heads: int, set_shots: int | None) -> str:
    wrong = f"{100 - percent:g}{PERCENT}"
    words = f"However often one looks, a wrong “no” or a wrong “yes” is said in at most {wrong} of such trials."
    if heads > 1:
        words += f" Any of {heads} heads can refute it, so each needs {heads} times the evidence; “yes” needs every head."
    if set_shots is not None:
        words += f" Set beforehand: {so_many(set_shots)} with each head; “yes” is judged once, after them."
    return words


def _type_rule(*, alike: float) -> str:
    return (
        f"For the type: as if shots of one arrow or one panel correlate by {alike:g} (0 = independent, 1 = identical), "
        "so its shots count for fewer."
    )


def _head_told(
    *,
    these: str,
    for_type: str | None,
    low: float,
    high: float,
    set_shots: int | None,
    more: str | None,
    more_for_type: str | None,
    rests_on: str | None,
) -> str:
    answer = f"These arrows on these panels: {these}. The type: {for_type}." if for_type else f"{capital(these)}."
    sorts = f"{_RUNNING}s" if set_shots is None else f"{_RUNNING} below, {_bound(set_shots)} above"
    said = [answer, f"Still possible: {int(100 * low)} to {_most(high)} through ({sorts})."]
    if more or more_for_type:
        of_type = f"for the type {more_for_type}" if more_for_type else ""
        said.append(f"Would settle it: {'; '.join(filter(None, (more, of_type)))}.")
    return " ".join([*said, f"{capital(rests_on)}." if rests_on else ""]).strip()


def _head_short(*, low: int, high: int, shots: int, these: str, for_type: str | None) -> str:
    counted = f"{hits_of(low, high, shots)} through" if shots else "no shots"
    answer = these if for_type in (None, these) else f"{these} with these arrows, {for_type} for the type"
    return f"{counted}: {answer}"


def _needs(*, one_in: int, heads: int, shots: Sequence[int | None], set_shots: int | None, refuted: Sequence[tuple[int, int]]) -> str:
    any_time, beforehand, with_one = (str(one) if one else "more shots than any yard" for one in shots)
    each = "" if heads == 1 else " with each head"
    told = f"At most 1 in {one_in} takes {any_time} shots{each} with none through"
    told += f" ({beforehand} if that number is set beforehand), {with_one} with one through."
    if set_shots is not None:
        told += f" Set beforehand: {set_shots}."
    ways = [f"{through} through in {'at most ' if most > through else ''}{most}" for through, most in refuted[:3]]
    return told + (f" It is refuted by {listed(ways)}{' with one head' if heads > 1 else ''}." if ways else "")


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "claim_shot_how": _shot_how,
        "claim_holds": lambda *, armour, shot, one_in: f"{capital(armour)} holds against {shot}: at most 1 shot in {one_in} gets through.",
        "claim_never": lambda *, armour, shot: f"{capital(armour)} is never shot through by {shot}.",
        "claim_stated": _stated,
        "claim_running_bound": (
            f"A {_RUNNING} holds however often one looks as the shots go on; "
            f"a 95{PERCENT} interval holds for a number of shots set beforehand."
        ),
        "claim_no": _no,
        "claim_head_refuted": _head_refuted,
        "claim_others": _others,
        "claim_yes": _yes,
        "claim_head_held": _head_held,
        "claim_not_yet": _not_yet,
        "claim_head_so_far": _head_so_far,
        "claim_settles": _settles,
        "claim_scope": _scope,
        "claim_never_no": _never_no,
        "claim_never_so_far": _never_so_far,
        "claim_never_head": _never_head,
        "claim_limit": _limit,
        "claim_apart": _apart,
        "claim_could_change": _could_change,
        "claim_rule": _rule,
        "claim_type_rule": _type_rule,
        "claim_no_level": "Asked after the shots, so how often such an answer is wrong nobody can say: the same sums, and no test.",
        "claim_by_itself": "by itself no, as one of {heads} heads not yet",
        "claim_head_short": _head_short,
        "claim_head_told": _head_told,
        "claim_needs": _needs,
        "claim_of_these": "With these arrows on these panels",
        "claim_of_the_type": "For the type",
        "claim_counted": lambda *, low, high, shots: f"{hits_of(low, high, shots)} through" if shots else "no shots",
        "claim_at_energy": (
            "A shot with less energy that got through refutes it, one with more that was held supports it; each by more than what "
            "all shots share of the uncertainty."
        ),
        "claim_more_shots": lambda *, shots: f"{so_many(shots, 'more shot')} without a through",
        "claim_more_of": "it takes more {few}s",
        "claim_more_never": "{why}",
        "claim_verdict_no": "no",
        "claim_verdict_yes": "yes, as far as asked",
        "claim_verdict_not_yet": "not yet",
    }
)
