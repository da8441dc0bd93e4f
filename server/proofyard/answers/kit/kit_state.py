"""Kit as it stands today: newest builds, what they weigh, which arrows are to check, what was typed that is unusual."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.records.arrow import FORMS, Arrow, Head
from proofyard.records.bow import Bow
from proofyard.records.columns import Noun, meanings
from proofyard.records.instrument import Reading
from proofyard.records.kit_facts import BuildFact, builds
from proofyard.records.kit_named import KIT
from proofyard.records.listing import belonging, name_of, readings_of
from proofyard.records.panel import Panel
from proofyard.records.speed_facts import instruments
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


State = ArrowState | BuiltState | Noun


def kit_states(session: Session, wanted: Mapping[str, Collection[str]]) -> dict[str, tuple[Noun, State]]:
    """Record id -> the record, and how it stands today, of these ids by their noun. Eleven statements whatever the number of records."""
    built = [one for noun in ("bow", "arrow", "panel") for one in wanted.get(noun, ())]
    by_record: dict[str, list[BuildFact]] = {}
    for one in builds(session, of_ids=built) if built else ():
        by_record.setdefault(one.of_id, []).append(one)
    newest = {arrow_id: by_record[arrow_id][0] for arrow_id in wanted.get("arrow", ()) if arrow_id in by_record}
    mounted = {build.head_id for build in newest.values() if build.head_id}
    ids = {noun: set(wanted.get(noun, ())) | (mounted if noun == "head" else set()) for noun in KIT}
    rows = {noun: {row.id: row for row in belonging(session, KIT[noun], "id", sorted(some))} for noun, some in ids.items() if some}
    arrows = _arrows(session, rows.get("arrow", {}), newest, rows.get("head", {}))
    found: dict[str, tuple[Noun, State]] = {}
    for noun, some in rows.items():
        for key, row in some.items():
            built_state = BuiltState(row, tuple(by_record.get(key, ()))) if isinstance(row, Bow | Panel) else row
            found[key] = (row, arrows[key] if noun == "arrow" else built_state)
    return found


def _arrows(
    session: Session, rows: Mapping[str, Noun], newest: Mapping[str, BuildFact], heads: Mapping[str, Noun]
) -> dict[str, ArrowState]:
    if not rows:
        return {}
    of_builds = [build.build_id for build in newest.values()]
    tools, masses, sound = instruments(session), _masses(session, of_builds), soundness_of_builds(session, of_builds)
    found = {}
    for key, arrow in rows.items():
        build = newest.get(key)
        head = heads.get(build.head_id or "") if build else None
        assert isinstance(arrow, Arrow) and (head is None or isinstance(head, Head))
        found[key] = ArrowState(
            arrow=arrow,
            build=build,
            head=head,
            mass=measured(masses.get(build.build_id, ()), tools).mean if build else None,
            sound=sound.get(build.build_id, NEVER_SHOT) if build else NEVER_SHOT,
        )
    return found


def _masses(session: Session, build_ids: Iterable[str]) -> dict[str, list[Reading]]:
    found: dict[str, list[Reading]] = {}
    for reading in readings_of(session, Reading, "arrow_build", build_ids):
        if reading.measured == "mass":
            found.setdefault(reading.record_id, []).append(reading)
    return found


def look_again(rows: Iterable[Noun]) -> tuple[LookAgain, ...]:
    """What is unusual of these records, in their order."""
    return tuple(
        LookAgain(str(row.__tablename__), row.id, name_of(row), meanings(type(row))[one.field][1].label, one.sentence)
        for row in rows
        for one in unusual(row)
    )
