"""Buying against the textbook, under its assumptions; the printed figures themselves are rows of the outside checks."""

from __future__ import annotations

import math

import pytest
from sim.queue_theory import order_quantity, safety
from sim.shop import before_deliveries, steady


def cost_of(quantity: float) -> tuple[float, float, float]:
    """Orders a year, mean stock and cost a year: 2400 a year, 5 an order, 4 to hold one for a year."""
    orders, mean = steady(2400.0, quantity, per_unit=50, slow=20, lead_days=7.0)
    return orders, mean, 5.0 * orders + 4.0 * mean


def test_the_order_quantity_gives_the_orders_stock_and_least_cost_of_the_formula():
    # 77.46; orders 30.98 a year, mean stock 38.73, cost 309.84.
    best = order_quantity(2400.0, 5.0, 4.0)

    orders, mean, cost = cost_of(best)

    assert orders == pytest.approx(2400.0 / best, rel=0.02)
    assert mean == pytest.approx(best / 2.0, rel=0.02)
    assert cost == pytest.approx(math.sqrt(2.0 * 2400.0 * 5.0 * 4.0), rel=0.02)
    for share in (0.5, 2.0):
        # the formula's own: cost rises as (Q/Q* + Q*/Q)/2
        assert cost_of(best * share)[2] / cost == pytest.approx((share + 1.0 / share) / 2.0, rel=0.02)


def test_without_the_safety_stock_every_other_cycle_would_run_short():
    # 2400 a year, 4 a day of deviation, 7 days, 98 %: the printed reorder point of 67.73 without its safety stock.
    left = before_deliveries(2400 / 365, 4.0, 7, 67.73, per_unit=4, cycles=1000)

    assert len(left) > 900
    assert (left >= round(4 * safety(4.0, 7.0, 0.98))).mean() == pytest.approx(0.5, abs=0.05)
