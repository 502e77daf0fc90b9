"""What a search makes as small as can be: the annual-equivalent cost, with the gel that lies in the enclosures.

The simulated year's cost leaves out the gel that is in use when the year begins, since it is there already. Plans that
put more of it into each enclosure would then look as if it cost nothing, so a search adds it, spread over its life like
the opening stock.
"""

from __future__ import annotations

from simstore.results.costs import OPENING_STOCK_LIFE_YEARS, capital_recovery_factor
from simstore.scenario.value import Scenario, Settings
from simstore.sim.housing import housed
from simstore.study.grid import Candidate

SIMULATED_COST = "annual_equivalent_cost"


def gel_in_use(scenario: Scenario, candidate: Candidate, settings: Settings) -> float:
    """Annual equivalent of the packets in the enclosures under a plan, to the cent. [currency/a].

    Parameters
    ----------
    scenario : Scenario
        As the user gave it.
    candidate : Candidate
        The plan.
    settings : Settings
        With the candidate's changes made.
    """
    factor = capital_recovery_factor(settings.prices.discount_pct_per_year / 100.0, OPENING_STOCK_LIFE_YEARS)
    amount = 0.0
    for row in housed(settings, settings.plans[candidate.base], scenario.enclosures):
        if row.packet is not None:
            price = row.packet.gel_kg * settings.sorbents[row.packet.sorbent].price_per_kg + row.packet.unit_price
            amount += row.packets * price * factor
    return round(amount, 2)
