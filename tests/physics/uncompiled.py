"""Modules of the physics as plain Python, beside the compiled ones."""

from __future__ import annotations

import contextlib
import importlib
import os
import sys
from collections.abc import Iterator
from types import ModuleType
from unittest import mock

ROOM = "simstore.physics."


@contextlib.contextmanager
def uncompiled(name: str) -> Iterator[ModuleType]:
    """Give a module of ``simstore.physics`` that has been loaded anew without the compiler."""
    kept = {each: sys.modules.pop(each) for each in list(sys.modules) if each.startswith(ROOM)}
    try:
        with mock.patch.dict(os.environ, {"SIMSTORE_UNCOMPILED": "1"}):
            yield importlib.import_module(name)
    finally:
        for each in [each for each in sys.modules if each.startswith(ROOM)]:
            del sys.modules[each]
        sys.modules.update(kept)
        package = sys.modules["simstore.physics"]
        for each, module in kept.items():
            if each.count(".") == 2:
                setattr(package, each.rsplit(".", 1)[1], module)
