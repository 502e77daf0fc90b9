"""Our values for the rows about purchases: the simulator's own buyer under the assumptions of the textbook."""

from __future__ import annotations

import math

from sim.shop import before_deliveries, steady


def best_quantity(demand: float, order: float, holding: float, tried: float, **scale: float) -> float:
    """Quantity at which orders and stock, as the simulator has them at ``tried``, would cost least.

    With N orders a year and a mean stock M at a quantity Q, another quantity has N Q of demand and M/Q of stock for
    each unit of it.
    """
    orders, mean = steady(demand, tried, **scale)
    return math.sqrt(order * orders * tried / (holding * mean / tried))


def service_pct(rate: float, sd: float, lead: int, point: float, per_unit: float) -> float:
    """Share of deliveries that come before the shelf is empty [%]."""
    left = before_deliveries(rate, sd, lead, point, per_unit=per_unit, cycles=1000)
    return 100.0 * float((left >= 0).mean())


def left_over(rate: float, sd: float, lead: int, point: float, per_unit: float) -> float:
    """What is on the shelf when a delivery comes, on average [units]: the safety stock."""
    return float(before_deliveries(rate, sd, lead, point, per_unit=per_unit, cycles=1000).mean()) / per_unit


COMPUTES = {
    "stock.order_quantity.2400": lambda: best_quantity(
        2400.0, 5.0, 4.0, tried=60.0, per_unit=50, slow=20, lead_days=7.0
    ),
    "stock.order_quantity.14000": lambda: best_quantity(
        14000.0, 320.0, 4.0, tried=2000.0, per_unit=1, slow=20, lead_days=21.0
    ),
    "stock.reorder_point.2400": lambda: service_pct(2400 / 365, 4.0, 7, 67.73, 4),
    "stock.reorder_point.14000": lambda: service_pct(14000 / 52, 120.0, 3, 1150.0, 0.2),
    "stock.safety.14000": lambda: left_over(14000 / 52, 120.0, 3, 1150.0, 0.2),
}
