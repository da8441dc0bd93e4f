"""What to check before a result is trusted, found by the tool itself: one small file a caveat, `collected.py` asks them all."""
