"""What to mind in reading a result, found by the tool itself: one small file a caveat, `collected.py` asks them all."""
