"""Two short plain words that a phone and the owner's page both show, so that the right phone is let in."""

import secrets
from collections.abc import Collection

# Plain things and qualities, two to eight letters, none spoken like another of them, none that could hurt anyone.
_LIST = """
    acorn amber anchor apple apron arch ash aspen attic badger baker bank barley barn basin basket beacon bean
    bell bench berry birch blanket bloom board bonnet book boot bottle bracken branch brass bread brick bridge brine
    broom brush bucket buckle butter button cabin candle canvas cart cedar cellar chalk chapel cheese cherry chimney
    cider circle clay cliff cloak clover coal cobble coin comb copper coral cork corner cotton cradle crane cream
    creek crocus crumb cup curlew daisy dale desk dial door dove drum dusk east elbow elder elm ember engine fallow
    farm feather fence fern ferry fiddle field finch flag flax fleece flint flour flute fog forest fox frost gable
    garden garlic gate ginger glass glove goose granite grape grass gravel green grove gull hammer handle harbour hare
    harvest hat hazel heather hedge heron hill hinge holly honey hood horn island ivory ivy jacket jar jetty jug
    juniper kettle kitchen kite ladder lake lamp lantern lark laurel leaf leather lemon lichen lily linen lobster loft
    loom maple marble market marsh meadow melon milk mill mint mirror moon moor morning moss moth mountain muslin
    mustard nectar needle nest nettle north nutmeg oak oar oat olive onion orange orchard otter oven owl paddle paper
    parsley path pear pebble pencil pepper pewter piano pier pigeon pillow pine planet plum pocket pond poplar poppy
    porch potter prow pumpkin quartz quill quilt rabbit radish rain raven reed ribbon river robin rocket roof
    rope rose ruby rye saddle saffron sage sail salmon salt sand satin saucer seed shawl shell shore shovel silk
    silver sketch slate sleeve snow soap sorrel south spade sparrow spoon spring spruce squirrel stable star station
    stone stork straw stream sugar summer swallow swan table tailor tea thatch thimble thistle thyme ticket timber
    tin toast tower trail tulip tunnel turnip valley velvet vinegar violet violin wagon walnut water wave well west
    wharf wheat wheel willow window winter wool yarrow yellow
    """
WORDS = tuple(_LIST.split())


def two_words(taken: Collection[str] = ()) -> str:
    """A pair that no other phone shows now.

    Refuses
        RuntimeError  a hundred draws were all taken: more phones ask than `joining` lets wait
    """
    for _ in range(100):
        pair = f"{secrets.choice(WORDS)} {secrets.choice(WORDS)}"
        first, second = pair.split()
        if first != second and pair not in taken:
            return pair
    raise RuntimeError("no free pair of words")
