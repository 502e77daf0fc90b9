"""Stock and money: ageing, purchases, budgets, waste, and what boxes and bags cost."""

import pytest
from features import little_store as shop

YEAR_MIN = 365 * shop.DAY


def rows(count=6, **given):
    return [shop.row(f"A{n}", **given) for n in range(count)]


def test_ready_packets_take_up_water_in_proportion_to_the_time_they_wait():
    record = shop.live(*rows(), plan="work", days=200, stock={"p": {"ready": 100, "ready_gain_pct_per_year": 3.0}})

    assert len(record.exchanges) > 60
    for each in record.exchanges:
        taken_min = each.minute - 6  # it is taken from the shelf when the six minutes of the exchange begin
        assert each.water_in_pct == pytest.approx(2.0 + 3.0 * taken_min / YEAR_MIN, rel=1e-9)
    assert record.ledger.water_regained_kg == pytest.approx(
        sum(0.25 * (each.water_in_pct - 2.0) / 100 for each in record.exchanges), rel=1e-9
    )


BUYING = {"ready": 6, "reorder_point": 6, "order_quantity": 4, "lead_days": 14.0}
PRICES = {"packets": {"p": {"unit_price": 1.0}}, "sorbents": {"narrow_pore": {"price_per_kg": 12.0}}}


def bought(days=365, prices=None, **stock):
    """A store without an oven, which lives on what it buys."""
    return shop.live(*rows(), plan="work", days=days, stock={"p": BUYING | stock}, prices=prices or {}, **PRICES)


def test_an_order_arrives_after_its_lead_time_and_goes_out_only_below_the_reorder_point():
    record = bought()

    orders = record.orders
    assert len(orders) > 5
    assert {each.arrived_min - each.ordered_min for each in orders if each.arrived_min is not None} == {14 * shop.DAY}
    spent = {day.day: day for day in record.stock}
    # What is ready, spent, dried or on order counts as usable; nothing is ordered while that is above the point of 6.
    day = spent[orders[1].ordered_min // shop.DAY - 1]
    assert day.ready + day.spent + day.in_oven + day.on_order <= 6 + 6


def test_a_longer_lead_time_lets_exchanges_wait_longer():
    soon, late = bought(lead_days=3.0), bought(lead_days=60.0)

    def wait_days(record):
        return sum(each.minute - each.due_min for each in record.exchanges) / len(record.exchanges) / shop.DAY

    assert wait_days(late) > wait_days(soon)


@pytest.mark.parametrize(
    ("terms", "packets", "price"),
    [
        # 4 packets of 1 + 0.25 kg x 12 = 4 each
        ({}, 4, 16.0),
        ({"least_order": 10}, 10, 40.0),
        ({"least_order": 10, "price_breaks": [[5, 5.0], [10, 20.0], [50, 40.0]]}, 10, 32.0),
        ({"order_quantity": 9, "price_breaks": [[5, 5.0], [10, 20.0]]}, 9, 34.2),
    ],
)
def test_least_orders_and_price_breaks_make_the_price(terms, packets, price):
    record = bought(days=60, **terms)
    first = record.orders[0]

    assert (first.packets, first.gel_kg) == (packets, 0.25 * packets)
    assert first.price == pytest.approx(price)
    # The discount comes off both: of 4 for a packet 3 are for its gel and 1 for the empty packet.
    lines, a_year = shop.costs(record), sum(order.price for order in record.orders) * 365 / 60
    assert lines["gel purchases: p"] == pytest.approx(0.75 * a_year, abs=0.01)
    assert lines["packets purchased: p"] == pytest.approx(0.25 * a_year, abs=0.01)


def test_purchases_stop_when_the_years_budget_is_spent_and_go_on_in_the_next():
    tight = bought(days=730, prices={"budget_per_year": 50.0}, reorder_point=100, lead_days=1.0)
    free = bought(days=730, reorder_point=100, lead_days=1.0)

    by_year = [sum(o.price for o in tight.orders if o.ordered_min // YEAR_MIN == year) for year in (0, 1)]
    assert by_year == [48.0, 48.0]  # three orders of 16
    assert sum(o.price for o in free.orders) > 100
    assert tight.ledger.gel_bought_kg == pytest.approx(6 * 1.0)


WASTE = {"disposal_per_kg": 0.5, "hazardous_disposal_per_kg": 8.0}


def disposal(**sorbent):
    scenario = shop.store(
        *rows(),
        days=365,
        stock={"p": {"ready": 8}},
        ovens={"o": shop.OVEN},
        prices=WASTE,
        sorbents={"narrow_pore": {"loss_per_cycle_pct": 3.0, "max_c": 120.0} | sorbent},
    )
    record = shop.run(scenario, "work")
    lines = shop.costs(record)
    return record.ledger.gel_lost_kg, lines.get("disposal, ordinary", 0.0), lines.get("disposal, hazardous", 0.0)


@pytest.mark.parametrize(
    ("indicator", "share_pct"), [(None, 0.0), ("orange", 0.0), ("cobalt_blue", 100.0), ("cobalt_blue", 10.0)]
)
def test_cobalt_bearing_gel_is_thrown_away_at_the_price_of_hazardous_waste(indicator, share_pct):
    marked = {} if indicator is None else {"indicator": indicator, "indicator_pct": share_pct or 100.0}
    lost_kg, ordinary, hazardous = disposal(**marked)

    assert lost_kg > 0.5
    assert hazardous == pytest.approx(lost_kg * share_pct / 100 * 8.0, abs=0.01)
    assert ordinary == pytest.approx(lost_kg * (1 - share_pct / 100) * 0.5, abs=0.01)


def test_boxes_cost_their_equal_yearly_share_over_their_life():
    dear = {"kinds": {"box": {"unit_price": 10.0, "life_years": 20.0}}, "prices": {"discount_pct_per_year": 5.0}}
    scenario = shop.store(*rows(), days=30, **dear)

    # NCEES FE Reference Handbook, factor table i = 5 %: (A/P, 5 %, 20) = 0.0802 (value from memory, unverified)
    assert shop.costs(shop.run(scenario))["enclosures: box"] == pytest.approx(60 * 0.0802, abs=0.005)


def test_empty_packets_wear_out_over_their_life_in_cycles():
    scenario = shop.store(
        *rows(), days=365, stock={"p": {"ready": 200}}, packets={"p": {"unit_price": 2.0, "life_cycles": 40}}
    )
    record = shop.run(scenario, "work")

    assert shop.costs(record)["packets worn out: p"] == pytest.approx(len(record.exchanges) * 2.0 / 40, abs=0.01)


def test_fill_rule_sets_a_third_of_the_empty_space_beside_what_is_filled_and_what_a_year_needs():
    from simstore.results.fill_rule import fill_rule_columns

    scenario = shop.store(*rows(4), shop.row("B", leak_per_day=30.0), days=90, stock={"p": {"ready": 100}})
    record = shop.run(scenario, "work")
    found = fill_rule_columns(record)

    assert (found["kind"], found["metal"], found["enclosures"]) == (["box"], ["iron"], [5])
    assert found["rule_kg"] == pytest.approx([0.006 / 3 * 700])  # common practice, no source
    assert found["filled_kg"] == pytest.approx([0.25])
    # A leak of 1 change a day of 6 l: the vapour of 50 %RH less that of half the ceiling, over a year, taken up by gel
    # that goes from 2 % to its water at 15 %RH and 18 degC.
    gained_kg = 0.006 * shop.CSAT_20_C_KG_PER_M3 * (0.50 - 0.075) * 365
    need_kg = gained_kg / (shop.water_on_gel(0.15, 291.15) - 0.02)
    assert found["need_p50_kg"] == pytest.approx([need_kg], rel=1e-3)
    # numpy's 95 % quantile of five values lies four fifths of the way to the largest
    assert found["need_p95_kg"] == pytest.approx([need_kg * (1 + 0.8 * 29)], rel=1e-3)
    assert found["exchanges_per_year"] == pytest.approx([len(record.exchanges) / 5 / (90 / 365)])
