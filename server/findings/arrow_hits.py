"""An arrow's flights so far, build by build: how often it struck since that build was made, what became of it."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.findings.impact import Impacts
from server.findings.loosed import LoosedShot
from server.findings.shot_lines import ShotLine, shot_line
from server.findings.shot_page import what_it_did
from server.findings.soundness import NEVER_SHOT, Soundness, soundness_of_builds
from server.findings.strikes import Strikes, strikes
from server.findings.when import day_words
from server.quantities import unit_for_reader, written_with_uncertainty
from server.records.arrow import FORMS, Arrow, ArrowBuild, Head
from server.records.listing import belonging, one
from server.records.shot import HEAD_FATES, SHAFT_FATES
from server.records.shot_facts import ShotFact, shot_facts
from server.records.strike_facts import STRUCK, BuildStrikes
from server.storage import Session

STRUCK_SOMETHING = STRUCK


@dataclass(frozen=True)
class BuildFlights:
    """One build: what it is, how sound, its strikes, its flights newest first."""

    build_id: str
    heading: str
    facts: tuple[tuple[str, str], ...]
    sound: Soundness
    why: str
    flights: tuple[ShotLine, ...]


@dataclass(frozen=True)
class ArrowPage:
    arrow_id: str
    heading: str
    lead: str
    builds: tuple[BuildFlights, ...]


def read_arrow(session: Session, arrow_id: str, *, reader: str, only_trial: str | None = None) -> ArrowPage | None:
    """Ten statements whatever the number of flights; None if there is none, or none that this viewer may see."""
    arrow = one(session, Arrow, arrow_id)
    if arrow is None:
        return None
    facts = [f for f in shot_facts(session, arrow_id=arrow_id) if only_trial is None or f.trial_id == only_trial]
    if only_trial is not None and not facts:
        return None
    builds = sorted(belonging(session, ArrowBuild, "arrow_id", arrow_id), key=lambda b: -b.number)
    heads = {h.id: h for h in belonging(session, Head, "id", [b.head_id for b in builds if b.head_id], struck=True)}
    sound = soundness_of_builds(session, [b.id for b in builds])
    impacts = Impacts.load(session, facts)
    flown = [LoosedShot(f, impacts.of_shot(f), None) for f in facts]
    shown = tuple(
        _build(
            b, heads.get(b.head_id or ""), flown=[s for s in flown if s.fact.arrow_build_id == b.id],
            sound=sound.get(b.id, NEVER_SHOT), impacts=impacts, reader=reader,
        )
        for b in builds
    )  # fmt: skip
    loosed = sum(f.purpose != "let_down" for f in facts)
    struck = sum(f.hit in STRUCK_SOMETHING for f in facts)
    made = [text for text in (arrow.material, arrow.fletching) if text]
    return ArrowPage(
        arrow_id=arrow_id,
        heading=f"Arrow {arrow.tag}: {_times(loosed, 'loosed')}, {_times(struck, 'struck')}",
        lead=", ".join(made)[:1].upper() + ", ".join(made)[1:] + (". " if made else "") + _strikes(builds, facts).words,
        builds=shown,
    )


def _strikes(builds: Sequence[ArrowBuild], facts: Sequence[ShotFact]) -> Strikes:
    """Counted from the flights that are shown, so that a viewer of one trial is told of those alone."""
    flown = {b.id: [f for f in facts if f.arrow_build_id == b.id and f.purpose != "let_down"] for b in builds}
    return strikes(
        [
            BuildStrikes(
                b.arrow_id, b.number, b.work, b.head_id, sum(f.hit in STRUCK_SOMETHING for f in flown[b.id]),
                sum(f.hit is None and f.purpose != "speed_only" for f in flown[b.id]),
            )
            for b in builds
        ]
    )  # fmt: skip


def _times(n: int, verb: str) -> str:
    return {0: f"never {verb}", 1: f"{verb} once", 2: f"{verb} twice"}.get(n, f"{verb} {n} times")


def _build(
    build: ArrowBuild, head: Head | None, *, flown: Sequence[LoosedShot], sound: Soundness, impacts: Impacts, reader: str
) -> BuildFlights:
    mass = impacts.mass_of(build.id)
    strikes = sum(s.fact.hit in STRUCK_SOMETHING for s in flown)
    loosed = [s for s in flown if s.fact.purpose != "let_down"]
    facts = (
        ("Head", f"{head.name}, {FORMS.get(head.form or '', 'form not said').lower()}" if head else "none mounted"),
        ("Mass", written_with_uncertainty(mass, unit_for_reader("mass", reader)) if mass else "never weighed"),
        ("Shots", str(len(loosed))),
        (f"Strikes since it was {(build.work or 'made').lower()}", str(strikes)),
        ("What became of it", fates_words(flown)),
        ("Sound?", f"{sound.words}: {sound.why}"),
    )
    return BuildFlights(
        build_id=build.id,
        heading=f"Build {build.number}" + (f", {build.work}" if build.work else ""),
        facts=tuple((term, words) for term, words in facts if words),
        sound=sound,
        why=sound.why[:1].upper() + sound.why[1:],
        flights=tuple(_flight(s, reader) for s in reversed(flown)),
    )


def _flight(shot: LoosedShot, reader: str) -> ShotLine:
    fact, did = shot.fact, what_it_did(shot.fact, reader=reader)
    return replace(shot_line(shot, reader), small=f"{did[0].upper()}{did[1:]}; {fact.panel_name}, {day_words(fact.day)}")


def fates_words(flown: Sequence[LoosedShot]) -> str:
    """ "head: point curled (B2), loose (A9); shaft: cracked (A9)": each fate with the shots that did it."""
    said = []
    for part, words in (("head", HEAD_FATES), ("shaft", SHAFT_FATES)):
        by_fate: dict[str, list[str]] = {}
        for shot in flown:
            for fate in getattr(shot.fact, f"{part}_fate"):
                if fate != "sound":
                    by_fate.setdefault(fate, []).append(shot.fact.label)
        if by_fate:
            said.append(f"{part}: " + ", ".join(f"{words[f].lower()} ({', '.join(labels)})" for f, labels in by_fate.items()))
    sound = Counter(s.fact.head_fate == ("sound",) or s.fact.shaft_fate == ("sound",) for s in flown)[True]
    return "; ".join(said) or ("nothing that anybody wrote down" if flown and not sound else "found sound each time it was looked at" if sound else "")
