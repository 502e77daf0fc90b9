"""A store in which every kind of work waits, and what is offered there to somebody who comes."""

from __future__ import annotations

from datetime import timedelta

from features import little_store as shop

from simstore.scenario.scenario import Scenario
from simstore.sim.line_up import line_up
from simstore.sim.opening import open_site
from simstore.sim.oven_loads import Unloading
from simstore.sim.packets import Parcel
from simstore.sim.replacing import Replacing
from simstore.sim.site import Site
from simstore.sim.staff import Worker

WEEKS = 4
SESSION_MIN = 480


def scenario() -> Scenario:
    """Readers, broken boxes, new finds, a campaign, deliveries, rounds and a mountain of spent packets."""
    box = shop.BASE["kinds"]["box"]
    arrival = {"arrives": shop.START + timedelta(days=3), "kind": "box", "metal": "iron", "count": 2}
    return shop.store(
        *(shop.row(f"A{n:02d}") for n in range(9)),
        kinds={"box": box | {"failures_per_year": 50.0}, "better": box | {"label": "better box"}},
        visits=({"metal": "iron", "visits_per_year": 500.0},),
        arrivals=(arrival,),
        rehousing=({"starts": shop.START + timedelta(days=7), "replace": {"box": "better"}},),
        ovens={"o": shop.OVEN | {"count": 2}},
        stock={"p": {"ready": 5, "spent": 200, "reorder_point": 1000, "order_quantity": 10, "lead_days": 1.0}},
    )


def standing() -> tuple[Site, Worker]:
    """Let some weeks pass without anybody, then fill an oven, dry a packet and let the broken boxes be noticed."""
    site = open_site(scenario(), "read", 0)
    sources = line_up(site)
    for source in sources:
        for process in source.processes():
            site.env.process(process)
    oven, ends_min = site.source(Unloading).units[0], WEEKS * 7 * shop.DAY + 600
    site.env.run(until=ends_min - 2 * shop.DAY)
    oven.fill("anna", oven.choose()[0])
    site.env.process(oven.bake())
    site.env.run(until=ends_min)
    site.stockroom.shelves["p"].lay_dried(Parcel("p", 0.25, 0.005))
    for i in range(len(site.rows)):
        site.source(Replacing).notice(i)
    (person,) = site.settings.technicians.values()
    return site, Worker(site, "anna", person, [], sources, ends_min=site.now_min + SESSION_MIN)


def offered() -> list[str]:
    """Tasks as they are offered to somebody who comes now, most urgent first."""
    _, worker = standing()
    tasks = [source.task for source, _ in worker.jobs()]
    return [task for place, task in enumerate(tasks) if tasks[place - 1 : place] != [task]]
