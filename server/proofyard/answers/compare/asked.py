"""What an address asks to compare: the kind, and the groups."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.answers.compare.groups import MOST_GROUPS
from proofyard.quantities.reason import because
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.views.address import AsTyped, Choice, Query, Reading, Several
from proofyard.views.cells import RowGroup
from proofyard.views.comparable import KINDS, Kind
from proofyard.views.pair_comparison import group_order
from proofyard.views.settings import ViewSettings

BY = Choice(
    name="by",
    label="Compare",
    hint="After a change here press Show; then tick which to compare.",
    choices={key: one.label for key, one in KINDS.items()},
    default="form",
    wrong="“{}” is not one of the choices. Pick one; until then it compares head forms.",
)
OF = Several(
    name="of",
    label="Which of them",
    hint="None ticked compares all, or the five with the most counted shots.",
    wrong="One that you ticked has no shot here. Tick from those below.",
)


@dataclass(frozen=True, kw_only=True)
class CompareAsked(AsTyped):
    """`groups`: those compared; `offered`: all there are.

    picked    whether a reader picked them
    unpicked  how many groups are not compared because nobody ticked any and there are too many
    """

    kind: Kind
    offered: tuple[RowGroup, ...]
    groups: tuple[RowGroup, ...]
    picked: bool
    unpicked: int = 0


def compare_asked(query: Query, loosed: Loosed, *, settings: ViewSettings, counted: Sequence[LoosedShot]) -> CompareAsked:
    """Read the kind, the groups and the pair; what can't be used gets a sentence, and the rest is kept."""
    reading = Reading(query)
    kind = KINDS[reading.one(BY)]
    rows: dict[str, RowGroup] = {}
    for shot in loosed.shots:
        if settings.takes(shot.fact):
            row = kind.group(shot.fact)
            rows.setdefault(row.key, row)
    offered = tuple(sorted(rows.values(), key=group_order))
    known = _ticked(reading, offered)
    groups = known or _fullest(offered, kind, counted)
    return CompareAsked(
        kind=kind,
        offered=offered,
        groups=tuple(groups),
        picked=bool(known),
        unpicked=0 if known else len(offered) - len(groups),
        **reading.as_typed(),
    )


def _ticked(reading: Reading, offered: Sequence[RowGroup]) -> list[RowGroup]:
    """Those that somebody ticked: as many as can be compared."""
    found = reading.many(OF.of({row.key: row.words for row in offered}, glyphs={row.key: row.glyph for row in offered}))
    known = [row for row in offered if row.key in found]
    if len(known) == 1:
        reading.refuse(OF, because("asked_a_second"))
    if len(known) > MOST_GROUPS:
        reading.refuse(OF, because("asked_too_many_groups", most=MOST_GROUPS, groups=len(known)))
    return known[:MOST_GROUPS]


def _fullest(offered: Sequence[RowGroup], kind: Kind, counted: Sequence[LoosedShot]) -> list[RowGroup]:
    """Those with the most shots that count; chosen by how many there are, never by how they turned out."""
    shots = {row.key: 0 for row in offered}
    for shot in counted:
        key = kind.group(shot.fact).key
        shots[key] = shots.get(key, 0) + 1
    picked = sorted((row for row in offered if shots[row.key]), key=lambda row: -shots[row.key])[:MOST_GROUPS]
    # None counts: all are shown, with the reason why not.
    return [row for row in offered if row in picked] or list(offered[:MOST_GROUPS])
