"""Who loosed goes with what is compared: one archer had one head, another the other; or one had all the low energies."""

from collections.abc import Sequence

from server.findings.caveats.caveat import Caveat, rests_on, some
from server.findings.caveats.view import FEW, Group, View
from server.findings.loosed import LoosedShot

APART = 0.5  # of the shots: as when one head has three quarters of its shots from one archer and another a quarter


def unbalanced_archers(view: View) -> list[Caveat]:
    """Between heads at one energy, where archers are parted most; else between energies."""
    names = {shot.fact.archer_id: shot.fact.archer for shot in view.shots}
    if len(names) < 2:
        return []
    within = [pair for groups in view.levels.values() for pair in _pairs([g for g in groups if len(g.shots) >= FEW])]
    levels = [Group(level, level, tuple(shot for group in groups for shot in group.shots)) for level, groups in view.levels.items() if level]
    across = _pairs([group for group in levels if len(group.shots) >= FEW])
    within = [] if "archer" in view.varied else within
    found = []
    for pairs, at, what in ((within, "Of", "those two"), (across, "At", "those energies")):
        worst = max(((_apart(one, other, archer), one, other, archer) for one, other in pairs for archer in names), key=lambda four: four[0], default=None)
        if worst and worst[0] >= APART:
            _, one, other, archer = worst
            words = (
                f"{at} {one.words} {names[archer]} loosed {_part(one.shots, archer)}, {at.lower()} {other.words} {_part(other.shots, archer)}: "
                f"between {what}, who loosed and what was loosed can’t be told apart."
            )
            touches = "comparing energies" if at == "At" else "comparing them at one energy"
            found.append(Caveat("archers", words, touches, rests_on([s for s in (*one.shots, *other.shots) if s.fact.archer_id == archer])))
    return found


def _pairs(groups: Sequence[Group]) -> list[tuple[Group, Group]]:
    return [(one, other) for one in groups for other in groups if one is not other]


def _apart(one: Group, other: Group, archer: str) -> float:
    return _share(one.shots, archer) - _share(other.shots, archer)


def _share(shots: Sequence[LoosedShot], archer: str) -> float:
    return sum(shot.fact.archer_id == archer for shot in shots) / len(shots)


def _part(shots: Sequence[LoosedShot], archer: str) -> str:
    mine = sum(shot.fact.archer_id == archer for shot in shots)
    return f"{mine or 'none'} of {some(len(shots), 'shot')}"
