"""What stands beside a 50 % point: the doubt of the energies, the tails, further terms, and what to mind."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.half.energy_parts import EnergyParts, energy_parts
from server.findings.half.point import HalfPoint, as_printed, ends_words, energy_words, range_words
from server.findings.half.terms import TermsFound
from server.quantities import plainly
from server.statistics.energy_doubt import DoubtedPoint, point_with_energy_doubt
from server.statistics.fifty_percent_point import FEWEST_FOR_TAILS, EnergyPoint, tail_point

FEW = 10
ALL_OWN = "Every shot here has a speed of its own, so none stands at its pairing’s mean."


@dataclass(frozen=True)
class Aside:
    """Facts (term, words), and sentences under them."""

    facts: tuple[tuple[str, str], ...] = ()
    words: tuple[str, ...] = ()


def doubt_words(found: HalfPoint, *, place: str, reader: str) -> tuple[str, ...]:
    """What doubt about the energies adds to the point's range, each part by itself. Empty without a point."""
    if found.point is None:
        return ()
    parts = energy_parts(found.settled, place)
    if not parts.known:
        return ("How far the energies may be off can’t be told for any of these shots, so no such doubt is in that range.",)
    doubted = point_with_energy_doubt(
        [one.energy.value if one.energy else None for one in found.settled], found.through,
        pairings=[one.shot.fact.pairing_id for one in found.settled], instrument_relative=parts.instrument,
        pairing_relative=parts.pairing, shot_relative=parts.shot,
    )  # fmt: skip
    if not isinstance(doubted, DoubtedPoint):
        return ()
    return _said(doubted, parts, reader)


def _said(doubted: DoubtedPoint, parts: EnergyParts, reader: str) -> tuple[str, ...]:
    if doubted.low_j is None and doubted.high_j is None:
        said = ["With what is not known of the energies the point is bounded on neither side."]
    else:
        said = [f"With what is not known of the energies: {range_words(doubted.low_j, doubted.high_j, reader=reader)}."]
    said.append(
        f"In it, once: {_percent(parts.instrument)} that all these energies share, from the instruments. It moves every head alike and changes no comparison."
    )
    most = max(parts.pairing.values(), default=0.0)
    pairings = "1 pairing" if doubted.pairings == 1 else f"{doubted.pairings} pairings"
    said.append(
        f"In it, one draw a pairing: up to {_percent(most)} of a pairing’s own ({pairings} of bow, arrow and archer), which moves the point by {_percent(doubted.from_pairings)}."
    )
    said.append(as_printed(doubted.words) if parts.shot > 0 or not parts.each_own else ALL_OWN)
    if parts.unknown:
        said.append(f"For {_shots(parts.unknown)} nobody can tell how far the energy may be off; theirs is not in it.")
    return tuple(said)


def _percent(part: float) -> str:
    return f"{plainly(100 * part, figures=2)}\N{NO-BREAK SPACE}%" if part < 10 else "more than can be told"


def tails_told(found: HalfPoint, shares: Sequence[float], *, reader: str) -> Aside:
    """Where other shares than half get through; refused in words below 40 shots and outside the energies shot."""
    if found.curve is None:
        return Aside()
    if found.shots < FEWEST_FOR_TAILS:
        asked = " and ".join(f"{plainly(100 * share)}\N{NO-BREAK SPACE}%" for share in shares)
        return Aside(((f"Where {asked} get through", f"{_shots(found.shots)} say too little about the tails: it takes {FEWEST_FOR_TAILS}."),))
    facts = []
    for share in shares:
        point = tail_point(found.curve, share)
        if isinstance(point, EnergyPoint):
            words = f"{energy_words(point.energy_j, reader)}, {ends_words(point, reader=reader)}"
        else:
            words = f"{as_printed(point.reason[:1].upper() + point.reason[1:])}."
        facts.append((f"Where {plainly(100 * share)}\N{NO-BREAK SPACE}% get through", words))
    return Aside(tuple(facts))


def terms_told(found: TermsFound | None) -> Aside:
    """What was asked to stand beside the energy, or why it can't."""
    if found is None:
        return Aside()
    said = [found.note] if found.note else []
    if found.why_not:
        said.append(f"Refused: {as_printed(found.why_not)}.")
    if found.lines:
        said.append(f"Of {_shots(found.shots)}{f'; {found.left_out} more lack one of these, and are left out' if found.left_out else ''}. At one energy; angle, nearness and way in go together where they were shot so.")
    return Aside(words=(*found.lines, *said))


def mind_words(found: HalfPoint, *, reader: str) -> tuple[str, ...]:
    """Few shots, one panel, shots that are in neither count."""
    said = []
    if found.point is not None and found.shots < FEW:
        said.append(f"Only {_shots(found.shots)}: the next few may move it far.")
    panels = {one.shot.fact.panel_build_id: one.shot.fact.panel_name for one in found.settled}
    if found.point is not None and len(panels) == 1:
        said.append(f"All on one panel, {next(iter(panels.values()))}: it says nothing of how another of its sort may differ.")
    if found.open_shots and found.settled:
        said.append(_open_words(found, reader))
    if found.unmeasured and found.settled:
        said.append(f"{_shots(found.unmeasured)} more without an energy here: in no curve.")
    return tuple(said)


def _open_words(found: HalfPoint, reader: str) -> str:
    ends = [energy_words(point.energy_j, reader) if point else "not placed" for point in (found.if_all, found.if_none)]
    return (
        f"{_shots(len(found.open_shots))} may have got through or not, and {'is' if len(found.open_shots) == 1 else 'are'} left out: "
        f"counted through, the point would be {ends[0]}; counted as not, {ends[1]}."
    )


def _shots(count: int) -> str:
    return "1 shot" if count == 1 else f"{count} shots"
