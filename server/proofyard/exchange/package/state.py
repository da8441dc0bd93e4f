"""The rows of a package's record tables: the whole book, or what a viewer of one trial may see of it."""

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from proofyard.records.columns import field_name, meanings
from proofyard.records.nouns import TABLES
from proofyard.records.whole_state import OpenClash, Piece, WholeState, clashes_of, letters_of, noun_named_by, pieces_of, whole_state
from proofyard.storage import Session

Row = dict[str, Any]
# What belongs to one trial, and the column by which it hangs on what it belongs to.
_BELONGS = {
    "session": ("trial_id", "trial"),
    "claim": ("trial_id", "trial"),
    "prediction": ("trial_id", "trial"),
    "plan": ("trial_id", "trial"),
    "planned_shot": ("plan_id", "plan"),
    "trial_uses": ("trial_id", "trial"),
    "caution_tick": ("session_id", "session"),
    "setup": ("session_id", "session"),
    "butt_visit": ("session_id", "session"),
    "incident": ("session_id", "session"),
    "shooting_end": ("setup_id", "setup"),
    "shot": ("shooting_end_id", "shooting_end"),
    "shot_reading": ("id", "shot"),
    "second_reading": ("shot_id", "shot"),
    "film": ("session_id", "session"),
    "film_mark": ("film_id", "film"),
}
# What belongs to kit: it comes with the kit that the trial used.
_PARTS = {
    "reading": ("record_id", None),
    "hardness_reading": ("record_id", None),
    "draw_point": ("bow_build_id", "bow_build"),
    "bow_check": ("bow_build_id", "bow_build"),
    "arrow_check": ("arrow_build_id", "arrow_build"),
    "panel_area": ("panel_build_id", "panel_build"),
    "panel_face": ("panel_build_id", "panel_build"),
    "stand_layer": ("stand_id", "stand"),
    "backing_check": ("stand_id", "stand"),
    "instrument_check": ("instrument_id", "instrument"),
    "speed_series": ("combination_id", "combination"),
}
_NEVER_UPWARDS = frozenset({"trial", "session", "shot", "photo"})  # of another trial, or what nobody has said it is of


@dataclass(frozen=True)
class Included:
    """The records that a package holds. pieces: those of a noun, some at a time and in the order of their ids."""

    pieces: Callable[[str], Iterable[Piece]]
    clashes: Sequence[OpenClash]
    letters: Mapping[str, str]

    def rows(self, noun: str) -> Iterator[Row]:
        return (row for piece in self.pieces(noun) for row in piece.rows)


def included(session: Session, only_trial: str | None = None) -> Included:
    """All records, or the trial with what its shots were loosed with and at; a link to anything else is left empty.

    They are read as they are asked for, so the reading has to go on until then.
    """
    if only_trial is None:
        letters = letters_of(session)
        return Included(lambda noun: pieces_of(session, noun, letters), clashes_of(session, letters), letters)
    return _Narrowed(whole_state(session)).of_trial(only_trial)


class _Narrowed:
    def __init__(self, state: WholeState) -> None:
        self._state = state
        self._by_id = {noun: {row["id"]: row for row in rows} for noun, rows in state.rows.items()}
        self._in: dict[str, set[str]] = {noun: set() for noun in TABLES}

    def of_trial(self, trial_id: str) -> Included:
        self._in["trial"].add(trial_id)
        for noun, (column, owner) in _BELONGS.items():
            self._take(noun, (row["id"] for row in self._state.rows[noun] if row[column] in self._in[owner]))
        self._speeds_of_shots()
        self._upwards()
        self._combinations()
        for noun, (column, named) in _PARTS.items():
            self._take(noun, (row["id"] for row in self._state.rows[noun] if self._has(named or row["noun"], row[column])))
        self._take(
            "speed_reading", (row["id"] for row in self._state.rows["speed_reading"] if row["series_id"] in self._in["speed_series"])
        )
        self._take("photo", (row["id"] for row in self._state.rows["photo"] if row["noun"] and self._has(row["noun"], row["record_id"])))
        self._upwards()
        rows = {noun: [self._cut(noun, self._by_id[noun][one]) for one in sorted(ids)] for noun, ids in self._in.items()}
        clashes = tuple(one for one in self._state.clashes if self._says(one.noun, one))
        return Included(lambda noun: [self._piece(noun, rows[noun])], clashes, self._state.letters)

    def _piece(self, noun: str, rows: list[Row]) -> Piece:
        moments = self._state.moments
        return Piece(rows, {row["id"]: moments[(noun, row["id"])] for row in rows if (noun, row["id"]) in moments})

    def _take(self, noun: str, ids: Iterable[str]) -> None:
        self._in[noun].update(ids)

    def _has(self, noun: str, record_id: str | None) -> bool:
        return record_id in self._in[noun]

    def _says(self, noun: str, clash: Any) -> bool:
        known = meanings(TABLES[noun]).get(clash.field)
        return self._has(noun, clash.record_id) and known is not None and known[1].value != "link"

    def _speeds_of_shots(self) -> None:
        self._take("speed_reading", (row["id"] for row in self._state.rows["speed_reading"] if row["shot_id"] in self._in["shot"]))

    def _combinations(self) -> None:
        three = {_three(self._by_id["shot"][one]) for one in self._in["shot"]}
        self._take("combination", (row["id"] for row in self._state.rows["combination"] if _three(row) in three))

    def _upwards(self) -> None:
        """What the records name: kit, archers, instruments; and what those name."""
        new = {(noun, one) for noun, ids in self._in.items() for one in ids}
        while new:
            named = {pair for noun, one in new for pair in self._named_by(noun, self._by_id[noun][one])}
            new = {(noun, one) for noun, one in named if one not in self._in[noun]}
            for noun, one in new:
                self._in[noun].add(one)

    def _named_by(self, noun: str, row: Row) -> Iterable[tuple[str, str]]:
        for column, target in links_of(noun):
            where = target or row.get("noun")
            if where and where not in _NEVER_UPWARDS and row[column] is not None and row[column] in self._by_id[where]:
                yield where, row[column]

    def _cut(self, noun: str, row: Row) -> Row:
        """The row without links that lead out of the package."""
        out = [column for column, target in links_of(noun) if row[column] is not None and not self._has(target or row["noun"], row[column])]
        if not out:
            return row
        words = json.loads(row["typed"])
        kept = {name: text for name, text in words.items() if name not in {field_name(column) for column in out}}
        return {**row, **dict.fromkeys(out), "typed": json.dumps(kept)}


def _three(row: Row) -> tuple[str, str, str]:
    return row["bow_build_id"], row["arrow_build_id"], row["archer_id"]


def links_of(noun: str) -> Collection[tuple[str, str | None]]:
    """(column, noun that it names) of every link of a noun; None where the row itself says which noun."""
    table = TABLES[noun]
    return [(column, noun_named_by(meaning.noun, table, column)) for column, meaning in meanings(table).values() if meaning.value == "link"]
