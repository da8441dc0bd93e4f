"""What trials can differ in, shot by shot, and what of it changed: for every shot, for some, for none, or not known.

A thing that changed for every shot between two trials can't be told apart from any other that did: their shots never
part the two. A thing that changed for some shots only can be left out by counting like with like.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities import in_readers, unit_for_reader, written
from proofyard.quantities.reason import Reason, because
from proofyard.records.instrument import HardnessReading
from proofyard.records.kit_between import Measured, StandFact
from proofyard.records.stand import HELD, ROLES
from proofyard.records.trial_days import DayFact
from proofyard.shots.hardness_found import hardness_worked_out
from proofyard.shots.loosed import LoosedShot
from proofyard.views.panel_type import panel_alone_of
from proofyard.views.settings import distance_words, form_of, form_words
from proofyard.wording.reasons.said import said
from proofyard.wording.reasons.trial_comparison import FACTOR_NAMES
from proofyard.wording.when import day_words

MOST_NAMED = 6  # single arrows and panels named one by one; of more it is said how many, and which are in all trials
SAME, SOME, EVERY, NOT_KNOWN = "same", "some", "every", "not_known"
Answer = tuple[str, str] | None


@dataclass(frozen=True)
class Around:
    """What the book knows around the shots: their days, stands, how hard each head is in words; and the reader's units."""

    days: Mapping[str, DayFact]
    stands: Mapping[str, StandFact]
    hardness: Mapping[str, str]
    reader: str = "metric"

    @classmethod
    def of(cls, days: Mapping[str, DayFact], stands: Mapping[str, StandFact], measured: Measured, *, reader: str) -> "Around":
        return cls(days, stands, {head: _hardness_words(rows) for head, rows in measured.hardness.items()}, reader)

    def length(self, metres: float, shown_as: str = "length") -> str:
        return written(metres, unit_for_reader(shown_as, self.reader))


def _hardness_words(rows: Sequence[HardnessReading]) -> str:
    """ "50 to 55 HRC"; several places one after the other; empty where none was measured."""
    said = [one.words.partition(", steel only")[0] for one in hardness_worked_out(rows) if one.label.startswith("Hardness")]
    return "; ".join(dict.fromkeys(said))


@dataclass(frozen=True)
class Factor:
    """One thing that may have changed. `of` gives (value, words), None where nobody said.

    follows   keys of factors that carry this one along: other panels are no news where the panel type is another
    single    one specimen each: left out where like is counted with like, since hardly a shot would be left
    """

    key: str
    of: Callable[[LoosedShot, Around], Answer]
    follows: tuple[str, ...] = ()
    single: bool = False

    @property
    def label(self) -> str:
        return FACTOR_NAMES[self.key][0]

    @property
    def as_said(self) -> str:
        """In a sentence: "the panel type"."""
        return FACTOR_NAMES[self.key][1]


def _panel_type(shot: LoosedShot, around: Around) -> Answer:
    # Without what lay behind it: the stand is a factor of its own.
    return panel_alone_of(shot.fact) if shot.fact.construction else None


def _panel(shot: LoosedShot, around: Around) -> Answer:
    fact = shot.fact
    return fact.panel_build_id, fact.panel_name + _build(fact.panel_build_number)


def _build(number: int) -> str:
    return "" if number == 1 else f", build {number}"


def _form(shot: LoosedShot, around: Around) -> Answer:
    return (form_of(shot.fact), form_words(shot.fact.form).lower()) if shot.fact.form else None


def _hardness(shot: LoosedShot, around: Around) -> Answer:
    words = around.hardness.get(shot.fact.head_id or "", "")
    return (words, words) if words else None


def _arrow(shot: LoosedShot, around: Around) -> Answer:
    fact = shot.fact
    return fact.arrow_build_id, fact.arrow_tag + _build(fact.arrow_build_number)


def _bow(shot: LoosedShot, around: Around) -> Answer:
    fact = shot.fact
    return fact.bow_build_id, fact.bow_name + _build(fact.bow_build_number)


def _who_with(shot: LoosedShot, around: Around) -> Answer:
    return f"{shot.fact.archer_id} {shot.fact.bow_id}", f"{shot.fact.archer} with {shot.fact.bow_name}"


def _distance(shot: LoosedShot, around: Around) -> Answer:
    metres = shot.fact.distance_m
    return None if metres is None else (distance_words(metres), around.length(metres, "distance"))


def _angle(shot: LoosedShot, around: Around) -> Answer:
    angle = shot.fact.setup_angle_rad
    if angle is None:
        return None
    words = "0° from square" if angle == 0 else f"{written(angle, 'deg')} from square"
    return words, words


def _stand(shot: LoosedShot, around: Around) -> Answer:
    found = around.stands.get(shot.fact.stand_id or "")
    return (found.stand.id, stand_words(found, around)) if found else None


def stand_words(found: StandFact, around: Around) -> str:
    """ "Hanging frame: hung, gap 40 mm, 18 kg hung; garment quilted linen 9 mm; backing clay 90 mm"."""
    stand = found.stand
    how = [HELD[stand.held].lower()] if stand.held else []
    how += [f"gap {around.length(stand.gap_m)}"] if stand.gap_m is not None else []
    how += [f"{in_readers(stand.hung_mass_kg, 'heavy_mass', around.reader)} hung"] if stand.hung_mass_kg is not None else []
    how += [f"tilted {written(stand.tilt_rad, 'deg')}"] if stand.tilt_rad else []
    layers = [
        " ".join(
            w for w in (ROLES[one.role].lower(), one.material, around.length(one.thickness_m) if one.thickness_m is not None else "") if w
        )
        for one in found.layers
    ]
    return "; ".join([f"{stand.name}: {', '.join(how)}".removesuffix(": "), *layers])


def _chronograph(shot: LoosedShot, around: Around) -> Answer:
    day = around.days.get(shot.fact.session_id)
    setup = next((one for one in (day.setups if day else ()) if one.setup.id == shot.fact.setup_id), None)
    if setup is None or not setup.chronograph:
        return None
    at = "" if shot.fact.chronograph_at_m is None else f", {around.length(shot.fact.chronograph_at_m, 'distance')} from the bow"
    return setup.chronograph + at, setup.chronograph + at


def _day(shot: LoosedShot, around: Around) -> Answer:
    return shot.fact.day, day_words(shot.fact.day)


def _place(shot: LoosedShot, around: Around) -> Answer:
    return (shot.fact.place.strip().casefold(), shot.fact.place.strip()) if shot.fact.place else None


def _weather(shot: LoosedShot, around: Around) -> Answer:
    found = around.days.get(shot.fact.session_id)
    if found is None:
        return None
    day = found.day
    said = [written(day.temperature_k, unit_for_reader("temperature", around.reader))] if day.temperature_k is not None else []
    said += [f"{written(day.humidity_ratio, '%')} humid"] if day.humidity_ratio is not None else []
    said += [in_readers(day.pressure_pa, "pressure", around.reader)] if day.pressure_pa is not None else []
    said += [day.weather.strip()] if day.weather and day.weather.strip() else []
    return (", ".join(said).casefold(), ", ".join(said)) if said else None


FACTORS = (
    Factor("panel_type", _panel_type),
    Factor("panel", _panel, follows=("panel_type",), single=True),
    Factor("form", _form),
    Factor("hardness", _hardness),
    Factor("arrow", _arrow, follows=("form",), single=True),
    Factor("bow", _bow),
    Factor("archer", lambda shot, _: (shot.fact.archer_id, shot.fact.archer)),
    Factor("who_with", _who_with, follows=("bow", "archer")),
    Factor("distance", _distance),
    Factor("angle", _angle),
    Factor("stand", _stand),
    Factor("chronograph", _chronograph),
    Factor("place", _place),
    Factor("day", _day),
    Factor("weather", _weather),
)


@dataclass(frozen=True)
class DiffRow:
    """One thing laid side by side: `words` for each trial. status: same, some, every, not_known; `note` what follows from it."""

    key: str
    label: str
    words: tuple[str, ...]
    status: str
    note: Reason | None = None

    @property
    def differs(self) -> bool:
        return self.status in (SOME, EVERY)


@dataclass(frozen=True)
class Level:
    """One answer to a factor, in one trial, and how many shots gave it."""

    value: str
    words: str
    shots: int


@dataclass(frozen=True)
class Contrast:
    """One factor across the trials. `levels`: for each trial; `unsaid`: shots for which nobody said, for each trial."""

    factor: Factor
    levels: tuple[tuple[Level, ...], ...]
    unsaid: tuple[int, ...]
    status: str

    @property
    def words(self) -> tuple[str, ...]:
        """For each trial, its answers: "needle (12); short bodkin (9)", or one alone without its count; of many, how many."""
        many = self.factor.single and max(map(len, self.levels)) > MOST_NAMED
        common = frozenset.intersection(*(frozenset(one.value for one in some) for some in self.levels)) if many else frozenset()
        return tuple(
            _many_words(levels, common) if many and levels else _levels_words(levels, unsaid)
            for levels, unsaid in zip(self.levels, self.unsaid, strict=True)
        )

    @property
    def row(self) -> DiffRow:
        return DiffRow(self.factor.key, self.factor.label, self.words, self.status)


def contrast(factor: Factor, shots: Sequence[Sequence[LoosedShot]], *, around: Around) -> Contrast:
    """One factor over the trials' shots."""
    levels, unsaid = [], []
    for mine in shots:
        found = [factor.of(shot, around) for shot in mine]
        words = dict(one for one in found if one is not None)
        counts = Counter(one[0] for one in found if one is not None)
        levels.append(tuple(Level(value, words[value], counts[value]) for value in sorted(counts, key=lambda v: _natural(words[v]))))
        unsaid.append(sum(one is None for one in found))
    return Contrast(factor, tuple(levels), tuple(unsaid), status_of([{one.value for one in some} for some in levels], unsaid))


def status_of(levels: Sequence[set[str]], unsaid: Sequence[int]) -> str:
    """Whether the answers are the same in all, some the same, none the same; not known where a trial has no answer.

    >>> status_of([{"a", "b"}, {"b"}], [0, 0]), status_of([{"a"}, {"b"}], [0, 0]), status_of([{"a"}, set()], [0, 3])
    ('some', 'every', 'not_known')
    """
    if not all(levels):
        return NOT_KNOWN
    if all(one == levels[0] for one in levels):
        return NOT_KNOWN if any(unsaid) else SAME
    # A shot of which nobody said may stand on either side: then it is not sure that every shot changed.
    return SOME if set.intersection(*levels) or any(unsaid) else EVERY


def _natural(words: str) -> tuple[tuple[int, str], ...]:
    """So that arrow 9 stands before arrow 10."""
    parts = "".join(c if c.isdigit() else " " for c in words).split()
    return tuple((int(part[:9]), "") for part in parts) + ((-1, words),)


def _levels_words(levels: Sequence[Level], unsaid: int) -> str:
    if not levels:
        return "not recorded"
    single = len(levels) == 1 and not unsaid
    said = [one.words if single else f"{one.words} ({one.shots})" for one in levels]
    return "; ".join(said + ([f"not recorded ({unsaid})"] if unsaid else []))


def _many_words(levels: Sequence[Level], common: frozenset[str]) -> str:
    """ "21 of them, 3 in all trials: 2, 6, 7 in build 3"."""
    again = [one.words.replace(", build", " in build") for one in levels if one.value in common]
    return said(because("many_of_them", number=len(levels), again=tuple(again)))
