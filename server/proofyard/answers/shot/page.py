"""What a shot's page shows: what it had, what it did, how its energy came about, and all that was said of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from proofyard.charts.panel_words import where_text
from proofyard.quantities import unit_for_reader, written
from proofyard.quantities.reason import Reason, because
from proofyard.records.caveat_facts import caveat_facts
from proofyard.records.notebook import Line
from proofyard.records.range_facts import two_said
from proofyard.records.shot import CERTAINTIES, HITS, REACHED
from proofyard.records.shot_facts import ShotFact
from proofyard.records.shot_label import LabelTold, label_told
from proofyard.records.story import Whereabouts, revisions_of_shot, whereabouts
from proofyard.records.trial import INCIDENTS
from proofyard.shots.depth_fits import DepthFit, outcome_level_and_depth
from proofyard.shots.fair_hits import rules_of
from proofyard.shots.lines import energy_place, fair_words, head_words, place_words
from proofyard.shots.loosed import LoosedShot, loosed_on, seen_from
from proofyard.shots.panel_measures import LayersThere, in_its_way, layers_there, layers_told
from proofyard.shots.second_reading import AgainTold, again_told
from proofyard.shots.shot_energy import EnergyTold, energy_told, value_and_uncertainty
from proofyard.storage import Session
from proofyard.wording.fairness import UNNAMED
from proofyard.wording.reasons.said import said as reason_words
from proofyard.wording.revisions import ClashTold, Told, clashes_told, ids_in, told_with_names
from proofyard.wording.what_it_did import depth_words, what_it_did
from proofyard.wording.when import day_words


@dataclass(frozen=True)
class IncidentTold:
    what: str
    how_far: str
    done: str
    voided: bool


@dataclass(frozen=True)
class ReadLine:
    """One line of what was read. Where a figure in it was worked out: `figure` is how its words begin, `method` how it was worked out."""

    term: str
    words: str
    figure: str = ""
    method: str = ""


@dataclass(frozen=True)
class ShotRead:
    """finding_figure, finding_method   the energy that stands in the finding, and the method behind it; empty without one
    filmed   its session has a film
    """

    fact: ShotFact
    finding: Reason
    finding_figure: str
    finding_method: str
    lead: Reason
    energy: EnergyTold | None
    read: tuple[ReadLine, ...]
    fit: DepthFit | None
    fair_answer: str
    fair_reason: str
    worked_out: str
    revisions: tuple[Told, ...]
    incidents: tuple[IncidentTold, ...]
    clashes: tuple[ClashTold, ...]
    voided_reason: str
    again: tuple[AgainTold, ...]
    label: LabelTold
    filmed: bool


def read_shot(session: Session, shot_id: str, *, reader: str, only_trial: str | None = None) -> ShotRead | None:
    """At most twelve statements; None if there is no such shot. `only_trial`: all that this viewer may see."""
    where = whereabouts(session, shot_id)
    if where is None:
        return None
    shots = seen_from(loosed_on(session, [where.panel_build_id], trials={where.trial.id: where.trial}), only_trial)
    shot = next((s for s in shots if s.fact.shot_id == shot_id), None)
    if shot is None:
        return None
    fact = shot.fact
    lines = revisions_of_shot(session, shot_id)
    known = names_in(shots)
    if only_trial is not None:
        known |= _unnamed(session, {fact.may_be_shot_id, *(key for noun, key in ids_in(lines) if noun == "shot")}, only_trial)
    clashes = [c for c in two_said(session, ("shot", "shot_reading")) if c.record_id == shot_id]
    if only_trial is not None:  # either side of such a clash may name a shot of another trial
        clashes = [c for c in clashes if not c.field.startswith("may_be_shot")]
    fair = shot.fair
    return ShotRead(
        fact=fact,
        finding=finding_of(shot, reader),
        finding_figure=_finding_figure(shot, reader),
        finding_method="energy_at_target_j" if shot.impact.has_energy_at("target") else "kinetic_energy_j",
        lead=lead_of(fact),
        # A crossed-out shot's own speed is left out of every mean, so what is worked out for it would be another's.
        energy=None if fact.voided else energy_told(shot, reader=reader),
        read=what_was_read(fact, reader=reader, labels=known, there=_layers_there(fact, where)),
        fit=outcome_level_and_depth(
            fact.outcome_low, fact.outcome_high, depth_m=fact.depth_m, bound=fact.depth_bound, tip_to_widest_m=fact.tip_to_widest_m
        ),
        fair_answer=fair.answer.replace("_", " ") if fair else "",
        fair_reason=reason_words(fair.reason, reader) if fair else "",
        worked_out=fair_words(fair.worked_out, reader) if fair and fair.worked_out else "",
        revisions=told_with_names(session, [line for line in lines if line.noun != "incident"], reader=reader, known=known),
        incidents=incidents_told(lines, reader=reader),
        clashes=clashes_told(session, clashes, reader) if clashes else (),
        voided_reason=next((line.reason or "" for line in lines if line.noun == "shot" and line.action == "void"), "")
        if fact.voided
        else "",
        again=tuple(again_told(one, fact, reader=reader) for one in caveat_facts(session, [fact]).again_of(shot_id)),
        label=_label_told(session, fact, only_trial),
        filmed=where.filmed,
    )


def _unnamed(session: Session, shot_ids: set[str | None], only_trial: str) -> dict[str, str]:
    """Words for those of these shots that are of another trial: a viewer of one trial is not told their labels."""
    found = {key: whereabouts(session, key) for key in shot_ids if key}
    return {key: UNNAMED for key, where in found.items() if where is None or where.trial.id != only_trial}


def _label_told(session: Session, fact: ShotFact, only_trial: str | None) -> LabelTold:
    told = label_told(session, fact.shot_id, fact.label, only_trial=only_trial)
    return replace(told, others=tuple(replace(one, day=day_words(one.day)) for one in told.others))


def _layers_there(fact: ShotFact, where: Whereabouts) -> LayersThere | None:
    if fact.hit != "on_panel":
        return None
    return layers_there(
        where.panel, fact.x_m, y_m=fact.y_m, position_accuracy_m=rules_of(where.trial, fact.construction).position_accuracy_m
    )


def _finding_figure(shot: LoosedShot, reader: str) -> str:
    energy = shot.impact.energy_at(energy_place(shot.impact))
    return value_and_uncertainty(energy, "energy", reader=reader)[0] if energy is not None and not shot.fact.voided else ""


def names_in(shots: Sequence[LoosedShot]) -> dict[str, str]:
    """Names of the kit that these shots tell of: most revisions name nothing else, and then none are fetched."""
    names: dict[str, str] = {}
    for fact in (shot.fact for shot in shots):
        names |= {
            fact.archer_id: fact.archer,
            fact.bow_build_id: f"{fact.bow_name}, build {fact.bow_build_number}",
            fact.arrow_build_id: f"Arrow {fact.arrow_tag}, build {fact.arrow_build_number}",
            fact.shooting_end_id: f"{fact.panel_name}, {fact.day}",
            fact.shot_id: fact.label,
        }
    return names


def finding_of(shot: LoosedShot, reader: str) -> Reason:
    """With what energy it hit, and what it did."""
    fact, place = shot.fact, energy_place(shot.impact)
    return because(
        "shot_finding",
        label=fact.label,
        did=what_it_did(fact, reader=reader),
        voided=fact.voided,
        energy=shot.impact.energy_at(place),
        hit_with_it=place == "target" and fact.hit == "on_panel",
        place=place_words(shot.impact),
    )


def lead_of(fact: ShotFact) -> Reason:
    """Who, with what, at what, where and when."""
    return because(
        "shot_lead",
        archer=fact.archer,
        bow=fact.bow_name,
        arrow=fact.arrow_tag,
        head=f"{head_words(fact)} {fact.head_name or ''}".rstrip(),
        panel=fact.panel_name,
        build=fact.panel_build_number,
        place=fact.place,
        at=fact.loosed_at,
        day=fact.day,
        purpose=fact.purpose,
        short_draw=fact.short_draw,
    )


def what_was_read(fact: ShotFact, *, reader: str, labels: Mapping[str, str], there: LayersThere | None = None) -> tuple[ReadLine, ...]:
    """The reading in the words of its fields; what was not said is left out. The outcome level stands above, with its tile."""
    depth = because("reading_depth", depth=depth_words(fact, reader), method=fact.depth_method)
    back_face = because("reading_back_face", back_face_m=fact.back_face_m)
    away = where_text(fact.x_m, fact.y_m, reader) if fact.x_m or fact.y_m else None
    possibly = because("reading_may_be", shot=labels.get(fact.may_be_shot_id, "another shot") if fact.may_be_shot_id else "")
    pairs: tuple[tuple[str, Reason | str | None], ...] = (
        ("How it ended", HITS.get(fact.hit or "", "") if fact.hit != "on_panel" else ""),
        ("Reason", fact.why),
        ("Depth", depth if fact.depth_m is not None else None),
        ("Where it went in", because("reading_entry", entry=fact.entry, touched_first=fact.touched_first)),
        ("Where", because("reading_where", away=away, placed=fact.x_m is not None, unknown=fact.place_known is False)),
        ("Which plate", fact.plate),
        ("Layers at that point", str(fact.layers) if fact.layers is not None else ""),
        ("Layers by measures", layers_told(there, fact.layers)),
        ("Thickness along the shot", in_its_way(fact, there=there)),
        ("Angle from square", written(fact.angle_rad, "deg") if fact.angle_rad is not None else ""),
        ("Deepest layer", REACHED.get(fact.reached or "", "")),
        ("Back face", back_face if fact.back_face_m is not None else None),
        ("Arrow", _arrow(fact)),
        ("Armour", fact.damage),
        ("Possibly", possibly if fact.may_be_shot_id else None),
        ("How sure", CERTAINTIES.get(fact.certainty or "", "")),
        ("Check from behind", because("reading_rear_check") if fact.rear_check else None),
        ("Note", " ".join(text for text in (fact.note, fact.reading_note) if text)),
        ("Shot by", because("reading_shot_by", archer=fact.archer, phone=fact.recorder_letter)),
    )
    told = ((term, reason_words(words, reader) if isinstance(words, Reason) else words) for term, words in pairs)
    return tuple(_line(term, words) for term, words in told if words)


_WORKED_OUT = {
    "Layers by measures": (" by plates", "layers_at_point"),
    "Thickness along the shot": (" along the shot", "line_of_sight_thickness_m"),
}


def _line(term: str, words: str) -> ReadLine:
    ends, method = _WORKED_OUT.get(term, ("", ""))
    return ReadLine(term, words, words.partition(ends)[0], method) if method else ReadLine(term, words)


def _arrow(fact: ShotFact) -> Reason:
    return because(
        "reading_arrow", did=fact.arrow_did, bounced_m=fact.bounced_m, head_fates=tuple(fact.head_fate), shaft_fates=tuple(fact.shaft_fate)
    )


def incidents_told(lines: Sequence[Line], *, reader: str) -> tuple[IncidentTold, ...]:
    """The incidents that name this shot as they stand now, put together from their revisions, oldest first."""
    now: dict[str, dict[str, object]] = {}
    voided: dict[str, bool] = {}
    for line in sorted((one for one in lines if one.noun == "incident"), key=lambda one: one.seq):
        now.setdefault(line.record_id, {}).update({name: four[1] for name, four in line.changes.items()})
        voided[line.record_id] = line.action == "void"
    return tuple(
        IncidentTold(
            INCIDENTS.get(str(said.get("what")), "Incident"),
            written(distance, unit_for_reader("distance", reader)) if isinstance(distance := said.get("distance"), (int, float)) else "",
            str(said.get("done") or ""),
            voided[key],
        )
        for key, said in now.items()
    )
