"""Technicians and ovens of the simulator as textbook queues, and against a general-purpose queueing library.

A queue at 75 % load forgets slowly: a mean wait within 2 % takes a million customers, and the simulator's technician
needs a tenth of a millisecond for each. So every check has two halves. The simulator's own Site, ExchangeList, Worker and
OvenUnit serve a few thousand customers, and *each* of them must wait exactly as long as the textbook's recursion says
(Lindley's, or Kiefer and Wolfowitz's); that recursion then goes on with the same stream of customers until 2 % can be
told from chance. The simulator's own stretch must have the theory inside its 95 % interval as well.
"""

from __future__ import annotations

import ciw
import numpy as np
import pytest
from sim import queue_site, queue_theory
from sim.queue_site import UNIT

from simstore.sim.packets import Parcel

# Printed rows; sources: Anderson, Sweeney and Williams (M/M/1, M/M/2, machine repair), Trueman 1977 (M/M/3);
# M/D/1 follows from Pollaczek and Khinchine; M/G/1 from memory, recomputed.
PRINTED = {
    "M/M/1": (queue_theory.m_m_c(1, 0.75, 1.0), {"Lq": 2.25, "Wq": 3.0, "L": 3.0, "W": 4.0}),
    "M/M/2": (queue_theory.m_m_c(2, 0.75, 1.0), {"P0": 0.4545, "Lq": 0.1227, "Wq": 0.1636, "L": 0.8727}),
    "M/M/3": (
        queue_theory.m_m_c(3, 1.2, 0.5),
        {"Wq": 2.1573, "W": 4.1573, "Lq": 2.5888, "L": 4.9888, "C": 0.6472},
    ),
    "M/D/1": (queue_theory.m_g_1(0.75, 1.0, 0.0), {"Lq": 1.125}),
    "M/G/1": (queue_theory.m_g_1(0.35, 2.0, 1.2), {"Lq": 1.1107, "Wq": 3.1733}),
    "repair, one man": (
        queue_theory.repair(6, 20.0, 2.0, 1),
        {"P0": 0.4845, "Lq": 0.3297, "L": 0.8451, "Wq": 1.279, "busy": 0.5155, "met busy": 0.436},
    ),
    "repair, two men": (
        queue_theory.repair(6, 20.0, 2.0, 2),
        {"P0": 0.5602, "Wq": 0.0834, "busy": 0.1036, "met busy": 0.0721},
    ),
}


@pytest.mark.parametrize("model", PRINTED)
def test_formula_gives_the_printed_row_to_its_last_digit(model):
    computed, printed = PRINTED[model]

    for name, value in printed.items():
        digits = len(str(value).split(".")[1])
        assert round(computed[name], digits) == value, name


def exponential(rng, mean, count):
    return np.rint(rng.exponential(mean, count) * UNIT).astype(np.int64)


def gamma(rng, mean, count, sd=1.2):
    return np.rint(rng.gamma((mean / sd) ** 2, sd**2 / mean, count) * UNIT).astype(np.int64)


def constant(rng, mean, count):
    return np.full(count, round(mean * UNIT), dtype=np.int64)


OPEN = {
    # model: servers, arrival rate, mean service, law of the service, customers of the long run
    "M/M/1": (1, 0.75, 1.0, exponential, 5_000_000),
    "M/M/2": (2, 0.75, 1.0, exponential, 1_000_000),
    "M/M/3": (3, 1.2, 2.0, exponential, 3_500_000),
    "M/D/1": (1, 0.75, 1.0, constant, 4_000_000),
    "M/G/1": (1, 0.35, 2.0, gamma, 4_000_000),
}
SIMULATED = 5000


@pytest.mark.parametrize("model", OPEN)
def test_exchanges_wait_for_technicians_as_in_the_textbook(model):
    servers, rate, mean, law, count = OPEN[model]
    rng = np.random.default_rng(11)
    gaps, services = exponential(rng, 1.0 / rate, count), law(rng, mean, count)

    simulated = queue_site.waits_of_exchanges(gaps[:SIMULATED], services[:SIMULATED], servers)
    long_run = queue_theory.waits(gaps, services, servers)

    assert simulated.tolist() == long_run[:SIMULATED].tolist()
    expected = PRINTED[model][0]["Wq"]
    for waited, batches in ((simulated, 10), (long_run, 20)):
        average, half = queue_theory.batch_interval(waited / UNIT, batches)
        assert abs(average - expected) <= half
    assert average == pytest.approx(expected, rel=0.02)
    assert half < 0.02 * expected
    in_queue = long_run.sum() / gaps.sum()
    assert in_queue == pytest.approx(PRINTED[model][0]["Lq"], rel=0.02)


@pytest.mark.parametrize("men", [1, 2])
def test_ovens_wait_for_technicians_as_machines_for_repair(men):
    model = "repair, one man" if men == 1 else "repair, two men"
    expected = PRINTED[model][0]
    count, few = 400_000, 2000
    rng = np.random.default_rng(23)
    runs = exponential(rng, 20.0, (6, count // 5))
    mends = exponential(rng, 2.0, count + 10)

    simulated = queue_site.stops_of_machines(runs, mends, men, few)
    long_run = queue_theory.stops(runs, mends, men, count)

    assert simulated.tolist() == long_run[: len(simulated)].tolist()
    for stops, batches in ((simulated, 10), (long_run, 20)):
        waited = (stops[:, 1] - stops[:, 0]) / UNIT
        average, half = queue_theory.batch_interval(waited, batches)
        assert abs(average - expected["Wq"]) <= half
    assert average == pytest.approx(expected["Wq"], rel=0.02)
    total = float(long_run[-1, 0])
    assert (long_run[:, 2] - long_run[:, 0]).sum() / total == pytest.approx(expected["L"], rel=0.02)
    assert (long_run[:, 1] - long_run[:, 0]).sum() / total == pytest.approx(expected["Lq"], rel=0.02)
    assert 1.0 - share_of_time_with_one_down(long_run) == pytest.approx(expected["P0"], rel=0.02)
    # The textbook's "probability of waiting" is the share of time with every man busy; a machine that stops meets less.
    assert float((waited > 0).mean()) == pytest.approx(expected["met busy"], rel=0.02)
    assert abs(float((waited > 0).mean()) / expected["busy"] - 1.0) > 0.1


def share_of_time_with_one_down(stops):
    marks = np.concatenate([stops[:, 0], stops[:, 2]])
    change = np.concatenate([np.ones(len(stops)), -np.ones(len(stops))])
    order = np.argsort(marks, kind="stable")
    down = np.cumsum(change[order])[:-1] > 0
    spans = np.diff(marks[order])
    return float(spans[down].sum() / (marks.max() - 0.0))


LOADS = """
[ovens.dryer]
count = 2
trays = 2
tray_area_m2 = 0.5
bed_depth_mm = 10
cycle_h = 7
warm_up_min = 45.0
cooling = "in_oven"
cool_h = 6
least_load_pct = 0.0
[tasks]
gear_min = 0.0
load_min = 20.0
unload_min = 15.0
prepare_min = 0.001
"""
CYCLE_MIN = 20 + 45 + 7 * 60 + 6 * 60 + 15


def loads_of_ovens(arrivals_min: list[int]) -> tuple[list, object]:
    """Spent packets arrive, each a whole load; as many people as could be of use are always there."""
    site = queue_site.open_empty(LOADS)
    shelf = site.stockroom.shelves["small"]
    capacity_kg = 2 * 0.5 * 0.01 * 700.0
    queue_site.hire(site, 6)

    def bring():
        for minute in arrivals_min:
            yield site.env.timeout(minute - site.now_min)
            shelf.spent.append(Parcel("small", capacity_kg, 0.2 * capacity_kg, since_min=site.now_min))
            site.tell()

    site.env.process(bring())
    site.env.run(until=arrivals_min[-1] + len(arrivals_min) * CYCLE_MIN)
    return site.record.loads, site


def test_two_ovens_agree_with_a_queueing_library_on_every_load():
    # Poisson arrivals of whole loads to two ovens that take 860 min each: M/D/2 at 86 % of their capacity.
    rng = np.random.default_rng(5)
    gaps = np.maximum(np.rint(rng.exponential(500.0, 300)), 1).astype(int)
    arrivals = np.cumsum(gaps)
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Sequential([*gaps.tolist(), float("inf")])],
        service_distributions=[ciw.dists.Deterministic(CYCLE_MIN)],
        number_of_servers=[2],
    )
    library = ciw.Simulation(network)
    library.simulate_until_max_time(float(arrivals[-1] + 300 * CYCLE_MIN))
    theirs = sorted(library.get_all_records(), key=lambda record: record.arrival_date)

    loads, _ = loads_of_ovens(arrivals.tolist())

    # loaded_min is when the heating starts, 20 min after the oven was taken
    ours_begin = [load.loaded_min - 20 for load in loads]
    ours_end = [load.unloaded_min for load in loads]
    assert len(loads) == len(theirs) == 300
    assert ours_begin == [record.service_start_date for record in theirs]
    assert max(ours_end) == max(record.exit_date for record in theirs)
    waits = np.array(ours_begin) - arrivals
    assert waits.mean() == pytest.approx(np.mean([record.waiting_time for record in theirs]), rel=1e-12)
    assert waits.mean() > 200
    busy = 300 * CYCLE_MIN / (2 * max(ours_end))
    assert busy == pytest.approx(sum(record.service_time for record in theirs) / (2 * max(ours_end)), rel=1e-12)


def test_bulk_arrivals_for_two_people_agree_with_a_queueing_library():
    # A due list: batches of exchanges at once, two people, times that differ from one to the next.
    rng = np.random.default_rng(8)
    sizes = rng.integers(1, 9, 150)
    gaps = np.rint(rng.exponential(60.0, 150) * 1000).astype(int) + 1
    services = np.rint(rng.gamma(4.0, 2.5, int(sizes.sum())) * 1000).astype(int) + 1
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Sequential([*gaps.tolist(), float("inf")])],
        batching_distributions=[ciw.dists.Sequential([*sizes.tolist(), 1])],
        service_distributions=[ciw.dists.Sequential(services.tolist())],
        number_of_servers=[2],
    )
    library = ciw.Simulation(network)
    library.simulate_until_max_time(float(gaps.sum() + services.sum()))
    theirs = sorted(record.waiting_time for record in library.get_all_records())

    each = np.concatenate([[gap, *[0] * (size - 1)] for gap, size in zip(gaps, sizes, strict=True)])
    ours = queue_site.waits_of_exchanges(each, services, 2)

    assert sorted(ours.tolist()) == theirs
    assert max(theirs) > 0
