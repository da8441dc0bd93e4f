"""What a film's files are made of: its shots in order, each with its moment, its title and what it did."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from proofyard.answers.film.clip_times import FilmRead
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.impact import Impacts
from proofyard.shots.lines import energy_words, head_words
from proofyard.shots.loosed import LoosedShot, loosed_with
from proofyard.storage import Session
from proofyard.wording.what_it_did import what_it_did

LONGEST_S = 5.0  # a caption stays so long, or till the next shot
GAP_S = 0.001  # a cue ends where the next begins, and never at the same thousandth


@dataclass(frozen=True)
class Cue:
    """One shot. Seconds count from the first frame of the first file.

    title  who, what with and at what; did: the energy, and what was read of it
    """

    shot_id: str
    label: str
    begins_s: float
    ends_s: float
    within_s: float
    title: str
    did: str


def cues_of(session: Session, read: FilmRead, *, reader: str) -> tuple[Cue, ...]:
    """The shots of a film. Only those that stand: a crossed-out one is in no caption."""
    facts = shot_facts(session, session_id=read.film.session_id)
    shots = {one.fact.shot_id: one for one in loosed_with(session, facts, impacts=Impacts.load(session)).shots}
    return timed(read, {key: words_of(one, reader=reader) for key, one in shots.items()})


def words_of(one: LoosedShot, *, reader: str) -> tuple[str, str]:
    """The two lines of a shot: who shot what at what; its energy and what was read of it."""
    fact = one.fact
    kit = f"{fact.archer}, {fact.bow_name}, arrow {fact.arrow_tag}, {head_words(fact)}"
    energy = energy_words(one.impact, reader) if fact.purpose == "counted" else ""
    return f"{fact.label}: {kit} at {fact.panel_name}", "; ".join(filter(None, (energy, what_it_did(fact, reader=reader))))


def timed(read: FilmRead, words: Mapping[str, tuple[str, str]]) -> tuple[Cue, ...]:
    """Each clip with its words, from its moment to the next one's."""
    clips = [clip for clip in read.clips if clip.shot.shot_id in words]
    ends = [clip.at.value for clip in clips[1:]] + [float("inf")]
    last = read.plays_s if read.plays_s is not None else float("inf")
    cues = []
    for clip, following in zip(clips, ends, strict=True):
        begins, (title, did) = max(0.0, clip.at.value), words[clip.shot.shot_id]
        end = min(begins + LONGEST_S, following - GAP_S, last)
        cues.append(Cue(clip.shot.shot_id, clip.shot.label, begins, max(end, begins + GAP_S), clip.within_s, title, did))
    return tuple(cues)
