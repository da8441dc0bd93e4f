"""An arrow's flights so far, build by build: how often it hit since that build was made, what became of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.records.arrow import FORMS, Arrow, ArrowBuild, Head
from proofyard.records.hit_facts import HIT_SOMETHING, BuildHits
from proofyard.records.listing import belonging, one
from proofyard.records.shot import HEAD_FATES, SHAFT_FATES
from proofyard.records.shot_facts import ShotFact, facts_for_fairness
from proofyard.shots.fair_hits import mark_hits
from proofyard.shots.impact import Impacts
from proofyard.shots.lines import ShotLine, fair_words, shot_line
from proofyard.shots.loosed import LoosedShot, checks_of, seen_from, trials_of
from proofyard.shots.soundness import NEVER_SHOT, ArrowHits, Soundness, arrow_hits, soundness_of_builds
from proofyard.storage import Session
from proofyard.wording.what_it_did import what_it_did
from proofyard.wording.when import day_words


@dataclass(frozen=True)
class BuildFlights:
    """One build: what it is, how sound, its hits, its flights newest first."""

    build_id: str
    number: int
    work: str | None
    head: Head | None
    mass: Uncertain | None
    shots: int
    hits: int
    fates: Reason
    sound: Soundness
    flights: tuple[ShotLine, ...]

    @property
    def head_words(self) -> str:
        return f"{self.head.name}, {FORMS.get(self.head.form or '', 'form not recorded').lower()}" if self.head else "none mounted"


@dataclass(frozen=True)
class ArrowPage:
    arrow_id: str
    heading: str
    lead: Reason
    builds: tuple[BuildFlights, ...]


def read_arrow(session: Session, arrow_id: str, *, reader: str, only_trial: str | None = None) -> ArrowPage | None:
    """Twelve statements whatever the number of flights; None if there is none, or none that this viewer may see."""
    arrow = one(session, Arrow, arrow_id)
    if arrow is None:
        return None
    around = facts_for_fairness(session, arrow_id=arrow_id)
    facts = [f for f in around if f.arrow_id == arrow_id and not f.voided and only_trial in (None, f.trial_id)]
    if only_trial is not None and not facts:
        return None
    builds = sorted(belonging(session, ArrowBuild, "arrow_id", arrow_id), key=lambda b: -b.number)
    heads = {h.id: h for h in belonging(session, Head, "id", [b.head_id for b in builds if b.head_id], voided=True)}
    sound = soundness_of_builds(session, [b.id for b in builds], unnamed=only_trial is not None)
    impacts = Impacts.load(session, facts, also=[b.id for b in builds])
    marks = mark_hits(
        around, builds={f.panel_build_id for f in facts}, trials=trials_of(session, around), checks=checks_of(session, around)
    )
    flown = seen_from([LoosedShot(f, impacts.of_shot(f), marks.get(f.shot_id)) for f in facts], only_trial)
    shown = tuple(
        _build(
            b,
            heads.get(b.head_id or ""),
            flown=[s for s in flown if s.fact.arrow_build_id == b.id],
            sound=sound.get(b.id, NEVER_SHOT),
            impacts=impacts,
            reader=reader,
        )
        for b in builds
    )
    loosed = sum(f.purpose != "let_down" for f in facts)
    made = tuple(text for text in (arrow.material, arrow.fletching) if text)
    return ArrowPage(
        arrow_id=arrow_id,
        heading=f"Arrow {arrow.tag}",
        lead=because("arrow_lead", shots=loosed, hits=_hits(builds, facts).told, made=made),
        builds=shown,
    )


def _hits(builds: Sequence[ArrowBuild], facts: Sequence[ShotFact]) -> ArrowHits:
    """Counted from the flights that are shown, so that a viewer of one trial is told of those alone."""
    flown = {b.id: [f for f in facts if f.arrow_build_id == b.id and f.purpose != "let_down"] for b in builds}
    return arrow_hits(
        [
            BuildHits(
                b.arrow_id,
                b.number,
                b.work,
                b.head_id,
                sum(f.hit in HIT_SOMETHING for f in flown[b.id]),
                sum(f.hit is None and f.purpose != "speed_only" for f in flown[b.id]),
            )
            for b in builds
        ]
    )


def _build(
    build: ArrowBuild, head: Head | None, *, flown: Sequence[LoosedShot], sound: Soundness, impacts: Impacts, reader: str
) -> BuildFlights:
    return BuildFlights(
        build_id=build.id,
        number=build.number,
        work=build.work,
        head=head,
        mass=impacts.mass_of(build.id),
        shots=sum(s.fact.purpose != "let_down" for s in flown),
        hits=sum(s.fact.hit in HIT_SOMETHING for s in flown),
        fates=fates_of(flown),
        sound=sound,
        flights=tuple(_flight(s, reader) for s in reversed(flown)),
    )


def _flight(shot: LoosedShot, reader: str) -> ShotLine:
    fact, did = shot.fact, what_it_did(shot.fact, reader=reader)
    said = [f"{did[0].upper()}{did[1:]}", fair_words(shot.fair, reader), f"{fact.panel_name}, {day_words(fact.day)}"]
    return replace(shot_line(shot, reader), small="; ".join(words for words in said if words))


def fates_of(flown: Sequence[LoosedShot]) -> Reason:
    """Each fate with the shots that did it: "point curled (B2)", "cracked (A9)"."""
    found: dict[str, tuple[str, ...]] = {}
    for part, words in (("head", HEAD_FATES), ("shaft", SHAFT_FATES)):
        by_fate: dict[str, list[str]] = {}
        for shot in flown:
            for fate in getattr(shot.fact, f"{part}_fate"):
                if fate != "sound":
                    by_fate.setdefault(fate, []).append(shot.fact.label)
        found[part] = tuple(f"{words[fate].lower()} ({', '.join(labels)})" for fate, labels in by_fate.items())
    sound = any(s.fact.head_fate == ("sound",) or s.fact.shaft_fate == ("sound",) for s in flown)
    return because("arrow_fates", head=found["head"], shaft=found["shaft"], flown=len(flown), found_sound=sound)
