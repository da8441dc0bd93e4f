"""Speeds of several arrows on one page: one bow, one archer, one chronograph, and a box for each arrow."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import APIRouter

from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, Sent, form_routes
from proofyard.pages.frame.forms import FieldState, FormField, FormOperations, Problems, heading, query_of
from proofyard.pages.kit.found import options_for
from proofyard.pages.speeds.typed_readings import METHODS, split_readings, too_many
from proofyard.records.archer import Archer
from proofyard.records.instrument import Instrument
from proofyard.records.kit_facts import combination_of
from proofyard.records.kit_to_pick import MOST_OFFERED, arrows_to_pick, bows_to_pick
from proofyard.records.listing import all_of, one
from proofyard.records.speed import Combination, SpeedReading, SpeedSeries
from proofyard.records.typed_values import Problem, take
from proofyard.storage import Session
from proofyard.views.address import last
from proofyard.wording.counts import counted

router = APIRouter()

WHOSE = ("bow_build", "archer")
SERIES = ("instrument", "stood_at", "day", "air_temperature", "note")
BOX = "speeds-"  # before an arrow build's id: the box for its speeds


@dataclass(frozen=True)
class ArrowsFound:
    """Which arrows a form offers. words: what their tags were asked to hold; more: there are more than are offered."""

    words: str
    more: bool
    most: int = MOST_OFFERED


@dataclass(frozen=True)
class Arrows:
    """The arrows that are offered, as (build id, name), and what was typed in the box of each."""

    offered: Sequence[tuple[str, str]]
    typed: Mapping[str, str]

    @property
    def filled(self) -> dict[str, list[str]]:
        """Build id -> its readings one by one, of the boxes that aren't empty."""
        return {build: pieces for build, _ in self.offered if (pieces := split_readings(self.typed[build]))}

    def fields(self, problems: Problems) -> list[FormField]:
        states = {
            build: FieldState(self.typed[build], error=" ".join(dict.fromkeys(one.sentence for one in problems.get(BOX + build, ()))))
            for build, _ in self.offered
        }
        return [FormField(BOX + build, f"Arrow {name}", "text", states[build]) for build, name in self.offered]

    def problems(self) -> Problems:
        """What can't be read, by its box; every piece is named, so that the one to mend is found among five."""
        found = {}
        for build, pieces in self.filled.items():
            wrong = [one.sentence for piece in pieces for one in take(SpeedReading, {"value": piece}).problems]
            wrong = [said] if (said := too_many(pieces)) else wrong
            if wrong:
                found[BOX + build] = [Problem(BOX + build, sentence) for sentence in wrong]
        return found


@form_routes(router, "/combinations/several")
def several(asked: Asked) -> Form:
    words = last(query_of(asked.request), "find").strip()
    sent_boxes = [name.removeprefix(BOX) for name, text in asked.form.items() if name.startswith(BOX) and str(text).strip()]
    with asked.book.read() as session:
        options = {
            "bow_build": bows_to_pick(session),
            "archer": [(who.id, who.call_name) for who in all_of(session, Archer, retired=False)],
        }
        series = Block(table=SpeedSeries, names=SERIES, options=options_for(session, SpeedSeries, SERIES))
        offered, more = arrows_to_pick(session, words=words, keep=sent_boxes)
    arrows = Arrows(offered, {build: str(asked.form.get(BOX + build, "")) for build, _ in offered})
    whose = Block(table=Combination, names=WHOSE, options=options)

    def check(bodies: Bodies) -> Problems:
        problems = dict(arrows.problems())
        if not arrows.filled and offered:
            problems[BOX + offered[0][0]] = [Problem(BOX, "Nothing was typed yet. Enter the speeds of an arrow, for example 52.4 52.6.")]
        missing = [name for name in WHOSE if not str(bodies[whose.key].get(name) or "").strip()]
        words = {"bow_build": "Choose the bow that the arrows were shot with.", "archer": "Choose who shot them."}
        return {**problems, **({whose.key: [Problem(name, words[name]) for name in missing]} if missing else {})}

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        with asked.book.read() as session:
            for build, pieces in arrows.filled.items():
                _keep_arrow(session, asked, operations, build, pieces, whose=bodies[whose.key], series=series, typed=bodies[series.key])

    def arrange(fields: list[FormField], sent: Sent) -> list[FormField]:
        lead = heading("Speeds of each arrow, several in one box")
        return [*fields, lead, *arrows.fields(sent.problems)]

    return Form(
        heading="Speeds of several arrows",
        lead="One bow, one archer, one chronograph. Enter what it showed for each arrow, with spaces between: 52.4 52.6 52.9. "
        f"{counted(len(offered), 'arrow')} can be picked; leave the rest empty.",
        back="/combinations",
        template="speeds/of_arrows.html",
        own=lambda sent: ArrowsFound(words, more),
        blocks=[whose, series],
        save="Save the speeds",
        at="main",
        check=check,
        keep=keep,
        arrange=arrange,
    )


def _keep_arrow(
    session: Session,
    asked: Asked,
    operations: FormOperations,
    arrow_build: str,
    pieces: Sequence[str],
    *,
    whose: Mapping[str, object],
    series: Block,
    typed: Mapping[str, object],
) -> None:
    """One arrow's combination, if these three have none yet, its series, and the readings in their order."""
    key, bow_build, archer = BOX + arrow_build, str(whose["bow_build"]), str(whose["archer"])
    there = combination_of(session, bow_build_id=bow_build, arrow_build_id=arrow_build, archer_id=archer)
    # The same form sent twice finds the combination that it made itself, and must ask for the same again.
    if there in (None, asked.nth_id(len(operations.operations))):
        there = operations.new("combination", {"bow_build": bow_build, "arrow_build": arrow_build, "archer": archer}, of=key)
    made = series.keep(asked, operations, typed, combination=there)
    tool = one(session, Instrument, str(typed.get("instrument") or ""))
    method = METHODS.get((tool.sort or "") if tool else "", "")
    for place, piece in enumerate(pieces, 1):
        body = {"series": made, "value": piece, "place": str(place), **({"method": method} if method else {})}
        operations.new("speed_reading", body, of=key)
