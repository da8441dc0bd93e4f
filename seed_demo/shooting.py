"""One arrow after another: loosed by one, read by the other, with the mess of real days."""

import math
from dataclasses import dataclass

from . import model
from .panels import DemoPanel
from .people_and_kit import WIDEST_M, DemoArrow, DemoBow, Kit, new_build
from .writer import Writer

OTHER = {"Tallow": "Wren", "Wren": "Tallow"}


@dataclass
class Loosed:
    shot: str
    label: str
    archer: str
    arrow: DemoArrow
    panel: DemoPanel
    energy_j: float
    purpose: str
    x_m: float
    y_m: float
    angle_rad: float


class Range:
    """Keeps the phones' counts and what happened to each arrow."""

    def __init__(self, w: Writer, kit: Kit) -> None:
        self.w, self.kit = w, kit
        self.counts = {"Tallow": 0, "Wren": 0}
        self.letters = {"Tallow": "A", "Wren": "B"}
        # What was read of each hit on a plate, for whoever reads some of them a second time.
        self.hits_read: list[tuple[Loosed, dict[str, object]]] = []
        self.missed: list[Loosed] = []

    def loose(
        self,
        shooting_end: str,
        archer: str,
        bow: DemoBow,
        arrow: DemoArrow,
        panel: DemoPanel,
        *,
        position: int | None,
        purpose: str = "counted",
        short: bool = False,
        said_archer: str | None = None,
        angle_rad: float = 0.0,
        force_speed: bool = False,
    ) -> Loosed:
        w = self.w
        w.phone = archer
        self.counts[archer] += 1
        label = f"{self.letters[archer]}{self.counts[archer]}"
        w.wait(w.rng.randint(25, 70))
        spot = panel.spots[panel.used % len(panel.spots)]
        if purpose == "counted":
            panel.used += 1
        speed = bow.model.speed_m_s(arrow.mass_kg) + w.rng.gauss(0, model.SPEED_SCATTER_M_S) - (5.5 if short else 0.0)
        shot = w.put(
            "shot",
            {
                "label": label,
                "shooting_end": shooting_end,
                "position": None if position is None else str(position),
                "bow_build": bow.build,
                "arrow_build": arrow.build,
                "archer": self.kit.archers[said_archer or archer],
                "purpose": purpose,
                "short_draw": "yes" if short else "no",
                "aim": spot[0],
                "loosed_at": w.now,
            },
        )
        if said_archer:
            w.put("shot", {"archer": self.kit.archers[archer]}, record_id=shot, base_rev=1, reason="the wrong name was picked")
        if purpose != "let_down" and bow.chronographed and (force_speed or w.rng.random() < model.SPEED_READ_ON_SHOT):
            self._speed(shot, speed)
        x, y = (c + w.rng.gauss(0, model.AIM_SCATTER_M) for c in spot[1:])
        return Loosed(shot, label, archer, arrow, panel, 0.5 * arrow.mass_kg * speed**2, purpose, round(x, 3), round(y, 3), angle_rad)

    def _speed(self, shot: str, speed: float) -> None:
        w = self.w
        roll = w.rng.random()
        if roll < model.SPEED_MISREAD:
            w.put(
                "speed_reading",
                {"shot": shot, "value": f"{speed * 1.9:.1f}", "method": "chronograph", "left_out_reason": "misread: two flashes"},
            )
            return
        typed = f"{speed:.1f}".replace(".", ",") if roll < 0.3 else f"{speed / 0.3048:.0f} fps" if roll < 0.4 else f"{speed:.1f}"
        w.put("speed_reading", {"shot": shot, "value": typed, "method": "chronograph", "at": w.now})

    def read(self, one: Loosed, session: str, *, interval_words: Loosed | None = None, force: str | None = None) -> None:
        """What the other archer read at the butt."""
        w = self.w
        w.phone = OTHER[one.archer]
        w.wait(w.rng.randint(20, 50))
        roll = w.rng.random()
        if force != "hit":
            if roll < model.MISSES:
                self.missed.append(one)
                w.put("shot_reading", {"hit": "missed", "why": "over the top"}, record_id=one.shot)
                return
            if roll < model.MISSES + model.PARTIALS:
                w.put(
                    "shot_reading",
                    {"hit": "partial", "why": "clipped the right edge", "x": "179 mm", "y": f"{one.y_m * 1000:.0f} mm"},
                    record_id=one.shot,
                )
                return
            if roll < model.MISSES + model.PARTIALS + model.SPOILED:
                w.put("shot_reading", {"hit": "spoiled", "why": "hit the cord"}, record_id=one.shot)
                return
        self._read_hit(one, session, interval_words=interval_words, force=force)

    def _read_hit(self, one: Loosed, session: str, *, interval_words: Loosed | None, force: str | None) -> None:
        w, panel, arrow = self.w, one.panel, one.arrow
        near = any(math.hypot(one.x_m - x, one.y_m - y) < model.NEAR_OLD_HIT_M for x, y in panel.hits)
        way = self._entry(panel)
        half = model.FIFTY_PERCENT_J[panel.construction, panel.thickness_mm, arrow.form]
        found = model.draw_outcome(
            w.rng,
            energy_j=one.energy_j,
            fifty_percent_j=half * (0.75 if way == "lace_hole" else 1.0),
            hits=arrow.hits,
            angle_rad=one.angle_rad,
            near_old_hit=near,
            tip_to_widest_m=WIDEST_M[arrow.form],
        )
        panel.hits.append((one.x_m, one.y_m))
        arrow.hits += 1
        body: dict[str, object] = {
            "hit": "on_panel",
            "x": f"{one.x_m * 1000:.0f} mm",
            "y": f"{one.y_m * 1000:.0f} mm",
            "place_known": "yes",
            "entry": way,
            "outcome_low": str(found.outcome_level),
            "outcome_high": str(found.outcome_level),
            **self._depth(found, arrow),
            **self._arrow(one, found, session),
        }
        if interval_words is not None:
            body |= {
                "may_be_shot": interval_words.shot,
                "certainty": "unsure",
                "note": f"{interval_words.label} or {one.label}: both shafts came out before anyone looked",
            }
        if force == "look" or (found.outcome_level in (3, 4) and w.rng.random() < 0.08):
            low = 3 if found.outcome_level <= 3 else 4
            body |= {"outcome_low": str(low), "outcome_high": str(low + 1), "rear_check": "yes", "depth": None, "depth_method": None}
        if body["outcome_low"] in ("2", "3") and body["outcome_high"] == body["outcome_low"] and len(panel.hits) % 2:
            body["back_face"] = f"{model.back_face_mm(one.energy_j, rigid=panel.construction == 'plate')} mm"
        w.put("shot_reading", {k: v for k, v in body.items() if v is not None}, record_id=one.shot)
        if panel.construction == "plate" and body["outcome_low"] == body["outcome_high"]:
            self.hits_read.append((one, body))

    def _entry(self, panel: DemoPanel) -> str:
        roll = self.w.rng.random()
        if panel.construction == "scale":
            return "lace_hole" if roll < 0.08 else "overlap" if roll < 0.3 else "plate"
        if panel.construction == "mail":
            return "through_ring" if roll < 0.1 else "broke_rings"
        return "ridge" if roll < 0.05 else "plate"

    def _depth(self, found: model.Outcome, arrow: DemoArrow) -> dict[str, object]:
        if found.depth_m is None:
            return {}
        reached = "garment" if found.depth_m < 0.02 else "body_line" if found.depth_m > 0.05 else "witness"
        return {"depth": f"{found.depth_m * 1000:.0f} mm", "depth_method": "mark_and_pull", "reached": reached}

    def _arrow(self, one: Loosed, found: model.Outcome, session: str) -> dict[str, object]:
        w, arrow = self.w, one.arrow
        head, shaft = ["sound"], ["sound"]
        if w.rng.random() < model.POINT_CURLS and found.outcome_level <= 3:
            head = ["curled"] if arrow.form in ("needle", "short_bodkin") else ["edge_rolled"]
        elif w.rng.random() < model.HEAD_OFF:
            head = ["off_found"]
        if w.rng.random() < model.SHAFT_BREAKS:
            shaft = ["broken_behind_head"]
        arrow.hurt = [fate for fate in head + shaft if fate != "sound"]
        did = "stuck_armour" if found.outcome_level >= 4 else "dropped"
        more: dict[str, object] = {}
        if found.outcome_level <= 2 and w.rng.random() < model.BOUNCES / 0.4:
            metres = round(w.rng.uniform(0.5, 2.5), 1)
            did, more = "bounced", {"bounced": f"{metres} m"}
        return {"arrow_did": did, "head_fate": head, "shaft_fate": shaft, **more}

    def after_shooting_end(self, arrows: list[DemoArrow]) -> None:
        """Flex every arrow that came back; mend what is hurt, which makes it another build."""
        w = self.w
        for arrow in {id(a): a for a in arrows}.values():
            w.wait(20)
            if not arrow.hurt:
                if w.rng.random() < 0.93:
                    w.put("arrow_check", {"arrow_build": arrow.build, "sound": "sound", "at": w.now})
                continue
            work = (
                "new shaft of the same pattern"
                if "broken_behind_head" in arrow.hurt
                else "re-mounted"
                if "off_found" in arrow.hurt
                else "point straightened and touched up"
            )
            new_build(w, arrow, self.kit.scale, work=work, grams=arrow.mass_kg * 1000 - w.rng.uniform(-0.6, 0.4))

    def read_some_again(self) -> None:
        """Every fifth hit on a plate, on the bench, by whoever had loosed it; now and then an outcome level apart."""
        w = self.w
        for nth, (one, body) in enumerate(self.hits_read[:60:5]):
            w.phone = one.archer
            outcome_level = int(str(body["outcome_low"]))
            outcome_level = max(0, outcome_level - 1) if nth % 4 == 3 and outcome_level != 4 else outcome_level
            w.wait(90)
            w.put(
                "second_reading",
                {"shot": one.shot, "read_by": self.kit.archers[one.archer], "outcome_low": str(outcome_level), "entry": body["entry"]},
            )
