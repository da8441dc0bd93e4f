"""Three trials over two days in an invented yard."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.records.trial import CAUTIONS

from .films import add_films
from .model import BowModel
from .more_speeds import by_phone, other_arrows
from .panels import DemoPanel, make_panels, rebuild
from .people_and_kit import DemoArrow, DemoBow, Kit, make_kit
from .plan import claim, expect, own_lots, plan_ahead
from .shooting import Loosed, Range
from .writer import Writer

DAY_1, DAY_2 = "2026-10-10", "2026-10-17"
PLACE = "Orrisholt, lime-kiln yard (invented)"


@dataclass
class Day:
    """One session of one trial."""

    session: str
    setups: dict[str, str]


class Demo:
    def __init__(self, w: Writer) -> None:
        self.w = w
        w.at("2026-10-03", 15)
        self.kit: Kit = make_kit(w)
        self.panels = make_panels(w, self.kit.caliper)
        self.range = Range(w, self.kit)
        self.series: list[str] = []
        self.filmed = ""
        self.by_class = {c: [a for a in self.kit.arrows[:12] if a.weight_class == c] for c in ("light", "middle", "heavy")}

    def session(self, trial: str, day: str, hour: int, *, temperature: str, weather: str, officer: str, panels: Sequence[str]) -> Day:
        w = self.w
        w.at(day, hour)
        session = w.put(
            "session",
            {
                "trial": trial,
                "day": day,
                "place": PLACE,
                "officer": officer,
                "present": "Tallow, Wren",
                "temperature": temperature,
                "humidity": "70 %",
                "weather": weather,
            },
        )
        for caution in CAUTIONS:
            w.put("caution_tick", {"session": session, "caution": caution, "at": w.wait(3)})
        return Day(session, {name: self.setup(session, self.panels[name]) for name in panels})

    def setup(self, session: str, panel: DemoPanel) -> str:
        return self.w.put(
            "setup",
            {
                "session": session,
                "panel_build": panel.build,
                "stand": self.kit.stand,
                "distance": "14 m",
                "angle": "0",
                "chronograph": self.kit.chronograph,
                "chronograph_at": "2 m",
            },
        )

    def bow_checks(self, session: str, part: str, weaker: float = 1.0) -> None:
        for name, weight, draw, archer in (
            ("Ashen 82", 80.5, "29½ in", "Wren"),
            ("Bracken 112", 111.0, "31 in", "Tallow"),
            ("Corbel 145", 143.0, "31 in", "Tallow"),
        ):
            typed = f"{weight * (weaker if name == 'Bracken 112' else 1.0):.1f} lb"
            self.w.put(
                "bow_check",
                {
                    "bow_build": self.kit.bows[name].build,
                    "archer": self.kit.archers[archer],
                    "session": session,
                    "part": part,
                    "at": self.w.now,
                    "weight": typed,
                    "draw": draw,
                    "draw_how": "marked_arrow",
                    "temperature": "12 °C",
                    "instrument": self.kit.bow_scale,
                },
            )

    def speeds(self, bow: DemoBow, arrows: Sequence[DemoArrow], archer: str, session: str, day: str) -> None:
        """A series of each combination before shooting; one reading a series or so is left out with its reason."""
        w = self.w
        for arrow in arrows:
            combination = w.put("combination", {"bow_build": bow.build, "arrow_build": arrow.build, "archer": self.kit.archers[archer]})
            series = w.put(
                "speed_series",
                {
                    "combination": combination,
                    "instrument": self.kit.chronograph,
                    "session": session,
                    "stood_at": "2 m",
                    "air_temperature": "12 °C",
                    "day": day,
                },
            )
            self.series.append(series)
            for place in range(1, 5):
                value = bow.model.speed_m_s(arrow.mass_kg) + w.rng.gauss(0, 0.5)
                left = "short draw, seen on film" if w.rng.random() < 0.05 else None
                w.put(
                    "speed_reading",
                    {
                        "series": series,
                        "value": f"{value - (4 if left else 0):.1f} m/s",
                        "place": str(place),
                        "method": "chronograph",
                        "at": w.wait(30),
                        "left_out_reason": left,
                    },
                )

    def shooting_end(
        self, day: Day, panel: str, plan: Sequence[tuple[str, str, DemoArrow]], *, ordered: bool = True, read: bool = True, **first: object
    ) -> list[Loosed]:
        """Loose all, go forward, read all, look at the arrows. `first` goes to the first arrow of the end."""
        w = self.w
        shooting_end = w.put("shooting_end", {"setup": day.setups[panel], "begun_at": w.wait(60)})
        loosed = []
        for nth, (archer, bow, arrow) in enumerate(plan, 1):
            more = first if nth == 1 else {}
            known = ordered and not arrow.number > 1
            loosed.append(
                self.range.loose(
                    shooting_end,
                    archer,
                    self.kit.bows[bow],
                    arrow,
                    self.panels[panel],
                    position=nth if ordered else None,
                    force_speed=not known,
                    **more,
                )
            )
        if read:
            w.put("shooting_end", {"at_butt_at": w.wait(40)}, record_id=shooting_end, base_rev=1)
            for one in loosed:
                if one.purpose == "counted":
                    self.range.read(one, day.session)
            self.range.after_shooting_end([one.arrow for one in loosed])
        return loosed

    def mixed(self, nth: int) -> list[tuple[str, str, DemoArrow]]:
        """Three each: head forms and bows turn about so that no end is all of one sort."""
        light, middle, heavy = (self.by_class[c] for c in ("light", "middle", "heavy"))
        a, b = nth % 4, (nth + 2) % 4
        return [
            ("Tallow", "Bracken 112", middle[a]),
            ("Wren", "Ashen 82", light[b]),
            ("Tallow", "Corbel 145", heavy[b]),
            ("Wren", "Ashen 82", light[a]),
            ("Tallow", "Bracken 112", middle[b]),
            ("Wren", "Ashen 82", light[(a + 1) % 4]),
        ]


def shoot(w: Writer) -> None:
    demo = Demo(w)
    first = w.put(
        "trial",
        {
            "question": "Which heads get their point through 1.2 mm mild plate, and at what energy?",
            "varied": "head form, bow",
            "held_fixed": "panel construction, stand, 14 m, square to the line of flight",
            "prediction": (
                "Tallow: the needle at 75 J, the short bodkin at 85 J, the barbed broadhead not at all.\nWren: no difference between "
                "needle and short bodkin."
            ),
            "enough": "6 fair hits in each of 8 cells",
            "stop_rule": "shots",
            "stop_shots": "48",
            "state": "open",
            "through": "4",
        },
    )
    second = w.put(
        "trial",
        {
            "question": "Does riveted mail over linen, or laced scale, stop what plate lets through?",
            "varied": "armour, head form",
            "held_fixed": "stand, 14 m",
            "prediction": "Wren: mail stops the leaf, not the needle.",
            "enough": "5 fair hits a head and armour",
            "stop_rule": "shots",
            "stop_shots": "40",
            "state": "open",
            "through": "4",
        },
    )
    _first_day(demo, first, second)
    with own_lots(w):
        _seen_on_film(demo)
    _overnight(demo)
    third = w.put(
        "trial",
        {
            "question": "Is 1.6 mm plate enough against the 145 lb bow?",
            "varied": "head form, bow, hardness of the head",
            "held_fixed": "stand, 14 m, square",
            "prediction": "Tallow: half through at 100 J with the needle.",
            "enough": "6 fair hits a head",
            "stop_rule": "shots",
            "stop_shots": "40",
            "state": "open",
            "through": "4",
            "follows": first,
        },
    )
    claim(w, third, demo.kit.bows["Corbel 145"].build)
    expect(w, third, demo.kit.archers)
    _second_day(demo, second, third)
    plan_ahead(w, third, demo.panels["P8"].build, archers=demo.kit.archers, arrows=[demo.by_class["middle"][n].build for n in (0, 2)])
    w.put("trial", {"state": "closed"}, record_id=first, base_rev=1)
    by_phone(w, demo.series[0])
    ends = [demo.by_class["light"][2], demo.by_class["heavy"][0]]
    other_arrows(w, demo.kit.bows["Bracken 112"], ends, archer=demo.kit.archers["Tallow"], chronograph=demo.kit.chronograph, day=DAY_2)
    demo.range.read_some_again()
    with own_lots(w):
        add_films(w, demo.filmed)


def _first_day(demo: Demo, first: str, second: str) -> None:
    w, kit = demo.w, demo.kit
    day = demo.session(
        first, DAY_1, 9, temperature="12 °C", weather="dry, light wind from behind", officer="Marrow", panels=("P1", "P2", "P3", "P4")
    )
    demo.filmed = day.session
    demo.bow_checks(day.session, "start")
    for bow, archer in (("Bracken 112", "Tallow"), ("Ashen 82", "Wren"), ("Corbel 145", "Tallow")):
        demo.speeds(kit.bows[bow], demo.by_class[kit.bows[bow].weight_class], archer, day.session, DAY_1)
    (sighter,) = demo.shooting_end(day, "P1", [("Tallow", "Bracken 112", demo.by_class["middle"][1])], purpose="sighter", read=False)
    w.put("shot_reading", {"hit": "missed", "why": "into the bale beside the panel, as meant"}, record_id=sighter.shot)
    for nth, panel in enumerate(("P1", "P1", "P2", "P2", "P3", "P3", "P4", "P4")):
        demo.shooting_end(
            day, panel, demo.mixed(nth), ordered=nth != 5, **({"said_archer": "Wren"} if nth == 2 else {"short": True} if nth == 4 else {})
        )
    _incident(demo, day)
    day = demo.session(second, DAY_1, 14, temperature="13 °C", weather="dry", officer="Marrow", panels=("M1", "K1"))
    for nth, panel in enumerate(("M1", "M1", "K1", "K1")):
        demo.shooting_end(day, panel, demo.mixed(nth + 1))
    demo.bow_checks(day.session, "end", weaker=0.985)


def _incident(demo: Demo, day: Day) -> None:
    """One arrow came back further than anybody liked."""
    w = demo.w
    (one,) = demo.shooting_end(day, "P4", [("Tallow", "Corbel 145", demo.by_class["heavy"][3])], read=False)
    w.phone = "Wren"
    w.put(
        "shot_reading",
        {
            "hit": "on_panel",
            "x": f"{one.x_m * 1000:.0f} mm",
            "y": f"{one.y_m * 1000:.0f} mm",
            "entry": "plate",
            "outcome_low": "2",
            "arrow_did": "bounced",
            "bounced": "6.5 m",
            "head_fate": ["edge_rolled"],
            "shaft_fate": ["cracked"],
        },
        record_id=one.shot,
    )
    w.put(
        "incident",
        {
            "session": day.session,
            "shot": one.shot,
            "what": "bounce_back",
            "distance": "6.5 m",
            "done": "Shooting stopped. The line moved back 3 m, a net was hung in front of the panel, the arrow was retired.",
            "at": w.wait(120),
        },
    )
    w.put("arrow_check", {"arrow_build": one.arrow.build, "sound": "not_sound", "at": w.wait(60), "note": "cracked along the grain"})
    one.arrow.hurt = ["broken_behind_head"]
    demo.range.after_shooting_end([one.arrow])


def _seen_on_film(demo: Demo) -> None:
    """A miss that was none: the reading is corrected, and the notebook keeps what it said."""
    w = demo.w
    one = next(one for one in demo.range.missed if one.arrow.form == "needle")
    w.at("2026-10-11", 19)
    w.phone = "Wren"
    seen = {
        "hit": "on_panel",
        "why": "",
        "x": f"{one.x_m * 1000:.0f} mm",
        "y": f"{one.y_m * 1000:.0f} mm",
        "place_known": "yes",
        "entry": "plate",
        "outcome_low": "4",
        "outcome_high": "4",
        "depth": "12 mm",
        "depth_method": "film",
        "arrow_did": "stuck_armour",
        "head_fate": ["sound"],
        "shaft_fate": ["sound"],
    }
    w.put("shot_reading", seen, record_id=one.shot, base_rev=1, reason="the film shows it in the plate: it was taken for a miss")


def _overnight(demo: Demo) -> None:
    w = demo.w
    w.at("2026-10-16", 19)
    rebuild(w, demo.panels["K1"], "relaced", "Every lace cut on the first day was renewed.")
    bow = demo.kit.bows["Bracken 112"]
    bow.model = BowModel(bow.model.stored_j * 0.955, bow.model.virtual_kg)  # it lost weight between the days


def _second_day(demo: Demo, second: str, third: str) -> None:
    kit = demo.kit
    hard = kit.arrows[12:]
    day = demo.session(third, DAY_2, 9, temperature="8 °C", weather="cold, still", officer="Wren", panels=("P5", "P6", "P7", "P8"))
    demo.bow_checks(day.session, "start", weaker=0.955)
    demo.speeds(kit.bows["Bracken 112"], hard[:2], "Tallow", day.session, DAY_2)
    demo.shooting_end(day, "P5", [("Wren", "Ashen 82", demo.by_class["light"][0])], purpose="speed_only", read=False)
    demo.shooting_end(day, "P5", [("Tallow", "Bracken 112", demo.by_class["middle"][2])], purpose="let_down", read=False)
    heavy = demo.by_class["heavy"]
    for nth, panel in enumerate(("P5", "P5", "P6", "P6", "P7", "P7", "P8")):
        plan = demo.mixed(nth + 1)
        plan[3] = ("Wren", "Corbel 145", heavy[(nth + 1) % 4])
        plan[5] = ("Tallow", "Bracken 112" if hard[nth % 3].weight_class == "middle" else "Corbel 145", hard[nth % 3])
        demo.shooting_end(day, panel, plan, **({"short": True} if nth == 3 else {}))
    day = demo.session(second, DAY_2, 14, temperature="9 °C", weather="drizzle at the end", officer="Marrow", panels=("M2", "K1", "K2"))
    for nth, panel in enumerate(("M2", "M2", "K1", "K2")):
        demo.shooting_end(day, panel, demo.mixed(nth))
    _lent_bow(demo, day)
    _either_or(demo, day)
    # The light went: these were loosed and are still to be read.
    demo.shooting_end(
        day,
        "K2",
        [
            ("Tallow", "Bracken 112", demo.by_class["middle"][0]),
            ("Wren", "Ashen 82", demo.by_class["light"][1]),
            ("Wren", "Ashen 82", demo.by_class["light"][2]),
        ],
        read=False,
    )
    demo.bow_checks(day.session, "end", weaker=0.95)


def _lent_bow(demo: Demo, day: Day) -> None:
    """Shot for curiosity, never chronographed: its energies stay not measured."""
    arrows = demo.by_class["middle"]
    demo.shooting_end(day, "K1", [("Wren", "Lent bow", arrows[0]), ("Wren", "Lent bow", arrows[1]), ("Wren", "Lent bow", arrows[2])])


def _either_or(demo: Demo, day: Day) -> None:
    """Two shafts came out before anybody looked: one hit may be the other's. One more waits for the bench."""
    w = demo.w
    plan = [
        ("Tallow", "Corbel 145", demo.by_class["heavy"][0]),
        ("Wren", "Ashen 82", demo.by_class["light"][3]),
        ("Tallow", "Corbel 145", demo.by_class["heavy"][1]),
    ]
    a, b, c = demo.shooting_end(day, "M2", plan, read=False)
    demo.range.read(a, day.session, force="hit")
    demo.range.read(b, day.session, interval_words=a, force="hit")
    demo.range.read(c, day.session, force="look")
    demo.range.after_shooting_end([a.arrow, b.arrow, c.arrow])
    w.wait(30)
