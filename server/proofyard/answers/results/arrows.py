"""What became of the arrows, by head: sound, curled, broken, lost. Every shot counts here, whatever it hit; an arrow may be several."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.records.shot import ARROW_DID, HEAD_FATES, SHAFT_FATES
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.loosed import LoosedShot
from proofyard.views.arrow_fates import COLUMNS, HEADINGS, fates_of
from proofyard.views.cells import row_keys, rows_of
from proofyard.views.counted import CountedView, Sorted
from proofyard.views.settings import ViewSettings


@dataclass(frozen=True)
class ArrowRow:
    """One head's arrows. Each count as it is written and where its shots are listed, if there are any; `details`: every fate by name."""

    words: str
    glyph: str
    counts: tuple[tuple[str, str], ...]
    details: str


def arrows_of(view: CountedView) -> tuple[ArrowRow, ...]:
    """A row a head, of every shot that was loosed at the panel."""
    shots = _all_of(view.shots)
    by_row: dict[str, list[ShotFact]] = {}
    for key, shot in zip(row_keys(shots, view.settings), shots, strict=True):
        by_row.setdefault(key, []).append(shot.fact)
    rows = []
    for row in rows_of(by_row, view.settings):
        facts = by_row[row.key]
        href = f"{view.lists}&arrow={row.key}:"
        found = {what: sum(what in fates_of(fact) for fact in facts) for what in COLUMNS}
        counts = [(f"{found['noted']} of {len(facts)}", href + "noted" if found["noted"] else "")]
        counts += [(str(found[what]), href + what if found[what] else "") for what in COLUMNS[1:]]
        rows.append(ArrowRow(row.words, row.glyph, tuple(counts), _details(facts)))
    return tuple(rows)


def arrow_shots(shots: Sorted, settings: ViewSettings, which: str) -> tuple[LoosedShot, ...]:
    """The shots of one number: "needle:curled"."""
    row, _, what = which.partition(":")
    found = _all_of(shots)
    return tuple(shot for key, shot in zip(row_keys(found, settings), found, strict=True) if key == row and what in fates_of(shot.fact))


def heading_of(which: str) -> str | None:
    """The column of a number in words; None where there is none."""
    what = which.partition(":")[2]
    return HEADINGS[COLUMNS.index(what)].split(",")[0].lower() if what in COLUMNS else None


def _all_of(shots: Sorted) -> list[LoosedShot]:
    return [shot for shot in shots.in_order if shot.fact.purpose == "counted"]


def _details(facts: Sequence[ShotFact]) -> str:
    """ "2 point curled, 1 broken behind the head"; what is sound is a column already."""
    said = Counter(HEAD_FATES[fate].lower() for fact in facts for fate in fact.head_fate if fate != "sound")
    said += Counter(f"shaft {SHAFT_FATES[fate].lower()}" for fact in facts for fate in fact.shaft_fate if fate != "sound")
    said += Counter(ARROW_DID["broke_up"].lower() for fact in facts if fact.arrow_did == "broke_up")
    return ", ".join(f"{count} {words}" for words, count in said.most_common())
