"""What a plan costs a year: this run's spending, and the annual equivalent of what is bought once and lasts.

Labour is charged for the minutes that people work on tasks, not for the rest of their sessions: somebody who waits for
the oven does other work of the store. Capital covers everything that the plan needs, whether it is there already or
not, so that plans which house the same objects otherwise can be compared: ovens, enclosures with the labour of putting
each to use, gel and packets in the enclosures and in stock.
"""

from __future__ import annotations

import math
from collections import Counter
from typing import Final, Literal, NamedTuple

from simstore.scenario.scenario import Scenario
from simstore.scenario.values.plan import Plan, Programme
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet
from simstore.sim.record import RunRecord
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_HOUR

IDLE: Final = "idle"
OPENING_STOCK_LIFE_YEARS: Final = 10.0
"""Life over which gel and packets, in stock and in enclosures, are written off; common practice, no source."""
REHOUSE_MIN: Final = float(Programme.model_fields["rehouse_min"].default)
"""Minutes to move the contents of one enclosure where the plan has no programme that says so."""


class CostLine(NamedTuple):
    """One line of the yearly costs, a whole number of cents."""

    line: str
    sort: Literal["running", "capital"]
    amount_per_year: float


def capital_recovery_factor(rate: float, life_years: float) -> float:
    r"""Yearly payment for one unit of money spent now.

    .. math:: (A/P) = \frac{i (1 + i)^n}{(1 + i)^n - 1}

    Parameters
    ----------
    rate : float
        Discount rate i, a share a year; at 0 the factor is 1 / n.
    life_years : float
        Life n. [a]

    Returns
    -------
    float
        Capital recovery factor. [1/a]

    References
    ----------
    .. [1] NCEES, "FE Reference Handbook", chapter Engineering Economics, factor A/P.
    """
    if life_years <= 0 or rate < 0:
        msg = f"life_years must be above 0 and rate at least 0, got {life_years:g} and {rate:g}"
        raise ValueError(msg)
    if rate == 0:
        return 1.0 / life_years
    return rate / -math.expm1(-life_years * math.log1p(rate))


def cost_lines(record: RunRecord) -> list[CostLine]:
    """All cost lines of one replication, per year of the run, each rounded to the cent.

    Returns
    -------
    list of CostLine
        Running lines first; lines of nothing are left out, but there is at least one line of each sort.
    """
    scenario = record.scenario
    years = record.days / DAYS_PER_YEAR
    running = {line: amount / years for line, amount in _running(scenario.settings, record).items()}
    lines = [CostLine(line, "running", _cents(amount)) for line, amount in running.items()]
    lines += [CostLine(line, "capital", _cents(amount)) for line, amount in _capital(scenario, record).items()]
    kept = [line for line in lines if line.amount_per_year != 0]
    for sort in ("running", "capital"):
        if not any(line.sort == sort for line in kept):
            kept.append(CostLine("nothing", sort, 0.0))
    return sorted(kept, key=lambda line: line.sort == "capital")


def total(lines: list[CostLine], *sorts: str) -> float:
    """Sum of the lines of these sorts, exact to the cent."""
    return sum(round(100 * line.amount_per_year) for line in lines if line.sort in sorts) / 100


def _cents(amount: float) -> float:
    return round(amount, 2)


def _running(settings: Settings, record: RunRecord) -> dict[str, float]:
    prices = settings.prices
    minutes: Counter[str] = Counter()
    for row in record.staff:
        if row.task != IDLE:
            minutes[row.technician] += row.minutes
    amounts = {
        f"labour of {name}": minutes[name] / MINUTES_PER_HOUR * settings.technicians[name].wage_per_h
        for name in sorted(minutes)
    }
    empty_packets = sum(order.packets * settings.packets[order.packet].unit_price for order in record.orders)
    amounts["gel purchases"] = sum(order.price for order in record.orders) - empty_packets
    amounts["packets purchased"] = empty_packets
    amounts["packets worn out"] = sum(
        row.packets * settings.packets[row.packet].unit_price / settings.packets[row.packet].life_cycles
        for row in record.exchanges
    )
    amounts["energy"] = sum(load.energy_kwh for load in record.loads) * prices.energy_per_kwh
    amounts["repairs"] = sum(mishap.cost for mishap in record.mishaps if mishap.what == "oven")
    amounts["enclosures replaced"] = sum(mishap.cost for mishap in record.mishaps if mishap.what == "enclosure")
    ordinary_kg, hazardous_kg = disposed_kg(settings, record)
    amounts["disposal, ordinary"] = ordinary_kg * prices.disposal_per_kg
    amounts["disposal, hazardous"] = hazardous_kg * prices.hazardous_disposal_per_kg
    return amounts


def disposed_kg(settings: Settings, record: RunRecord) -> tuple[float, float]:
    """Gel that left the store as ordinary and as hazardous (cobalt-bearing) waste, kg of dry gel.

    Dust, spillage and gel that was thrown away. Of gel with a cobalt indicator the indicating share is hazardous.
    """
    lost = {row.packet: row.lost_kg for row in sorted(record.stock, key=lambda row: row.day)}
    hazardous_kg = sum(kg * _hazardous_share(settings, settings.packets[name]) for name, kg in lost.items())
    return record.ledger.gel_lost_kg - hazardous_kg, hazardous_kg


def _hazardous_share(settings: Settings, packet: Packet) -> float:
    sorbent = settings.sorbents[packet.sorbent]
    if sorbent.indicator is None or settings.indicators[sorbent.indicator].hazard == "none":
        return 0.0
    return sorbent.indicator_pct / 100.0


def _capital(scenario: Scenario, record: RunRecord) -> dict[str, float]:
    settings = scenario.settings
    rate = settings.prices.discount_pct_per_year / 100.0
    amounts = {
        f"ovens: {name}": oven.count * oven.unit_price * capital_recovery_factor(rate, oven.life_years)
        for name, oven in sorted(settings.ovens.items())
    }
    for name, count in sorted(Counter(record.enclosures.kind).items()):
        kind = settings.kinds[name]
        amounts[f"enclosures: {name}"] = count * kind.unit_price * capital_recovery_factor(rate, kind.life_years)
    for name, stock in sorted(settings.stock.items()):
        price = packet_price(settings, settings.packets[name])
        factor = capital_recovery_factor(rate, OPENING_STOCK_LIFE_YEARS)
        amounts[f"opening stock: {name}"] = (stock.ready + stock.spent) * price * factor
    for name, count in sorted(record.packets_placed.items()):
        price = packet_price(settings, settings.packets[name])
        amounts[f"gel in enclosures: {name}"] = count * price * capital_recovery_factor(rate, OPENING_STOCK_LIFE_YEARS)
    price = put_to_use_min(settings, settings.plans[record.plan]) / MINUTES_PER_HOUR * mean_wage_per_h(settings)
    for name, count in sorted(Counter(record.enclosures.kind).items()):
        factor = capital_recovery_factor(rate, settings.kinds[name].life_years)
        amounts[f"renewal labour: {name}"] = count * price * factor
    return amounts


def packet_price(settings: Settings, packet: Packet) -> float:
    """Price of one filled packet. [currency]."""
    return packet.gel_kg * settings.sorbents[packet.sorbent].price_per_kg + packet.unit_price


def put_to_use_min(settings: Settings, plan: Plan) -> float:
    """Minutes to put one new enclosure to use: moving the objects, and measuring its leak if the plan goes by it."""
    return move_min(settings, plan) + leak_test_min(settings, plan)


def move_min(settings: Settings, plan: Plan) -> float:
    """Minutes to move the objects of one enclosure into another."""
    programme = settings.programmes.get(plan.programme)
    return REHOUSE_MIN if programme is None else programme.rehouse_min


def leak_test_min(settings: Settings, plan: Plan) -> float:
    """Minutes to measure the leak of one enclosure; 0 for a plan that does not go by measured leaks."""
    return settings.tasks.leak_test_min if plan.knows_leaks else 0.0


def mean_wage_per_h(settings: Settings) -> float:
    """Plain mean of the technicians' wages; 0 without anybody. [currency/h]."""
    wages = [person.wage_per_h for person in settings.technicians.values()]
    return sum(wages) / len(wages) if wages else 0.0
