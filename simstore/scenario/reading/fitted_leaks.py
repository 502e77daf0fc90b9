"""The leaks that a scenario has learnt: read from the file that it names, and laid over kinds and register."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from simstore.errors import Problem
from simstore.scenario.checking.document import Document, decoded, nested
from simstore.scenario.checking.finding import dotted, suggestion
from simstore.scenario.values.fitted import Fitted
from simstore.scenario.values.housing import Enclosure


def read_fitted(data: bytes, name: str) -> Fitted | Problem:
    """Read the file of leaks."""
    text = decoded(data, name)
    if isinstance(text, Problem):
        return text
    try:
        return Fitted.model_validate(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        return Problem(file=name, rule=f"is not TOML ({error})", cure="take the file that `simstore fit` wrote")
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        rule = f"cannot stand there ({first['msg'].lower()})"
        return Problem(file=name, key=dotted(first["loc"]), rule=rule, cure="take the file that `simstore fit` wrote")


def with_fitted_kinds(document: Document, fitted: Fitted, name: str) -> tuple[Document, list[Problem]]:
    """Give kinds the leaks that were learnt; a kind that is not there any more is a problem."""
    changed = nested(document)
    kinds: Any = changed.get("kinds")
    problems = []
    for kind, learnt in fitted.kinds.items():
        layers = kinds[kind].get("layers") if isinstance(kinds, dict) and isinstance(kinds.get(kind), dict) else None
        if layers is None:
            cure = suggestion(kind, kinds if isinstance(kinds, dict) else (), known_as="kinds there")
            problems.append(
                Problem(file=name, key=f"kinds.{kind}", rule="is not a kind of the scenario any more", cure=cure)
            )
            continue
        kinds[kind]["layers"] = tuple(_scaled(layer, learnt.times_median, learnt.sigma_ln) for layer in layers)
    return changed, problems


def _scaled(layer: Any, times: float, sigma_ln: float) -> Any:
    if not isinstance(layer, dict) or "leak_per_day" not in layer:
        return layer
    leak = layer["leak_per_day"]
    median = leak.get("median") if isinstance(leak, Mapping) else leak
    if isinstance(median, bool) or not isinstance(median, int | float):
        return layer
    return {**layer, "leak_per_day": {"median": float(median) * times, "sigma_ln": sigma_ln}}


def with_fitted_enclosures(rows: Sequence[Enclosure], fitted: Fitted) -> list[Enclosure]:
    """Give enclosures the leaks that were learnt; one that is not in the register any more is passed over."""
    return [
        row
        if row.id not in fitted.enclosures
        else row.model_copy(update={"leak_ratio": fitted.enclosures[row.id], "leak_per_day": None})
        for row in rows
    ]
