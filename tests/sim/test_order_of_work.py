"""Which of several pieces of work is done first."""

import pytest
from sim import everything_waits
from sim.everything_waits import SESSION_MIN

from simstore.sim.line_up import SOURCES


def test_everything_that_waits_is_offered_and_left_undone_if_nobody_does_it():
    site, _ = everything_waits.standing()
    undone = {row.task for source in site.sources.values() for row in source.undone()}
    tasks = {source.task for source in SOURCES if source.task}

    assert set(everything_waits.offered()) == tasks
    assert undone == tasks - {"load", "prepare"}, "spent and dried packets are stock, not work left undone"


def test_nothing_is_offered_that_would_last_beyond_the_session():
    _, worker = everything_waits.standing()
    longest = max(job.minutes for _, job in worker.jobs())
    worker.ends_min -= SESSION_MIN - (longest - 1)

    assert 0 < max(job.minutes for _, job in worker.jobs()) < longest


def test_gel_is_not_handled_beyond_the_limit_of_a_day_but_other_work_goes_on():
    site, worker = everything_waits.standing()
    worker.handled_min[site.now_min // 1440] = 24 * 60

    assert [source.task for source, _ in worker.jobs()] == ["receive", "visit", "inspect"]


@pytest.mark.parametrize("kind", [source for source in SOURCES if source.task], ids=lambda kind: kind.__name__)
def test_work_that_is_offered_takes_its_minutes_and_then_waits_less(kind):
    site, worker = everything_waits.standing()
    source, job = next((source, job) for source, job in worker.jobs() if type(source) is kind)
    before = sum(1 for row in source.undone())
    began = site.now_min

    site.env.run(until=site.env.process(job.work))

    assert site.now_min - began == job.minutes
    assert sum(1 for row in source.undone()) <= before
