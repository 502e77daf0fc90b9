"""The step is plain Python on numbers; where numba is installed it is compiled, and then some hundred times faster.

What is compiled is kept in the user's cache, in a folder named after the text of everything that is compiled: numba
itself notices a change of the function alone, not of those that it calls. Where nothing may be written each process
compiles anew. ``SIMSTORE_UNCOMPILED=1`` runs the plain Python.
"""

from __future__ import annotations

import functools
import importlib
import sys
from collections.abc import Callable
from typing import Any, Final, TypeVar

from simstore.physics.kept_code import SLOW_NOTE, cache_folder, compiler_version

Function = TypeVar("Function", bound=Callable[..., Any])
OPTIONS: Final = {"error_model": "numpy", "_nrt": False}
"""No exception at a division by zero, and no counting of references: what is compiled allocates nothing."""


@functools.cache
def _compiler() -> Any:
    """Return numba; None where it is not wanted, not installed, or cannot be loaded, which is said once."""
    if not compiler_version():
        return None
    try:
        return importlib.import_module("numba")
    except Exception as error:  # whatever is wrong with it, the plain Python gives the same results
        sys.stderr.write(f"note: numba cannot be loaded ({error}): {SLOW_NOTE}\n")
        return None


def compiled(function: Function) -> Function:
    """Compile a function of numbers and arrays, if numba is there; otherwise leave it as it is."""
    numba = _compiler()
    if numba is None:
        return function
    before = numba.config.CACHE_DIR
    try:
        numba.config.CACHE_DIR = str(cache_folder())
        made: Function = numba.njit(cache=True, **OPTIONS)(function)
    except (OSError, RuntimeError):  # there is no place to write to
        made = numba.njit(**OPTIONS)(function)
    finally:
        numba.config.CACHE_DIR = before
    return made
