"""The app, loaded. Nothing that loading makes is ever thrown away, so the collector needn't look at it, now or at every
full round while pages are served; it would take a third of the time that the app takes to load."""

import gc

_collecting = gc.isenabled()
gc.disable()
try:
    from proofyard.assembled import create_app
finally:
    gc.freeze()
    if _collecting:
        gc.enable()

__all__ = ["create_app"]
