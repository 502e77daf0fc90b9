"""Our values for the rows about the simulation: solver, half-time, field findings, queues, purchases."""

from __future__ import annotations

import math

from sim import accuracy, field, queue_theory

WEEKS = (("Sand Point", "January"), ("Sand Point", "July"), ("Greensboro", "July"), ("Greensboro", "October"))
NAMES = {
    "box": ["box", "leaky box", "large"],
    "triple_bag": ["triple bag"],
    "tiny_packet": ["5 g packet", "0.5 g packet", "thin bag"],
    "no_packet": ["no packet", "packing alone"],
    "packing": ["packing"],
    "weak_perforation": ["weakly perforated"],
}


def rounded_up(value: float) -> float:
    """Two decimals upwards, so that the page does not hang on the last digit of somebody's processor."""
    return math.ceil(value * 100.0) / 100.0


def worst(case: str) -> list[float]:
    """Worst error of a case in each of the weeks, with an exchange in its middle [%RH]."""
    found = []
    for station, season in WEEKS:
        at_ends, of_means = accuracy.worst_pct(station, season, 24)
        own = [list(accuracy.stores.CASES).index(name) for name in NAMES[case]]
        found.append(rounded_up(float(max(at_ends[own].max(), of_means[own].max()))))
    return found


def m_m_c(servers: int, arrivals: float, services: float, *names: str) -> list[float]:
    row = queue_theory.m_m_c(servers, arrivals, services)
    return [round(row[name], 4) for name in names]


def repair(men: int, *names: str) -> list[float]:
    row = queue_theory.repair(6, 20.0, 2.0, men)
    return [round(row[name], 4) for name in names]


COMPUTES = {
    **{f"simulation.solver.{case}": (lambda case=case: worst(case)) for case in NAMES},
    "simulation.half_time": lambda: round(field.half_time_days(), 2),
    "simulation.gel_20_kg_per_m3.tight": lambda: round(20.0 - field.after_a_year_pct(0.5), 1),
    "simulation.gel_20_kg_per_m3.leaky": lambda: round(field.after_a_year_pct(2.0), 1),
    "simulation.gasketed_box": lambda: round(field.gasketed_rise_pct(), 2),
    "queue.m_m_1": lambda: m_m_c(1, 0.75, 1.0, "Lq", "Wq", "L", "W"),
    "queue.m_m_2": lambda: m_m_c(2, 0.75, 1.0, "P0", "Lq", "Wq", "L"),
    "queue.m_m_3": lambda: m_m_c(3, 1.2, 0.5, "Wq", "W", "Lq", "L", "C"),
    "queue.m_d_1": lambda: queue_theory.m_g_1(0.75, 1.0, 0.0)["Lq"],
    "queue.m_g_1": lambda: [round(queue_theory.m_g_1(0.35, 2.0, 1.2)[name], 4) for name in ("Lq", "Wq")],
    "queue.repair.one": lambda: repair(1, "P0", "Lq", "L", "Wq"),
    "queue.repair.two": lambda: repair(2, "P0", "Wq"),
    "queue.repair.met_busy": lambda: [*repair(1, "met busy"), *repair(2, "met busy")],
    "stock.order_quantity.2400": lambda: queue_theory.order_quantity(2400.0, 5.0, 4.0),
    "stock.order_quantity.14000": lambda: queue_theory.order_quantity(14000.0, 320.0, 4.0),
    "stock.safety.14000": lambda: queue_theory.safety(120.0, 3.0, 0.95),
    "stock.reorder_point.2400": lambda: 2400 / 365 * 7 + queue_theory.safety(4.0, 7.0, 0.98),
    "stock.reorder_point.14000": lambda: 14000 / 52 * 3 + queue_theory.safety(120.0, 3.0, 0.95),
}  # fmt: skip
