"""What the shots can tell: counts and readings in, results that know their inputs out.

scipy is loaded inside the functions that need it, so that importing this package costs nothing.
"""
