"""What columns of shots.csv are made of: a row with all that is known of a shot, and what each column asks of it."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from operator import attrgetter
from typing import Any

from proofyard.exchange.blunt_columns import Blunt
from proofyard.exchange.csv_writing import Column, Value
from proofyard.exchange.fetched import Fetched
from proofyard.quantities import Uncertain
from proofyard.shots.fair_figures import FairFigures
from proofyard.shots.head_measures import HeadMeasures, HeadShape, measures_of, shape_of_fact
from proofyard.shots.loosed import LoosedShot
from proofyard.shots.panel_measures import Areal


@dataclass(frozen=True)
class PieceHardness:
    """How hard a panel's build or a head is, worked out once for all shots with it. None: an end is open, or not read so."""

    hv: float | None = None
    low_hrc: float | None = None
    high_hrc: float | None = None


NOT_READ = PieceHardness()


@dataclass(frozen=True)
class ShotRow:
    """One shot and the names of what its ids point to."""

    shot: LoosedShot
    fetched: Fetched
    day: Any
    stand: str | None
    chronograph: str | None
    aim: str | None
    may_be: str | None
    default_reason: str | None
    blunt: Blunt
    fair_figures: FairFigures | None = None
    areal: Areal | None = None
    panel_hardness: PieceHardness = NOT_READ
    head_hardness: PieceHardness = NOT_READ

    @cached_property
    def head_shape(self) -> HeadShape:
        return shape_of_fact(self.shot.fact)

    @cached_property
    def head_measures(self) -> HeadMeasures:
        """Asked by ten columns, worked out by the first."""
        return measures_of(self.head_shape)


Ask = Callable[[ShotRow], Value]


def text_column(name: str, meaning: str, source: str, ask: Ask, *, values: str = "") -> tuple[Column, Ask]:
    return Column(name, meaning, "", source, values=values), ask


def number_column(name: str, meaning: str, unit: str, source: str, ask: Ask) -> tuple[Column, Ask]:
    return Column(name, meaning, unit, source, number=True), ask


class OfFact:
    """What a shot's fact says as it is. Half of all columns are such, and a column of them is read without a call a cell."""

    def __init__(self, name: str) -> None:
        self.get: Callable[[Any], Value] = attrgetter(name)

    def __call__(self, row: ShotRow) -> Value:
        return self.get(row.shot.fact)


def of_fact(name: str) -> Ask:
    return OfFact(name)


def by_columns(asks: Iterable[Ask], rows: Sequence[ShotRow]) -> Iterable[tuple[Value, ...]]:
    """The rows' values, asked a column at a time: some hundred thousand cells cost a third less so."""
    facts = [row.shot.fact for row in rows]
    return zip(*(map(ask.get, facts) if isinstance(ask, OfFact) else map(ask, rows) for ask in asks), strict=True)


def choices_words(choices: Mapping[str, str]) -> str:
    return "; ".join(f"{stored} = {shown}" for stored, shown in choices.items())


def value_of(of: Callable[[LoosedShot], Uncertain | None]) -> Ask:
    return lambda row: found.value if (found := of(row.shot)) else None


def uncertainty_of(of: Callable[[LoosedShot], Uncertain | None]) -> Ask:
    return lambda row: found.standard_uncertainty if (found := of(row.shot)) else None


def count_of_readings(of: Callable[[LoosedShot], Uncertain | None]) -> Ask:
    return lambda row: found.n if (found := of(row.shot)) else None


U_WORDS = "Standard uncertainty of that (GUM); empty where it is not known"
