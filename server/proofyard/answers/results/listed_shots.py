"""The shots behind one number of a results page, a part of them at a time: those of a cell, or those left out for one reason."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.answers.results.arrows import arrow_shots, heading_of
from proofyard.answers.results.first_page import plain_shots
from proofyard.quantities.reason import Reason, because
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.storage import Storage
from proofyard.views.address import PAGE, AskedPage, Query, Reading, address, last
from proofyard.views.axes import AXES, Band, band_from, on_axis
from proofyard.views.cells import group_of, is_row, row_key
from proofyard.views.counted import OFF_AXIS, Sorted, ask, sort_shots
from proofyard.views.listed_shot import ListedShot, listed_shot
from proofyard.views.settings import Asked, ViewSettings, asked_trial, wants_pool
from proofyard.wording.counts import PLAIN_COUNTS, counted
from proofyard.wording.left_out import REASONS
from proofyard.wording.reasons.said import said

A_PAGE = 250


@dataclass(frozen=True, kw_only=True)
class AskedPart(AskedPage):
    """Which part of the shots behind a number. `number`: what the address says of the number."""

    number: tuple[tuple[str, str], ...]

    def address(self, path: str, *, page: int = 1, **instead: str) -> str:
        """The same number's shots, another part of them."""
        return address(path, [*self.number, *instead.items(), (PAGE.name, str(page) if page > 1 else "")])


def asked_part(query: Query) -> AskedPart:
    """Out of an address."""
    reading = Reading(query)
    page = reading.one(PAGE)
    return AskedPart(
        page=page, number=tuple((name, value) for name in query if name != PAGE.name for value in query[name]), **reading.as_typed()
    )


@dataclass(frozen=True)
class ShotList:
    """What was asked for, and its shots. `why_none`: the address names nothing that there is; `part`: which are shown, None for all."""

    asked: Asked
    title: str
    shots: tuple[LoosedShot, ...]
    not_known: tuple[LoosedShot, ...] = ()
    why_none: str = ""
    reader: str = "metric"
    part: AskedPart | None = None

    @property
    def heading(self) -> str:
        return f"{self.title}: {counted(len(self.shots))}"

    @property
    def wrong(self) -> str:
        """What is wrong with the address, where something is."""
        return self.why_none or ("" if self.part is None else "".join(self.part.problems.values()))

    @property
    def pages(self) -> int:
        return max(1, -(-len(self._all) // A_PAGE)) if self.part else 1

    @property
    def page(self) -> int:
        return min(self.part.page, self.pages) if self.part else 1

    @property
    def told_page(self) -> Reason:
        begin, end = self._ends
        return because("shots_on_page", first=begin + 1, last=end, count=len(self._all))

    @property
    def lines(self) -> tuple[ListedShot, ...]:
        begin, end = self._ends
        return self._lines(self.shots[begin:end])

    @property
    def not_known_lines(self) -> tuple[ListedShot, ...]:
        begin, end = (max(0, one - len(self.shots)) for one in self._ends)
        return self._lines(self.not_known[begin:end])

    @property
    def _all(self) -> tuple[LoosedShot, ...]:
        """One list after the other: both are cut into pages as one."""
        return (*self.shots, *self.not_known)

    @property
    def _ends(self) -> tuple[int, int]:
        """Which of all are on this page."""
        if self.part is None:
            return 0, len(self._all)
        return (self.page - 1) * A_PAGE, min(self.page * A_PAGE, len(self._all))

    def _lines(self, shots: Sequence[LoosedShot]) -> tuple[ListedShot, ...]:
        return tuple(listed_shot(shot, place=self.asked.settings.place, reader=self.reader) for shot in shots)


def read_shot_list(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> ShotList:
    """The shots that an address asks for: `cell=needle:80-105`, `cell=needle:not_measured`, `out=missed`."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query), trial_id=asked_trial(query, only_trial))
    return replace(shot_list_of(loosed.of_trial(only_trial), query), reader=reader, part=asked_part(query))


def shot_list_of(loosed: Loosed, query: Query) -> ShotList:
    """The shots of a cell, of a reason, or all that are counted."""
    asked = ask(loosed, query)
    sorted_shots = sort_shots(loosed, asked.settings)
    out, cell = last(query, "out"), last(query, "cell")
    if out == "voided":
        return ShotList(asked, "Crossed out", sorted_shots.voided)
    if out == "let_down":
        return ShotList(asked, REASONS[out].words, sorted_shots.let_down)
    if out:
        if out not in REASONS:
            return ShotList(asked, "Page not found", (), why_none=said(because("no_such_list")))
        return ShotList(asked, REASONS[out].words, sorted_shots.apart.get(out, ()))
    plain, arrow = last(query, "plain"), last(query, "arrow")
    if plain or arrow:
        return _of_a_count(asked, sorted_shots, plain=plain, arrow=arrow)
    if not cell:
        return ShotList(asked, "All counted shots", sorted_shots.counted)
    row, _, where = cell.partition(":")
    settings = asked.settings
    if not is_row(row, settings):
        return ShotList(asked, "Page not found", (), why_none=said(because("no_such_row")))
    words = group_of(row, settings).words
    if where == "not_measured":
        why = "energy not measured" if set(OFF_AXIS[1:]).isdisjoint(sorted_shots.apart) else "no value for " + AXES[settings.axis].words
        return ShotList(asked, f"{words}, {why}", _of_row(sorted_shots.off_axis, row, settings))
    band = band_from(where, unit=AXES[settings.axis].unit)
    if band is None:
        return ShotList(asked, "Page not found", (), why_none=said(because("no_such_band")))
    return ShotList(
        asked,
        f"{words}, {band.with_unit}",
        _in_band(_of_row(sorted_shots.counted, row, settings), band, settings),
        _in_band(_of_row(sorted_shots.not_known, row, settings), band, settings),
    )


def _of_a_count(asked: Asked, shots: Sorted, *, plain: str, arrow: str) -> ShotList:
    """Of the plain count, `needle:‹bow›:through`, or of what became of the arrows, `needle:curled`."""
    settings = asked.settings
    row = (plain or arrow).partition(":")[0]
    words = PLAIN_COUNTS.get(plain.rpartition(":")[2]) if plain else heading_of(arrow)
    if words is None or not is_row(row, settings):
        return ShotList(asked, "Page not found", (), why_none=said(because("no_such_count")))
    found = plain_shots(shots, settings, plain) if plain else arrow_shots(shots, settings, arrow)
    bow = f", {found[0].fact.bow_name}" if plain and found else ""
    return ShotList(asked, f"{group_of(row, settings).words}{bow}, {words}", found)


def _of_row(shots: Sequence[LoosedShot], row: str, settings: ViewSettings) -> tuple[LoosedShot, ...]:
    return tuple(shot for shot in shots if row_key(shot, settings) == row)


def _in_band(shots: Sequence[LoosedShot], band: Band, settings: ViewSettings) -> tuple[LoosedShot, ...]:
    placed = [(shot, on_axis(shot, AXES[settings.axis], place=settings.place)) for shot in shots]
    return tuple(shot for shot, at in placed if at is not None and band.holds(at.value))
