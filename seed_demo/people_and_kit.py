"""Who shoots and with what: invented archers, instruments, bows, heads and arrows."""

from dataclasses import dataclass, field

from .model import MASS_SCATTER_KG, BowModel
from .writer import Writer

HEADS = {
    # form: (name letter, section, length, width, thickness, tip to widest, mass in g, made after)
    "needle": ("N", "square", "112 mm", "8.5 mm", "8.5 mm", "85 mm", 15.0, "a river find at Orrisholt weir (invented)"),
    "short_bodkin": ("S", "diamond", "58 mm", "11 mm", "10 mm", "24 mm", 14.0, "the shorter of two from the kiln ditch (invented)"),
    "leaf": ("L", "flat", "82 mm", "21 mm", "5 mm", "40 mm", 16.0, "a church carving at Orrisholt (invented)"),
    "barbed": ("B", "flat", "64 mm", "33 mm", "3,2 mm", "47 mm", 17.0, "a hunting scene on a tile (invented)"),
}
# Under a glass every one of them is round at the very tip.
TIP_RADIUS = {"needle": "0.4 mm", "short_bodkin": "0.6 mm", "leaf": "0,3 mm", "barbed": "0.35 mm"}
WIDEST_M = {"needle": 0.085, "short_bodkin": 0.024, "leaf": 0.040, "barbed": 0.047}
WEIGHTS_G = {"light": (55.6, 57.2, 60.4, 61.8), "middle": (66.9, 69.3, 71.2, 74.0), "heavy": (84.1, 86.7, 89.5, 91.8)}


@dataclass
class DemoArrow:
    tag: str
    arrow: str
    form: str
    build: str
    number: int
    mass_kg: float
    weight_class: str
    head: str
    hurt: list[str] = field(default_factory=list)


@dataclass
class DemoBow:
    name: str
    build: str
    model: BowModel
    weight_class: str
    chronographed: bool = True


@dataclass
class Kit:
    archers: dict[str, str]
    scale: str
    chronograph: str
    picks: str
    caliper: str
    bow_scale: str
    bows: dict[str, DemoBow]
    arrows: list[DemoArrow]
    stand: str
    heads: list[str]


def make_kit(w: Writer) -> Kit:
    archers = {
        "Tallow": w.put("archer", {"call_name": "Tallow", "hand": "right", "hold": "fingers", "draw_length": "31 in"}),
        "Wren": w.put("archer", {"call_name": "Wren", "hand": "left", "hold": "fingers", "draw_length": "29½ in"}),
    }
    scale = w.put(
        "instrument",
        {
            "name": "Bench scale",
            "sort": "scale",
            "maker": "Brack & Daughter, bench scale",
            "resolution": "0.1 g",
            "accuracy": "0.2 g",
            "accuracy_means": "limit",
        },
    )
    chronograph = w.put(
        "instrument",
        {
            "name": "Two-gate chronograph",
            "sort": "chronograph",
            "maker": "Fennimore two-gate",
            "resolution": "0.1 m/s",
            "accuracy_ratio": "0.5 %",
            "accuracy_means": "limit",
        },
    )
    picks = w.put("instrument", {"name": "Picks 40 to 65", "sort": "picks", "maker": "Fennimore"})
    caliper = w.put(
        "instrument",
        {"name": "Vernier caliper", "sort": "caliper", "resolution": "0.01 mm", "accuracy": "0.03 mm", "accuracy_means": "limit"},
    )
    bow_scale = w.put(
        "instrument",
        {"name": "Hanging bow scale", "sort": "bow_scale", "resolution": "0.5 lb", "accuracy_ratio": "1 %", "accuracy_means": "limit"},
    )
    w.put("instrument_check", {"instrument": scale, "at": w.now, "against": "50 g brass weight", "known": "50 g", "found": "50.0 g"})
    return Kit(archers, scale, chronograph, picks, caliper, bow_scale, _bows(w, bow_scale), _arrows(w, scale, picks), _stand(w), [])


def _bows(w: Writer, bow_scale: str) -> dict[str, DemoBow]:
    rows = (
        ("Ashen 82", "82@29", "yew, one stave", "self", "165 mm", BowModel(93.0, 0.0200), "light", True),
        ("Bracken 112", "112@31", "yew, one stave", "self", "160 mm", BowModel(131.0, 0.0255), "middle", True),
        ("Corbel 145", "145@32", "yew, backed", "laminated", "158 mm", BowModel(178.0, 0.0330), "heavy", True),
        ("Lent bow", "105@30", "elm", "self", None, BowModel(118.0, 0.0260), "middle", False),
    )
    bows = {}
    for name, marked, material, sort, brace, model, weight_class, chronographed in rows:
        bow = w.put(
            "bow",
            {
                "name": name,
                "sort": sort,
                "marked_weight": marked,
                "draw_from": "back",
                "material": material,
                "maker": "H. Orrell, bowyer (invented)" if chronographed else "not known",
            },
        )
        build = w.put("bow_build", {"bow": bow, "number": "1", "work": "as made", "string": "linen, 18 strands", "brace_height": brace})
        bows[name] = DemoBow(name, build, model, weight_class, chronographed)
    for draw, force in (("8", "16"), ("12", "33"), ("16", "48"), ("20", "64"), ("24", "81"), ("28", "99"), ("31", "112")):
        w.put("draw_point", {"bow_build": bows["Bracken 112"].build, "draw": draw, "force": force, "instrument": bow_scale})
    return bows


def _arrows(w: Writer, scale: str, picks: str) -> list[DemoArrow]:
    arrows = []
    tag = 0
    for nth, weight_class in enumerate(("light", "middle", "heavy")):
        for column, form in enumerate(HEADS):
            tag += 1
            head = make_head(w, form, nth + 1, picks, hard=False)
            arrows.append(make_arrow(w, str(tag), form, head, WEIGHTS_G[weight_class][column], weight_class, scale))
    # A hardened set that was only there on the second day: hardness and the day can't be told apart.
    for form, grams, weight_class in (("needle", 71.6, "middle"), ("short_bodkin", 70.4, "middle"), ("needle", 87.9, "heavy")):
        tag += 1
        head = make_head(w, form, tag, picks, hard=True)
        arrows.append(make_arrow(w, str(tag), form, head, grams, weight_class, scale))
    return arrows


def make_head(w: Writer, form: str, number: int, picks: str, *, hard: bool) -> str:
    letter, section, length, width, thickness, widest, grams, after = HEADS[form]
    head = w.put(
        "head",
        {
            "name": f"{letter}{number}",
            "form": form,
            "section": section,
            "length": length,
            "width": width,
            "thickness": thickness,
            "tip_to_widest": widest,
            "tip_radius": TIP_RADIUS[form],
            "mass": f"{grams + w.rng.uniform(-1, 1):.1f} g",
            "mount": "socket",
            "maker": "J. Pell, smith (invented)",
            "material": "steel, quenched and drawn" if hard else "iron",
            "made_after": after,
        },
    )
    body = {"slides": "50", "bites": "55"} if hard else {"bites": "40"}
    w.put("hardness_reading", {"noun": "head", "record": head, "instrument": picks, "place": "10 mm from the tip", "at": w.now, **body})
    return head


def make_arrow(w: Writer, tag: str, form: str, head: str, grams: float, weight_class: str, scale: str) -> DemoArrow:
    arrow = w.put(
        "arrow",
        {
            "tag": tag,
            "material": "ash" if weight_class == "heavy" else "poplar",
            "profile": "bobtailed",
            "diameter": "12.5 mm",
            "length": "29½ in",
            "nock": "self, horn insert",
            "fletching": "goose, 180 mm, bound",
        },
    )
    made = DemoArrow(tag, arrow, form, "", 0, grams / 1000, weight_class, head)
    new_build(w, made, scale, work="mounted", grams=grams)
    return made


def new_build(w: Writer, arrow: DemoArrow, scale: str, *, work: str, grams: float) -> None:
    """Mount, or work on the head: another build, weighed again."""
    arrow.number += 1
    arrow.build = w.put(
        "arrow_build", {"arrow": arrow.arrow, "head": arrow.head, "number": str(arrow.number), "work": work, "length": "800 mm"}
    )
    arrow.mass_kg, arrow.hits, arrow.hurt = grams / 1000, 0, []
    for _ in range(3):
        read = grams + w.rng.gauss(0, MASS_SCATTER_KG * 1000)
        typed = f"{read:.1f} g" if w.rng.random() < 0.8 else f"{read:.1f}".replace(".", ",")
        w.put(
            "reading", {"noun": "arrow_build", "record": arrow.build, "measured": "mass", "value": typed, "instrument": scale, "at": w.now}
        )


def _stand(w: Writer) -> str:
    stand = w.put("stand", {"name": "Hanging frame", "held": "hung", "gap": "40 mm", "hung_mass": "18 kg", "tilt": "0"})
    w.put(
        "stand_layer",
        {
            "stand": stand,
            "place": "1",
            "role": "garment",
            "material": "quilted linen, 12 layers",
            "thickness": "9 mm",
            "areal": "3.1 kg/m²",
        },
    )
    w.put("stand_layer", {"stand": stand, "place": "2", "role": "backing", "material": "clay in a tray", "thickness": "90 mm"})
    w.put(
        "backing_check",
        {
            "stand": stand,
            "at": w.now,
            "drop_mass": "1,04 kg",
            "drop_across": "63.5 mm",
            "drop_height": "2 m",
            "drops": "5",
            "found": "20 mm",
            "temperature": "16 °C",
        },
    )
    return stand
