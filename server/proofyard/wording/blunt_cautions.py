"""What stands beside every figure of blunt impact behind armour, on pages, on paper and in files. It has one home, so that none can do
without."""

ILLUSTRATIVE = (
    "Illustrative, and outside its data: these figures were made for bullets, blades and blunt batons, not for arrows, and not for anyone."
)
CAUTIONS = (
    ILLUSTRATIVE,
    "Not medical advice. An injury depends on where, on whom and on chance; no figure here says what anyone could bear.",
    "Nothing here certifies armour, old or new.",
    "Never try it on anyone, with anything, at any distance. The range’s rules, the range officer and local law override this page.",
)
IN_FILES = "Illustrative, outside its data. Not medical advice. Nothing here certifies armour. Never try it on anyone."
