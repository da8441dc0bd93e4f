"""What stands beside every figure of a blow behind armour, on pages, on paper and in files. It has one home, so that none can do without."""

ILLUSTRATIVE = "Illustrative, and outside its data: these figures were made for bullets, blades and blunt batons, not for arrows, and not for anyone."
CAUTIONS = (
    ILLUSTRATIVE,
    "Not medical advice. An injury depends on where, on whom and on chance, and no figure here says that a blow would be borne.",
    "Nothing here certifies armour, old or new.",
    "Never try it on anyone, with anything, at any distance. The range’s rules, its officer and local law come first.",
)
IN_FILES = "Illustrative, outside its data. Not medical advice. Nothing here certifies armour. Never try it on anyone."
