"""What a plan costs a year: this run's spending, and the annual equivalent of what is bought once and lasts.

Labour is charged for the minutes that people work on tasks, not for the rest of their sessions: somebody who waits for
the oven does other work of the store. Capital covers everything that the plan needs, whether it is there already or
not, so that plans which house the same objects otherwise can be compared: ovens, enclosures with the labour of putting
each to use, gel and packets in the enclosures and in stock.
"""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from simstore.money.tally import Tally
from simstore.scenario.values.plan import Plan, Programme
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_HOUR

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


def cost_lines(tally: Tally) -> list[CostLine]:
    """All cost lines of a run, per year of it, each rounded to the cent.

    Returns
    -------
    list of CostLine
        Running lines first; lines of nothing are left out, but there is at least one line of each sort.
    """
    years = tally.days / DAYS_PER_YEAR
    running = {line: amount / years for line, amount in _running(tally).items()}
    lines = [CostLine(line, "running", _cents(amount)) for line, amount in running.items()]
    lines += [CostLine(line, "capital", _cents(amount)) for line, amount in _capital(tally).items()]
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


def _running(tally: Tally) -> dict[str, float]:
    settings, prices = tally.settings, tally.settings.prices
    amounts = {
        f"labour of {name}": minutes / MINUTES_PER_HOUR * settings.technicians[name].wage_per_h
        for name, minutes in sorted(tally.worked_min.items())
    }
    gel, empty = _purchases(tally)
    amounts["gel purchases"] = gel
    amounts["packets purchased"] = empty
    amounts["packets worn out"] = sum(
        packets * settings.packets[name].unit_price / settings.packets[name].life_cycles
        for name, packets in tally.changed.items()
    )
    amounts["energy"] = tally.energy_kwh * prices.energy_per_kwh
    amounts["repairs"] = sum(n * mending_price(settings, "oven", name) for name, n in tally.repairs.items())
    amounts["enclosures replaced"] = sum(
        n * mending_price(settings, "enclosure", name) for name, n in tally.failed.items()
    )
    ordinary_kg, hazardous_kg = disposed_kg(tally)
    amounts["disposal, ordinary"] = ordinary_kg * prices.disposal_per_kg
    amounts["disposal, hazardous"] = hazardous_kg * prices.hazardous_disposal_per_kg
    return amounts


def _purchases(tally: Tally) -> tuple[float, float]:
    """Money for gel and for empty packets, discounts taken off both."""
    gel = empty = 0.0
    for name, count in tally.orders:
        packet = tally.settings.packets[name]
        paid = 1.0 - tally.settings.stock[name].discount_pct(count) / 100.0
        gel += count * packet.gel_kg * tally.settings.sorbents[packet.sorbent].price_per_kg * paid
        empty += count * packet.unit_price * paid
    return gel, empty


def mending_price(settings: Settings, what: str, sort: str) -> float:
    """Price of one repair of an oven of this sort, or of one new enclosure of this kind. [currency]."""
    return settings.ovens[sort].repair_price if what == "oven" else settings.kinds[sort].unit_price


def disposed_kg(tally: Tally) -> tuple[float, float]:
    """Gel that left the store as ordinary and as hazardous (cobalt-bearing) waste, kg of dry gel.

    Dust, spillage and gel that was thrown away. Of gel with a cobalt indicator the indicating share is hazardous.
    """
    settings = tally.settings
    hazardous_kg = sum(kg * _hazardous_share(settings, settings.packets[name]) for name, kg in tally.lost_kg.items())
    return sum(tally.lost_kg.values()) - hazardous_kg, hazardous_kg


def _hazardous_share(settings: Settings, packet: Packet) -> float:
    sorbent = settings.sorbents[packet.sorbent]
    if sorbent.indicator is None or settings.indicators[sorbent.indicator].hazard == "none":
        return 0.0
    return sorbent.indicator_pct / 100.0


def _capital(tally: Tally) -> dict[str, float]:
    settings = tally.settings
    rate = settings.prices.discount_pct_per_year / 100.0
    amounts = {
        f"ovens: {name}": oven.count * oven.unit_price * capital_recovery_factor(rate, oven.life_years)
        for name, oven in sorted(settings.ovens.items())
    }
    for name, count in sorted(tally.enclosures.items()):
        kind = settings.kinds[name]
        amounts[f"enclosures: {name}"] = count * kind.unit_price * capital_recovery_factor(rate, kind.life_years)
    for name, stock in sorted(settings.stock.items()):
        price = packet_price(settings, settings.packets[name])
        factor = capital_recovery_factor(rate, OPENING_STOCK_LIFE_YEARS)
        amounts[f"opening stock: {name}"] = (stock.ready + stock.spent) * price * factor
    for name, count in sorted(tally.placed.items()):
        price = packet_price(settings, settings.packets[name])
        amounts[f"gel in enclosures: {name}"] = count * price * capital_recovery_factor(rate, OPENING_STOCK_LIFE_YEARS)
    price = put_to_use_min(settings, tally.plan) / MINUTES_PER_HOUR * mean_wage_per_h(settings)
    for name, count in sorted(tally.enclosures.items()):
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
