"""What a plan costs a year: this run's spending, and the annual equivalent of what is bought once and lasts.

Labour is charged for the minutes that people work on tasks, not for the rest of their sessions: somebody who waits for
the oven does other work of the store. Capital covers everything that the plan needs, whether it is there already or
not, so that plans which house the same objects otherwise can be compared: ovens, enclosures with the labour of putting
each to use, gel and packets in the enclosures and in stock.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, Literal, NamedTuple

from simstore.money.tally import Tally
from simstore.scenario.values.plan import Plan, Programme
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.sorbents import Packet
from simstore.units import DAYS_PER_YEAR, MINUTES_PER_HOUR

Sort = Literal["running", "capital"]
OPENING_STOCK_LIFE_YEARS: Final = 10.0
"""Life over which gel and packets, in stock and in enclosures, are written off; common practice, no source."""
REHOUSE_MIN: Final = float(Programme.model_fields["rehouse_min"].default)
"""Minutes to move the contents of one enclosure where the plan has no programme that says so."""


class CostLine(NamedTuple):
    """One line of the yearly costs: a quantity times a price, shared over a life where it lasts.

    Attributes
    ----------
    line : str
        What the money goes on.
    sort : str
        "running", or "capital" for an equal yearly share of what lasts.
    quantity : float
        Of ``unit``, a year (running) or in all (capital).
    unit : str
    price : float
        Of one unit. [currency]
    life_years : float or None
        Life of what lasts. [a]
    amount_per_year : float
        [currency/a].
    """

    line: str
    sort: Sort
    quantity: float
    unit: str
    price: float
    life_years: float | None
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
        Everything that has a price under this plan, also where nothing of it was needed, so that a mean over runs is
        the mean of the rows; running lines first.
    """
    lines = (*_running(tally), *_capital(tally))
    return [line._replace(amount_per_year=round(line.amount_per_year, 2)) for line in lines if line.price]


def total(lines: list[CostLine], *sorts: str) -> float:
    """Sum of the lines of these sorts, exact to the cent."""
    return sum(round(100 * line.amount_per_year) for line in lines if line.sort in sorts) / 100


def running_line(line: str, quantity: float, unit: str, price: float) -> CostLine:
    """Lay out what is spent every year, not rounded."""
    return CostLine(line, "running", quantity, unit, price, None, quantity * price)


def capital_line(line: str, quantity: float, unit: str, price: float, *, life_years: float, rate: float) -> CostLine:
    """Lay out the equal yearly share of what lasts, not rounded, at the discount rate ``rate`` (a share)."""
    amount = quantity * price * capital_recovery_factor(rate, life_years)
    return CostLine(line, "capital", quantity, unit, price, life_years, amount)


def _running(tally: Tally) -> Iterator[CostLine]:
    settings, prices, years = tally.settings, tally.settings.prices, tally.days / DAYS_PER_YEAR
    for name, person in sorted(settings.technicians.items()):
        worked_h = tally.worked_min.get(name, 0.0) / MINUTES_PER_HOUR
        yield running_line(f"labour of {name}", worked_h / years, "h", person.wage_per_h)
    for name, stock in sorted(settings.stock.items()):
        if stock.packets_ordered:
            yield from _purchases(tally, name)
    for name, packet in sorted(settings.packets.items()):
        worn = tally.changed.get(name, 0.0) / packet.life_cycles
        yield running_line(f"packets worn out: {name}", worn / years, "packets", packet.unit_price)
    yield running_line("energy", tally.energy_kwh / years, "kWh", prices.energy_per_kwh)
    ordinary_kg, hazardous_kg = disposed_kg(tally)
    yield running_line("disposal, ordinary", ordinary_kg / years, "kg", prices.disposal_per_kg)
    yield running_line("disposal, hazardous", hazardous_kg / years, "kg", prices.hazardous_disposal_per_kg)
    for name, kind in sorted(settings.kinds.items()):
        if kind.failures_per_year or name in tally.failed:
            price = mending_price(settings, "enclosure", name)
            yield running_line(f"enclosures replaced: {name}", tally.failed.get(name, 0) / years, "enclosures", price)
    for name, oven in sorted(settings.ovens.items()):
        if oven.failures_per_year or name in tally.repairs:
            price = mending_price(settings, "oven", name)
            yield running_line(f"repairs: {name}", tally.repairs.get(name, 0) / years, "repairs", price)


def _purchases(tally: Tally, name: str) -> Iterator[CostLine]:
    """Gel and empty packets of one sort; a discount comes off both, so that the price is the mean of what was paid."""
    settings, years = tally.settings, tally.days / DAYS_PER_YEAR
    packet, stock = settings.packets[name], settings.stock[name]
    orders = [count for sort, count in tally.orders if sort == name]
    bought = sum(orders)
    paid = sum(count * (1.0 - stock.discount_pct(count) / 100.0) for count in orders) / bought if bought else 1.0
    gel_price = settings.sorbents[packet.sorbent].price_per_kg * paid
    yield running_line(f"gel purchases: {name}", bought * packet.gel_kg / years, "kg", gel_price)
    yield running_line(f"packets purchased: {name}", bought / years, "packets", packet.unit_price * paid)


def mending_price(settings: Settings, what: str, sort: str) -> float:
    """Price of one repair of an oven of this sort, or of one new enclosure of this kind. [currency]."""
    return settings.ovens[sort].repair_price if what == "oven" else settings.kinds[sort].unit_price


def disposed_kg(tally: Tally) -> tuple[float, float]:
    """Gel that left the store as ordinary and as hazardous (cobalt-bearing) waste, kg of dry gel.

    Dust, spillage and gel that was thrown away. Of gel with a cobalt indicator the indicating share is hazardous.
    """
    settings = tally.settings
    hazardous = {name: _hazardous_share(settings, settings.packets[name]) for name in tally.lost_kg}
    ordinary_kg = sum(kg * (1.0 - hazardous[name]) for name, kg in tally.lost_kg.items())
    return ordinary_kg, sum(kg * hazardous[name] for name, kg in tally.lost_kg.items())


def _hazardous_share(settings: Settings, packet: Packet) -> float:
    sorbent = settings.sorbents[packet.sorbent]
    if sorbent.indicator is None or settings.indicators[sorbent.indicator].hazard == "none":
        return 0.0
    return sorbent.indicator_pct / 100.0


def _capital(tally: Tally) -> Iterator[CostLine]:
    settings, kinds = tally.settings, sorted(tally.settings.kinds.items())
    rate = settings.prices.discount_pct_per_year / 100.0
    gel_life = OPENING_STOCK_LIFE_YEARS

    def line(what: str, quantity: float, unit: str, price: float, life_years: float) -> CostLine:
        return capital_line(what, quantity, unit, price, life_years=life_years, rate=rate)

    for name, packet in sorted(settings.packets.items()):
        price = packet_price(settings, packet)
        yield line(f"gel in enclosures: {name}", tally.placed.get(name, 0), "packets", price, gel_life)
    for name, kind in kinds:
        count = tally.enclosures.get(name, 0)
        yield line(f"enclosures: {name}", count, "enclosures", kind.unit_price, kind.life_years)
    each_h, wage = put_to_use_min(settings, tally.plan) / MINUTES_PER_HOUR, mean_wage_per_h(settings)
    for name, kind in kinds:
        renewed_h = tally.enclosures.get(name, 0) * each_h
        yield line(f"renewal labour: {name}", renewed_h, "h", wage, kind.life_years)
    for name, oven in sorted(settings.ovens.items()):
        yield line(f"ovens: {name}", oven.count, "ovens", oven.unit_price, oven.life_years)
    for name, stock in sorted(settings.stock.items()):
        price = packet_price(settings, settings.packets[name])
        yield line(f"opening stock: {name}", stock.ready + stock.spent, "packets", price, gel_life)


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
