"""The seven nouns of kit: what each form asks and in what order, what a build of it asks, what can be read of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, ArrowCheck, Head
from proofyard.records.bow import Bow, BowBuild, BowCheck, DrawPoint
from proofyard.records.columns import Noun
from proofyard.records.instrument import HardnessReading, Instrument, InstrumentCheck, Reading
from proofyard.records.panel import Panel, PanelArea, PanelBuild
from proofyard.records.stand import BackingCheck, Stand, StandLayer

HEAD_FIRST = "Is the head not in the list? Add it under Kit, Heads, then come back."


@dataclass(frozen=True)
class Part:
    """What is written down of a record, or of its build, one row at a time.

    key       in the address
    asks      the fields, the first of which is what the row is called by
    link      the field that holds the owner's id
    fixed     fields that follow from where it is asked: field -> value
    stamped   the moment is written down with it
    pasted    several may be typed at once, a line each
    shown_as  readings only: the row of quantities.UNITS_FOR_READER of their mean
    """

    key: str
    heading: str
    act: str
    table: type[Noun]
    asks: tuple[str, ...]
    link: str
    fixed: Mapping[str, str] = field(default_factory=dict)
    of_build: bool = True
    stamped: bool = False
    pasted: bool = False
    shown_as: str = ""
    note: str = ""

    @property
    def noun(self) -> str:
        return str(self.table.__tablename__)

    @property
    def measured(self) -> str:
        return self.fixed.get("measured", "")


@dataclass(frozen=True)
class KitNoun:
    """One noun: its words, the fields of its form (# begins a heading), its build, its parts."""

    noun: str
    one: str
    many: str
    table: type[Noun]
    asks: tuple[str, ...]
    parts: tuple[Part, ...] = ()
    build: type[Noun] | None = None
    build_asks: tuple[str, ...] = ()
    first_asks: tuple[str, ...] = ()
    rebuilt_when: str = ""
    rebuilt_note: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The fields alone, without headings."""
        return tuple(name for name in self.asks if not name.startswith("#"))

    def part(self, key: str) -> Part | None:
        return next((part for part in self.parts if part.key == key), None)


def _readings(key: str, noun: str, heading: str, act: str, *, shown_as: str, asks: tuple[str, ...], note: str = "") -> Part:
    fixed = MappingProxyType({"noun": noun, "measured": key})
    return Part(key, heading, act, Reading, asks, "record", fixed, shown_as=shown_as, note=note)


def _hardness(noun: str, *, of_build: bool) -> Part:
    note = (
        "Try picks from the softest up: give the hardest that slides and the softest that bites. Leave one empty where no pick did it. "
        "Or give a tester’s value with its scale."
    )
    asks = ("slides", "bites", "sticks", "value", "scale", "place", "instrument")
    fixed = MappingProxyType({"noun": noun})
    return Part(
        "hardness", "Hardness", "Try its hardness", HardnessReading, asks, "record", fixed, of_build=of_build, stamped=True, note=note
    )


_MASS = _readings(
    "mass",
    "arrow_build",
    "Mass",
    "Weigh it",
    shown_as="mass",
    asks=("value", "instrument", "place"),
    note="With head, nock and fletching. Take it off the scale between readings.",
)
_BALANCE = _readings("balance", "arrow_build", "Balance point", "Find its balance", shown_as="length", asks=("value", "instrument"))
_THICKNESS = _readings(
    "thickness",
    "panel_build",
    "Thickness",
    "Read its thickness",
    shown_as="thickness",
    asks=("value", "place", "instrument"),
    note="One reading at each place, spread over the panel. Enter where, for example: middle, 20 mm from the left edge.",
)
_SOUND = Part(
    "sound",
    "Sound?",
    "Check it",
    ArrowCheck,
    ("sound", "note"),
    "arrow_build",
    stamped=True,
    note="Flex it both ways, listen, look along it, look at the nock and behind the head. If you are unsure, it is not sound.",
)
_DRAW = Part(
    "draw",
    "Force at each draw",
    "Add force and draw",
    DrawPoint,
    ("draw", "force", "instrument"),
    "bow_build",
    pasted=True,
    note="Read the force while you draw on, not while you let down.",
)
_BOW_CHECK = Part(
    "check",
    "Checks on the day",
    "Check it today",
    BowCheck,
    ("weight", "draw", "archer", "part", "draw_how", "temperature", "humidity", "arrows_since", "instrument"),
    "bow_build",
    stamped=True,
    note="At the archer’s own draw, at the start and at the end of a day.",
)
_AREA = Part(
    "area",
    "Spots and lines",
    "Mark a spot",
    PanelArea,
    ("name", "sort", "x", "y", "to_x", "to_y", "reach"),
    "panel_build",
    note="Measured from the middle of the panel: right and up are positive, left and down have a minus.",
)
_LAYER = Part(
    "layer",
    "Layers, from the front",
    "Add a layer",
    StandLayer,
    ("material", "role", "place", "thickness", "areal"),
    "stand",
    of_build=False,
)
_BACKING = Part(
    "backing",
    "Backing checks",
    "Check the backing",
    BackingCheck,
    ("found", "drops", "drop_mass", "drop_across", "drop_height", "temperature", "how", "note"),
    "stand",
    of_build=False,
    stamped=True,
    note="Before the first arrow and after the last: let the same thing fall from the same height on fresh spots, and read how deep. "
    "Keep hands and feet from under it. Without a check nobody knows what a print in the backing means.",
)
_INSTRUMENT_CHECK = Part(
    "check",
    "Checks against something known",
    "Check it",
    InstrumentCheck,
    ("against", "known", "found"),
    "instrument",
    of_build=False,
    stamped=True,
)

_PANEL_ASKS = (
    "name",
    "construction",
    "# How it is made",
    "material",
    "thickness",
    "plate_width",
    "plate_height",
    "overlap",
    "rows",
    "row_shift",
    "lacing",
    "lace_each",
    "lace_mass",
    "lace_hole",
    "rivet_pitch",
    "ring_outer",
    "ring_wire",
    "ring_mass",
    "rings_counted",
    "ring_joint",
    "ring_pattern",
    "cloth",
    "cloth_layers",
    "cloth_layer",
    "quilting",
    "# Size",
    "outline",
    "width",
    "height",
    "mass",
    "# Where it comes from",
    "heat_treatment",
    "condition",
    "maker",
    "made_after",
    "departures",
)
_NOUNS = (
    KitNoun("archer", "archer", "Archers", Archer, ("call_name", "hand", "hold", "draw_length")),
    KitNoun(
        "bow",
        "bow",
        "Bows",
        Bow,
        ("name", "marked_weight", "marked_draw", "draw_from", "sort", "material", "length", "maker", "note"),
        (_DRAW, _BOW_CHECK),
        BowBuild,
        ("work", "string", "string_mass", "brace_height"),
        ("string", "string_mass", "brace_height"),
        "it has a new string or another brace height",
        "Speeds read with an earlier build stay with that one.",
    ),
    KitNoun(
        "head",
        "head",
        "Heads",
        Head,
        (
            "name",
            "form",
            "# Sizes",
            "tip_to_widest",
            "length",
            "width",
            "thickness",
            "mass",
            "section",
            "tip_flat",
            "tip_radius",
            "edge_length",
            "mount",
            "# Where it comes from",
            "material",
            "heat_treatment",
            "maker",
            "made_after",
            "departures",
        ),
        (_hardness("head", of_build=False),),
    ),
    KitNoun(
        "arrow",
        "arrow",
        "Arrows",
        Arrow,
        ("tag", "material", "profile", "diameter", "diameter_nock", "length", "nock", "fletching", "note"),
        (_SOUND, _MASS, _BALANCE),
        ArrowBuild,
        ("work", "head", "length"),
        ("head", "length"),
        "another head is mounted, or work was done on this one",
        "Mass, balance and tip are read again.",
    ),
    KitNoun(
        "panel",
        "panel",
        "Panels",
        Panel,
        _PANEL_ASKS,
        (_THICKNESS, _hardness("panel_build", of_build=True), _AREA),
        PanelBuild,
        ("work", "note"),
        (),
        "it was re-laced, mended, beaten flat or turned",
        "Earlier hits stay with the earlier build, and no longer spoil a spot. Thickness, hardness and spots are read again.",
    ),
    KitNoun("stand", "stand", "Stands", Stand, ("name", "held", "gap", "hung_mass", "tilt", "layers_complete", "note"), (_LAYER, _BACKING)),
    KitNoun(
        "instrument",
        "instrument",
        "Instruments",
        Instrument,
        ("name", "sort", "resolution", "accuracy", "accuracy_ratio", "accuracy_means", "maker", "serial", "certificate", "due", "note"),
        (_INSTRUMENT_CHECK,),
    ),
)
KIT: Mapping[str, KitNoun] = MappingProxyType({one.noun: one for one in _NOUNS})
