"""All kit as it stands today: newest builds, what they weigh, which arrows are to check, what was typed that is unusual."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.records.archer import Archer
from proofyard.records.arrow import FORMS, Arrow, Head
from proofyard.records.bow import Bow
from proofyard.records.columns import Noun, meanings
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.kit_facts import BuildFact, builds
from proofyard.records.listing import all_of, name_of
from proofyard.records.panel import Panel
from proofyard.records.speed_facts import instruments
from proofyard.records.stand import Stand
from proofyard.records.typed_values import unusual
from proofyard.shots.readings import measured
from proofyard.shots.soundness import NEVER_SHOT, Soundness, soundness_of_builds
from proofyard.storage import Session


@dataclass(frozen=True)
class ArrowState:
    """An arrow with its newest build: the head it carries, what it weighs, whether it may be loosed."""

    arrow: Arrow
    build: BuildFact | None
    head: Head | None
    mass: Uncertain | None
    sound: Soundness

    @property
    def head_form(self) -> str:
        return FORMS.get((self.head.form if self.head else "") or "", "form not recorded")


@dataclass(frozen=True)
class BuiltState:
    """A bow or a panel with its builds, newest first."""

    record: Bow | Panel
    builds: tuple[BuildFact, ...]

    @property
    def newest(self) -> BuildFact | None:
        return self.builds[0] if self.builds else None


@dataclass(frozen=True)
class LookAgain:
    """One value outside its usual range, kept as typed."""

    noun: str
    record_id: str
    name: str
    label: str
    sentence: str


@dataclass(frozen=True)
class Kit:
    """Every noun of kit that was not crossed out; retired ones among them."""

    archers: Sequence[Archer]
    instruments: Sequence[Instrument]
    bows: Sequence[BuiltState]
    heads: Sequence[Head]
    arrows: Sequence[ArrowState]
    panels: Sequence[BuiltState]
    stands: Sequence[Stand]
    look_again: tuple[LookAgain, ...]

    @property
    def by_noun(self) -> Mapping[str, Sequence[tuple[Noun, Noun | ArrowState | BuiltState]]]:
        """Every record by its noun, in the order of the page, with how it stands today."""
        return {
            "archer": [(one, one) for one in self.archers],
            "bow": [(one.record, one) for one in self.bows],
            "arrow": [(one.arrow, one) for one in self.arrows],
            "head": [(one, one) for one in self.heads],
            "panel": [(one.record, one) for one in self.panels],
            "stand": [(one, one) for one in self.stands],
            "instrument": [(one, one) for one in self.instruments],
        }

    @property
    def empty(self) -> bool:
        return not any((self.archers, self.instruments, self.bows, self.heads, self.arrows, self.panels, self.stands))


def kit_state(session: Session) -> Kit:
    """Everything, in ten statements whatever the number of records."""
    by_record: dict[str, list[BuildFact]] = {}
    for one in builds(session):
        by_record.setdefault(one.of_id, []).append(one)
    tools = instruments(session)
    heads = {head.id: head for head in all_of(session, Head)}
    arrows = all_of(session, Arrow)
    newest = {arrow.id: by_record[arrow.id][0] for arrow in arrows if arrow.id in by_record}
    masses = _masses(session)
    sound = soundness_of_builds(session)
    bows, panels = all_of(session, Bow), all_of(session, Panel)
    archers, stands = all_of(session, Archer), all_of(session, Stand)
    standing = sorted((tool for tool in tools.values() if tool.voided_rev is None), key=lambda tool: tool.name.lower())
    states = []
    for arrow in arrows:
        build = newest.get(arrow.id)
        states.append(
            ArrowState(
                arrow=arrow,
                build=build,
                head=heads.get(build.head_id or "") if build else None,
                mass=measured(masses.get(build.build_id, ()), tools).mean if build else None,
                sound=sound.get(build.build_id, NEVER_SHOT) if build else NEVER_SHOT,
            )
        )
    return Kit(
        archers=archers,
        instruments=standing,
        heads=list(heads.values()),
        stands=stands,
        arrows=states,
        bows=[BuiltState(bow, tuple(by_record.get(bow.id, ()))) for bow in bows],
        panels=[BuiltState(panel, tuple(by_record.get(panel.id, ()))) for panel in panels],
        look_again=_look_again((*archers, *standing, *bows, *heads.values(), *arrows, *panels, *stands)),
    )


def _masses(session: Session) -> dict[str, list[Reading]]:
    found: dict[str, list[Reading]] = {}
    for reading in all_of(session, Reading):
        if reading.noun == "arrow_build" and reading.measured == "mass":
            found.setdefault(reading.record_id, []).append(reading)
    return found


def _look_again(rows: Sequence[Noun]) -> tuple[LookAgain, ...]:
    return tuple(
        LookAgain(str(row.__tablename__), row.id, name_of(row), meanings(type(row))[one.field][1].label, one.sentence)
        for row in rows
        for one in unusual(row)
    )
