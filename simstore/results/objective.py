"""What a search makes as small as can be: running costs, and the annual equivalent of all that lasts."""

from __future__ import annotations

from typing import Final

SIMULATED_COST: Final = "annual_equivalent_cost"
"""Metric of `simstore.results.metrics`; see `simstore.money.costs` for what it counts."""
