"""At what level a range of a 50 % energy holds: both ends together, or the one end that the shots bound."""

LEVEL = 0.95
# Of the two ends each is left out as often as the other, so one end by itself is wrong half as often.
SIDE_LEVEL = (1 + LEVEL) / 2
TWO_SIDED = f"{100 * LEVEL:g}\N{NO-BREAK SPACE}%"
ONE_SIDED = f"one-sided, {100 * SIDE_LEVEL:g}\N{NO-BREAK SPACE}%"
