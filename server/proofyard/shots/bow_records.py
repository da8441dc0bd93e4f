"""What the book holds of bows, in a few statements, and what each bow weighs at the draw of whoever shoots it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell
from proofyard.records.archer import Archer
from proofyard.records.bow import Bow, BowBuild, BowCheck, DrawPoint
from proofyard.records.listing import all_of
from proofyard.records.speed_facts import bows_in_combinations
from proofyard.shots.bow_curve import Curve, curve_of
from proofyard.shots.bow_days import in_order
from proofyard.shots.bow_draw import DrawKnown, draw_of
from proofyard.storage import Session


@dataclass(frozen=True, eq=False)
class BowRecords:
    """By their ids the bows, builds and archers that are in a combination, those crossed out too; points and checks that stand."""

    bows: Mapping[str, Bow]
    builds: Mapping[str, BowBuild]
    archers: Mapping[str, Archer]
    points: Sequence[DrawPoint]
    checks: Sequence[BowCheck]

    def curve(self, build_id: str) -> Curve | CantTell:
        return curve_of([one for one in self.points if one.bow_build_id == build_id], self.builds[build_id].brace_height_m)

    def longest_draw_m(self, build_id: str) -> float | None:
        """The last force-draw point; without points the draw that the weight is marked at."""
        curve = self.curve(build_id)
        return curve.draws_m[-1] if isinstance(curve, Curve) else self.bows[self.builds[build_id].bow_id].marked_draw_m

    def drawn(self, build_id: str, archer_id: str) -> DrawKnown:
        """How far this archer draws it, and what it weighs there."""
        build = self.builds[build_id]
        return draw_of(
            self.bows[build.bow_id],
            self.archers.get(archer_id),
            in_order([one for one in self.checks if one.bow_build_id == build_id]),
            curve=self.curve(build_id),
            brace_m=build.brace_height_m,
        )


def bow_records(session: Session) -> BowRecords:
    """Two statements."""
    shot = bows_in_combinations(session)
    return BowRecords(
        bows={bow.id: bow for _, bow, _, _ in shot},
        builds={build.id: build for build, _, _, _ in shot},
        archers={archer.id: archer for _, _, archer, _ in shot},
        points=all_of(session, DrawPoint),
        checks=tuple({check.id: check for _, _, _, check in shot if check}.values()),
    )
