"""What is said of a bow build: the energy that it stores, its arrows, the fit through their speeds, how it stood on its days."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import Uncertain, figure, plainly, unit_for_reader, written
from proofyard.wording.counts import counted
from proofyard.wording.figures import share_words, with_uncertainty
from proofyard.wording.when import day_words


def pounds(force_n: float) -> str:
    """As archers say a bow's weight, whatever the reader's units: "145 lbf"."""
    return written(force_n, "lbf", figures=3)


def inches(length_m: float) -> str:
    """As archers say a draw, whatever the reader's units: "29.5 in"."""
    return written(length_m, "in", figures=3)


def _typeset(why: str) -> str:
    """A formula's reason as a page prints it: its apostrophes are those of a typewriter."""
    return why.replace("'", "’")


def _finding(*, stored: str, least: float | None, most: float | None) -> str:
    if least is None or most is None:
        return stored
    low, high = share_words(least), share_words(most)
    return f"{stored} Its arrows left with {low if low == high else f'{low} to {high}'} of it."


def _stored(*, energy_j: float, u_j: float | None, draw_m: float, source: str | None, reader: str) -> str:
    energy = with_uncertainty(Uncertain(energy_j, u_j), "energy", reader)
    return f"{energy} stored up to a draw of {figure(draw_m, 'point_draw', reader)}{f' ({source})' if source else ', the last point'}."


def _draw_unknown(*, who: str) -> str:
    return f"to the last point: how far {who} draws this bow is not recorded" if who else "to the last point"


def _few(*, few: int, arrows: int) -> str:
    rest = "rests" if few == 1 else "rest"
    return f"{few} of {counted(arrows, 'arrow')} {rest} on three readings or fewer: such a mean is itself rough."


LIGHT_NAMED = 24  # the lightest first: a caution that names a thousand arrows is not read


def _light(*, arrows: Sequence[str], least_gpp: float) -> str:
    more = len(arrows) - LIGHT_NAMED
    named = ", ".join(arrows[:LIGHT_NAMED]) + (f" and {more} more" if more > 0 else "")
    return (
        f"Under {least_gpp:g} gpp: arrow {named}. Wooden and horn bows are kept above about {least_gpp:g} to 10 (common "
        f"practice, no source): with less the limbs keep what the arrow can’t take. What your bow’s maker says comes first."
    )


def _brace_rest(*, brace_m: float, reader: str) -> str:
    return (
        f"The string’s rest is taken from the brace height, {figure(brace_m, 'brace_height', reader)}. That holds if draw and brace "
        f"height are measured from the same place on the bow; if not, add a point with force 0."
    )


def _fit(*, mass_kg: float, u_kg: float | None, arrows: int, reader: str) -> str:
    return f"Virtual mass {with_uncertainty(Uncertain(mass_kg, u_kg), 'mass', reader)}, from {counted(arrows, 'arrow')}."


def _agree(*, misfit: float) -> str:
    more = "; all uncertainties are widened by it" if misfit > 1 else ""
    return f"{plainly(misfit, figures=2)} times as far from the line as their own readings say{more}"


def _drift(
    *,
    day: str,
    who: str,
    first_n: float,
    last_n: float,
    share: float | None,
    speed_share: float | None,
    first_k: float | None,
    last_k: float | None,
    arrows: int | None,
    why_not: str,
    reader: str,
) -> str:
    words = f"{day_words(day)}, {who or 'archer not recorded'}: {_then(first_n, last_n, 'draw_weight', reader)}"
    if share is not None:
        words += f", {share_words(share, signed=True)}"
    beside = []
    if first_k is not None and last_k is not None:
        beside.append(_then(first_k, last_k, "temperature", reader))
    if arrows is not None:
        beside.append(f"{counted(arrows, 'arrow')} since it was braced")
    words += f" ({'; '.join(beside)})" if beside else ""
    if why_not:
        if share is None:
            return f"{words}. No drift can be told: {why_not}."
        return f"{words}. {why_not[:1].upper()}{why_not[1:]}{'' if why_not.endswith('.') else '.'}"
    return f"{words}. By the model the same arrow’s speed: {share_words(speed_share or 0.0, signed=True)}."


def _then(first: float, last: float, kind: str, reader: str) -> str:
    return f"{figure(first, kind, reader)}, then {figure(last, kind, reader)}"


def _little_draw(*, draw_m: float, worth_n: float, reader: str) -> str:
    little, worth = figure(draw_m, "point_draw", reader), written(worth_n, unit_for_reader("force", reader), figures=2)
    return f"{little} of draw is worth {worth} at full draw: a smaller drift may only be a draw read differently."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "bow_finding": _finding,
        "bow_stored": _stored,
        "bow_why": lambda *, why: _typeset(why),
        "bow_not_stored": lambda *, why: f"Stored energy not known: {_typeset(why)}.",
        "bow_draw_at_check": "{who}’s draw at the last check of this bow",
        "bow_draw_to_back": "{who}’s draw to the back of the bow",
        "bow_draw_unknown": _draw_unknown,
        "bow_weight_by_points": "by the force-draw points",
        "bow_weight_at_check": "at {who}’s last check",
        "bow_weight_marked": "as marked on the bow",
        "bow_weight_marked_at": lambda *, weight_n, draw_m: (
            f"marked {pounds(weight_n)} at {inches(draw_m)}, brought to this draw by a straight line"
        ),
        "bow_brace_rest": _brace_rest,
        "bow_few_readings": _few,
        "bow_newest_arrows": "Of {of} arrows the newest {newest} are in the table, the drawing and the fit.",
        "bow_no_efficiency": lambda *, why: f"Efficiency not known: {_typeset(why)}.",
        "bow_grains": lambda *, weight: (
            f"gpp, grains per pound: the arrow’s mass in grains for each pound of draw weight, here {weight or ''}."
        ),
        "bow_light": _light,
        "bow_no_speeds": "No arrow has both a mass and a speed with this bow build yet.",
        "bow_no_fit": lambda *, why: f"No virtual mass: {_typeset(why)}.",
        "bow_fit": _fit,
        "bow_two_agree": "two arrows: nothing shows whether they agree",
        "bow_unread_agree": "no arrow was read twice: only the scatter about the line tells the uncertainty",
        "bow_agree": _agree,
        "bow_drift": _drift,
        "bow_little_draw": _little_draw,
        "bow_model": (
            "The model: v goes with the root of the weight, the whole curve shrinking alike and the virtual mass the same. It tells "
            "whether speeds should be read again, and stands in for none."
        ),
    }
)
