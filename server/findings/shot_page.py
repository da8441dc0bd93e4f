"""What a shot's page shows: what it had, what it did, how its energy came about, and all that was said of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.charts.panel_words import where_text
from server.findings.blow.cautions import IN_FILES
from server.findings.depth_fits import DepthFit, rung_and_depth
from server.findings.fair_rules import rules_of
from server.findings.kit_worked_out import in_its_way
from server.findings.loosed import LoosedShot
from server.findings.loosed_on import loosed_on
from server.findings.panel_measures import LayersThere, layers_there, layers_words
from server.findings.revision_words import ClashTold, Told, clashes_told, told_with_names
from server.findings.second_reading import AgainTold, again_told
from server.findings.shot_energy import EnergyTold, energy_told, value_and_doubt
from server.findings.shot_lines import FAIR_WORDS, head_words
from server.findings.when import clock_words, day_words
from server.quantities import unit_for_reader, written
from server.records.caveat_facts import caveat_facts
from server.records.notebook import Line
from server.records.range_facts import two_said
from server.records.shot import (
    ALL_WAYS_IN,
    ARROW_DID,
    CERTAINTIES,
    DEPTH_METHODS,
    HEAD_FATES,
    HITS,
    PURPOSES,
    REACHED,
    SHAFT_FATES,
)
from server.records.shot_facts import ShotFact
from server.records.story import Whereabouts, revisions_of_shot, whereabouts
from server.records.trial import INCIDENTS
from server.storage import Session

ON = {"plate": "the plate", "mail": "the mail", "textile": "the cloth"}
_DID = ("left no mark on {}", "marked {}", "dented {}", "opened {}", "its point stood {}behind {}", "its head stood {}behind {}")


@dataclass(frozen=True)
class IncidentTold:
    incident_id: str
    what: str
    how_far: str
    done: str
    struck: bool


@dataclass(frozen=True)
class ReadLine:
    """One line of what was read. Where a figure in it was worked out: `figure` is how its words begin, `method` whence it comes."""

    term: str
    words: str
    figure: str = ""
    method: str = ""


@dataclass(frozen=True)
class ShotRead:
    """heading_figure, heading_method   the energy that stands in the heading, and whence it comes; empty without one"""

    fact: ShotFact
    heading: str
    heading_figure: str
    heading_method: str
    lead: str
    energy: EnergyTold | None
    read: tuple[ReadLine, ...]
    fit: DepthFit | None
    fair_answer: str
    fair_reason: str
    worked_out: str
    revisions: tuple[Told, ...]
    incidents: tuple[IncidentTold, ...]
    clashes: tuple[ClashTold, ...]
    struck_reason: str
    again: tuple[AgainTold, ...]


def read_shot(session: Session, shot_id: str, *, reader: str) -> ShotRead | None:
    """At most twelve statements; None if there is no such shot."""
    where = whereabouts(session, shot_id)
    if where is None:
        return None
    shots = loosed_on(session, [where.panel_build_id], trials={where.trial.id: where.trial})
    shot = next((s for s in shots if s.fact.shot_id == shot_id), None)
    if shot is None:
        return None
    fact = shot.fact
    lines = revisions_of_shot(session, shot_id)
    known = names_in(shots)
    clashes = [c for c in two_said(session, ("shot", "shot_reading")) if c.record_id == shot_id]
    fair = shot.fair
    return ShotRead(
        fact=fact,
        heading=heading(shot, reader),
        heading_figure=_heading_figure(shot, reader),
        heading_method="energy_at_target_j" if shot.impact.has_energy_at("target") else "kinetic_energy_j",
        lead=lead(fact),
        # A struck shot's own speed is left out of every mean, so what is worked out for it would be another's.
        energy=None if fact.struck else energy_told(shot, reader=reader),
        read=what_was_read(fact, reader=reader, labels={s.fact.shot_id: s.fact.label for s in shots}, there=_layers_there(fact, where)),
        fit=rung_and_depth(
            fact.outcome_low, fact.outcome_high, depth_m=fact.depth_m, bound=fact.depth_bound, tip_to_widest_m=fact.tip_to_widest_m
        ),
        fair_answer=fair.answer.replace("_", " ") if fair else "",
        fair_reason=fair.reason if fair else "",
        worked_out=_worked_out(fair.worked_out) if fair and fair.worked_out else "",
        revisions=told_with_names(session, [line for line in lines if line.noun != "incident"], known=known),
        incidents=incidents_told(lines, reader=reader),
        clashes=clashes_told(session, clashes) if clashes else (),
        struck_reason=next((line.reason or "" for line in lines if line.noun == "shot" and line.action == "strike"), "") if fact.struck else "",
        again=tuple(again_told(one, fact, reader=reader) for one in caveat_facts(session).again_of(shot_id)),
    )


def _layers_there(fact: ShotFact, where: Whereabouts) -> LayersThere | None:
    if fact.hit != "fair_target":
        return None
    return layers_there(where.panel, fact.x_m, y_m=fact.y_m, finger_m=rules_of(where.trial, fact.construction).finger_m)


def _heading_figure(shot: LoosedShot, reader: str) -> str:
    energy = shot.impact.energy_at("target" if shot.impact.has_energy_at("target") else "chronograph")
    return value_and_doubt(energy, "energy", reader=reader)[0] if energy is not None and not shot.fact.struck else ""


def _worked_out(words: str) -> str:
    answer, _, reason = words.partition(": ")
    return f"{FAIR_WORDS.get(answer, answer)}, {reason}"


def names_in(shots: Sequence[LoosedShot]) -> dict[str, str]:
    """Names of the kit that these shots tell of: most revisions name nothing else, and then none are fetched."""
    names: dict[str, str] = {}
    for fact in (shot.fact for shot in shots):
        names |= {
            fact.archer_id: fact.archer,
            fact.bow_build_id: f"{fact.bow_name}, build {fact.bow_build_number}",
            fact.arrow_build_id: f"Arrow {fact.arrow_tag}, build {fact.arrow_build_number}",
            fact.walk_id: f"{fact.panel_name}, {fact.day}",
            fact.shot_id: fact.label,
        }
    return names


def heading(shot: LoosedShot, reader: str) -> str:
    """ "A8 struck with 98.3 J, give or take 1.4, and its point stood 31 mm behind the plate"."""
    fact, place = shot.fact, "target" if shot.impact.has_energy_at("target") else "chronograph"
    energy = shot.impact.energy_at(place)
    did = what_it_did(fact, reader=reader)
    if fact.struck:
        return f"{fact.label}: {did}" if did.startswith("its ") else f"{fact.label} {did}"
    if energy is None:
        return f"{fact.label}: energy not measured; it {did}" if not did.startswith("its ") else f"{fact.label}: energy not measured; {did}"
    value, plus_minus = value_and_doubt(energy, "energy", reader=reader)
    doubt = f"give or take {plus_minus}" if plus_minus else "how well that is known can’t be told"
    # What didn't strike the panel only had it: a miss strikes with nothing.
    where = "half way" if place == "chronograph" and shot.impact.half_way else f"at the {place}"
    had = f"struck with {value}" if place == "target" and fact.hit == "fair_target" else f"had {value} {where}"
    return f"{fact.label} {had}, {doubt}, and {did}"


def what_it_did(fact: ShotFact, *, reader: str) -> str:
    """The outcome as the end of a sentence."""
    if fact.hit is None:
        ended = {"let_down": "was let down", "speed_only": "was loosed for its speed only"}
        return ended.get(fact.purpose, "is not read yet")
    if fact.hit != "fair_target":
        return {"missed": "missed", "partial": "clipped the panel’s edge", "spoiled": "was spoiled"}[fact.hit]
    if fact.outcome_low is None or fact.outcome_high is None:
        return "struck, with no rung given yet"
    on = ON.get(fact.construction or "", "the armour")
    low, high = (_rung_did(rung, fact, on, reader) for rung in (fact.outcome_low, fact.outcome_high))
    return low if low == high else f"{low}, or {high}"


def _rung_did(rung: int, fact: ShotFact, on: str, reader: str) -> str:
    if rung < 4:
        return _DID[rung].format(on)
    deep = depth_words(fact, reader)
    return _DID[rung].format(f"{deep} " if deep else "", on)


def depth_words(fact: ShotFact, reader: str) -> str:
    if fact.depth_m is None:
        return ""
    words = written(fact.depth_m, unit_for_reader("length", reader))
    return f"{words} or more" if fact.depth_bound == "at_least" else words


def lead(fact: ShotFact) -> str:
    """Who, with what, at what, where and when."""
    said = [fact.archer, fact.bow_name, f"arrow {fact.arrow_tag} with {head_words(fact)} {fact.head_name or ''}".rstrip()]
    build = f", build {fact.panel_build_number}" if fact.panel_build_number > 1 else ""
    said.append(fact.panel_name + build)
    if fact.place:
        said.append(fact.place)
    when = f"{clock_words(fact.loosed_at)} on {day_words(fact.day)}" if fact.loosed_at is not None else day_words(fact.day)
    words = ", ".join([*said, when]) + "."
    if fact.purpose != "counted":
        words += f" {PURPOSES[fact.purpose]}: not counted."
    return words + (" A short draw." if fact.short_draw else "")


def what_was_read(
    fact: ShotFact, *, reader: str, labels: Mapping[str, str], there: LayersThere | None = None
) -> tuple[ReadLine, ...]:
    """The reading in the words of its fields; what was not said is left out. The rung stands above, with its tile."""
    length = unit_for_reader("length", reader)
    depth = depth_words(fact, reader)
    if depth:
        depth += " past the rear face" + (f", {DEPTH_METHODS[fact.depth_method].lower()}" if fact.depth_method else "")
    pairs = (
        ("How it ended", HITS.get(fact.hit or "", "") if fact.hit != "fair_target" else ""),
        ("Why", fact.why),
        ("Depth", depth),
        ("Way in", _way_in(fact)),
        ("Where", where_text(fact.x_m, fact.y_m) + " of the middle" if fact.x_m or fact.y_m else "in the middle" if fact.x_m is not None else "not known" if fact.place_known is False else ""),
        ("Which plate", fact.plate),
        ("Layers there", str(fact.layers) if fact.layers is not None else ""),
        ("Layers by measures", layers_words(there, fact.layers)),
        ("In its way", in_its_way(fact, reader, there=there)),
        ("Angle off square", written(fact.angle_rad, "deg") if fact.angle_rad is not None else ""),
        ("Deepest layer", REACHED.get(fact.reached or "", "")),
        ("Back face", f"pushed in {written(fact.back_face_m, length)}. {IN_FILES}" if fact.back_face_m is not None else ""),
        ("Arrow", _arrow(fact, reader)),
        ("Armour", fact.damage),
        ("May be", f"the hit of {labels.get(fact.may_be_shot_id, 'another shot')}" if fact.may_be_shot_id else ""),
        ("How sure", CERTAINTIES.get(fact.certainty or "", "")),
        ("Look behind", "wanted, on the bench" if fact.look_behind else ""),
        ("Note", " ".join(text for text in (fact.note, fact.reading_note) if text)),
        ("Loosed, recorded", f"by {fact.archer}, on phone {fact.recorder_letter}" if fact.recorder_letter else f"by {fact.archer}"),
    )  # fmt: skip
    return tuple(_line(term, words) for term, words in pairs if words)


_WORKED_OUT = {"Layers by measures": (" by plates", "layers_at_point"), "In its way": (" along the shot", "line_of_sight_thickness_m")}


def _line(term: str, words: str) -> ReadLine:
    ends, method = _WORKED_OUT.get(term, ("", ""))
    return ReadLine(term, words, words.partition(ends)[0], method) if method else ReadLine(term, words)


def _way_in(fact: ShotFact) -> str:
    way = ALL_WAYS_IN.get(fact.way_in or "", "")
    first = ALL_WAYS_IN.get(fact.touched_first or "", "")
    return f"{way}; touched first: {first.lower()}" if way and first and first != way else way or (f"touched first: {first.lower()}" if first else "")


def _arrow(fact: ShotFact, reader: str) -> str:
    said = [ARROW_DID[fact.arrow_did]] if fact.arrow_did else []
    if fact.bounced_m is not None:
        said = [f"{said[0] if said else 'Bounced back'}, {written(fact.bounced_m, unit_for_reader('distance', reader))}"]
    if fact.head_fate:
        said.append("Head: " + ", ".join(HEAD_FATES[one].lower() for one in fact.head_fate))
    if fact.shaft_fate:
        said.append("Shaft: " + ", ".join(SHAFT_FATES[one].lower() for one in fact.shaft_fate))
    return ". ".join(said) + ("." if said else "")


def incidents_told(lines: Sequence[Line], *, reader: str) -> tuple[IncidentTold, ...]:
    """The incidents that name this shot as they stand now, put together from their revisions, oldest first."""
    now: dict[str, dict[str, object]] = {}
    struck: dict[str, bool] = {}
    for line in sorted((one for one in lines if one.noun == "incident"), key=lambda one: one.seq):
        now.setdefault(line.record_id, {}).update({name: four[1] for name, four in line.changes.items()})
        struck[line.record_id] = line.action == "strike"
    return tuple(
        IncidentTold(
            key, INCIDENTS.get(str(said.get("what")), "Incident"),
            written(distance, unit_for_reader("distance", reader)) if isinstance(distance := said.get("distance"), (int, float)) else "",
            str(said.get("done") or ""), struck[key],
        )
        for key, said in now.items()
    )  # fmt: skip


__all__ = ["ShotRead", "heading", "lead", "read_shot", "value_and_doubt", "what_it_did", "what_was_read"]
