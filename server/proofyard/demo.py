"""The invented demo, loaded from where it lies: beside server/ in a checkout, within the package in a wheel.

One import name for both, so that an installation brings one top-level package and no more.
"""

import importlib.util
import sys
from types import ModuleType

from proofyard.settings import data_folder

NAME = "proofyard.seed_demo"


def load_demo() -> ModuleType:
    """The package that fills a new book: `fill(book)` and what it refuses."""
    if NAME in sys.modules:
        return sys.modules[NAME]
    folder = data_folder("seed_demo")
    spec = importlib.util.spec_from_file_location(NAME, folder / "__init__.py", submodule_search_locations=[str(folder)])
    if spec is None or spec.loader is None:
        raise FileNotFoundError(f"The demo in {folder} can’t be read.")
    module = importlib.util.module_from_spec(spec)
    sys.modules[NAME] = module
    spec.loader.exec_module(module)
    return module
