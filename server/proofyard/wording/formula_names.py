"""What the tables of `physics` are called on pages: kinds of steel, rules, printed figures, by their keys there."""

from collections.abc import Mapping
from types import MappingProxyType

STEELS: Mapping[str, str] = MappingProxyType(
    {
        "slaggy_iron": "Iron full of slag",
        "low_carbon": "Low-carbon steel of its time",
        "mild_steel": "Modern mild steel",
        "medium_carbon": "Medium-carbon steel, not hardened",
        "hardened": "Medium-carbon steel, hardened",
    }
)
PRINTED_ENERGIES: Mapping[str, str] = MappingProxyType(
    {
        "mail": "arrowheads through mail: 80 J modern, 120 J hardened 15th-century mail",
        "mail_over_padding": "arrowheads through mail and a padded jack, with up to 35 mm behind",
        "linen_16": "a lance point through 16 layers of linen",
        "buff_leather": "an arrowhead through buff leather",
        "boiled_leather": "a lance point through hardened leather",
    }
)
THICKNESS_RULES: Mapping[str, str] = MappingProxyType(
    {
        "arrows": "Arrows at plates, 1 to 3 mm",
        "hole": "Pushing a hole open in thin sheet",
        "missiles": "Heavy blunt missiles (BRL)",
        "guns": "Guns at thick plates (De Marre)",
    }
)
# Where no shots place the energy: of plate by what the formula was made for, and of linen.
PLATE_RULES: Mapping[str, str] = MappingProxyType(
    {
        "missiles": "Missiles, BRL",
        "framed": "Missiles at a framed plate, SRI",
        "stronger": "The same of mild steel, in proportion to the strength",
    }
)
LINEN_RULE = "Published: a lance point through 16 layers of linen, in proportion"
STEEL_RULES: Mapping[str, str] = MappingProxyType(
    {
        "strength": "In proportion to the strength that goes with the hardness",
        "quality": "Published factors for kinds of steel, from arrows at plates",
    }
)
WIRE_RULES: Mapping[str, str] = MappingProxyType(
    {"pull": "Rings pulled apart, by the wire’s section", "bend": "Rings bent open, by the wire’s stiffness"}
)
ANGLE_RULES: Mapping[str, str] = MappingProxyType(
    {
        "arrows": "Arrows at slanted plates, 0 to 45°",
        "way": "As much longer as the way through",
        "thicker": "As if the plate were that much thicker",
        "square_part": "Only the part of the speed that is square on counts",
    }
)
LAYER_RULES: Mapping[str, str] = MappingProxyType(
    {"apart": "Each layer takes its own, one after the other", "as_one": "As one plate of the same whole thickness"}
)
# Where on a cross-section its width is taken.
SECTION_WIDTHS: Mapping[str, str] = MappingProxyType(
    {
        "round": "across",
        "square": "from flat to flat",
        "triangle": "along one of three equal sides",
        "diamond": "from corner to corner, the long way",
        "flat": "across the blade",
    }
)
# What the blunt criterion was tried on.
TRIED_ON: Mapping[str, str] = MappingProxyType({"speed": "speed of what strikes the body", "diameter": "its width"})
# The limit of a standard and the check of its backing: what they are, what they were made for, and why an arrow is not that.
BACK_FACE = "44 mm (1.7 in) into oil-based clay behind the armour"
BACK_FACE_MADE_FOR = "soft vests that stop bullets of handguns, and taken from a few tests with animals, gelatine and clay"
BACK_FACE_NOT_FOR = (
    "such a bullet (8.0 g at 332 m/s) brings 441 J and 2.7 kg·m/s; an arrow of 80 g at 50 m/s brings 100 J and 4.0 kg·m/s, and "
    "clay need not give way to both alike. Looked at again, the data of goats behind the figure put one death in ten at "
    "44.7 mm, anywhere from 17.6 to 55.4 mm; and where a chest is stiff, injuries were reckoned below 44 mm"
)
BACKING_DROP = "a steel ball 63.5 mm across, mean of 5 drops 19 ± 2 mm (quoted second-hand); of 1.043 kg, from 2.0 m (third-hand)"
