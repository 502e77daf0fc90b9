"""A store for a script or a notebook: load it once, then ask."""

from __future__ import annotations

from typing import Unpack

from simstore.questions.compare import compare
from simstore.questions.find import find
from simstore.questions.fit import fit
from simstore.questions.loaded import Loaded, Source, read, reseeded
from simstore.questions.options import How
from simstore.questions.rota import rota
from simstore.questions.run import run
from simstore.questions.sensitivity import sensitivity
from simstore.questions.size import size
from simstore.questions.stress import stress
from simstore.questions.sweep import sweep


class Store(Loaded):
    """A store with its plans, and all that may be asked of it.

    Each question is a method here and a command on the command line, with the same options, and a line below is all
    that makes it both. Get one with :func:`load`.
    """

    run = run
    compare = compare
    find = find
    sweep = sweep
    stress = stress
    sensitivity = sensitivity
    size = size
    rota = rota
    fit = fit


def load(store: Source, **how: Unpack[How]) -> Store:
    """Read a store and check it.

    Parameters
    ----------
    store : path or Store
        Scenario folder or TOML file; or a store that is loaded already.
    **how
        ``seed``, ``workers`` and the like: what a question is not told itself.

    Returns
    -------
    Store

    Raises
    ------
    SimstoreError
        With everything that is wrong.
    """
    seed = how.get("seed")
    if isinstance(store, Loaded):
        return Store(reseeded(store.scenario, seed), {**store.how, **how}, store.watch)
    return Store(read(store, seed), how)
