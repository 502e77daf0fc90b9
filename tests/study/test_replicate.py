"""Replications: the same for any number of workers, whole or not at all, and safe against dying workers."""

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import numpy as np
import pytest
from handmade import small_record, small_scenario
from workers_work import dies_always, dies_once, named, refuses, with_pid

from simstore.errors import SimstoreError
from simstore.lab import replicate as module
from simstore.lab.replicate import replicate_with
from simstore.scenario.reading.load import load_scenario

PLANS = ["yearly", "quarterly"]


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_results_are_ordered_by_plan_and_replication_for_any_number_of_workers(workers):
    found = replicate_with(named, small_scenario(), PLANS, 3, workers)

    assert found == [(plan, number, 7) for plan in sorted(PLANS) for number in range(3)]


def test_several_workers_are_several_processes_and_one_is_this_one():
    apart = replicate_with(with_pid, small_scenario(), PLANS, 4, 2)

    assert os.getpid() not in apart
    assert set(replicate_with(with_pid, small_scenario(), PLANS, 2, 1)) == {os.getpid()}


@pytest.mark.parametrize("workers", [1, 2])
def test_progress_counts_every_replication_once(workers):
    seen = []

    replicate_with(named, small_scenario(), PLANS, 2, workers, lambda done, total: seen.append((done, total)))

    assert seen == [(0, 4), (1, 4), (2, 4), (3, 4), (4, 4)]


def test_a_killed_worker_is_replaced_and_nothing_is_missing(tmp_path, monkeypatch):
    monkeypatch.setenv("SIMSTORE_TEST_MARK", str(tmp_path / "mark"))

    found = replicate_with(dies_once, small_scenario(), ["quarterly"], 6, 2)

    assert found == [("quarterly", number) for number in range(6)]
    starts = (tmp_path / "starts").read_text().splitlines()
    assert starts.count("quarterly 1") == 2, "the killed replication must have run again"


def test_workers_that_always_die_end_in_one_message():
    with pytest.raises(SimstoreError, match=r"worker processes died 3 times .*--workers 1"):
        replicate_with(dies_always, small_scenario(), ["quarterly"], 2, 2)


@pytest.mark.parametrize("workers", [1, 2])
def test_an_error_in_a_worker_reaches_the_caller_as_it_is(workers):
    with pytest.raises(SimstoreError, match=r"^quarterly cannot run$"):
        replicate_with(refuses, small_scenario(), ["quarterly"], 2, workers)


def test_an_unknown_plan_is_refused_with_the_known_ones():
    with pytest.raises(SimstoreError, match="plan 'weekly': no such plan in the scenario; it has quarterly, yearly"):
        replicate_with(named, small_scenario(), ["weekly"], 1)


@pytest.mark.parametrize(("replications", "workers"), [(0, 1), (1, 0)])
def test_no_replications_or_no_workers_are_refused(replications, workers):
    with pytest.raises(SimstoreError, match="must be 1 or more"):
        replicate_with(named, small_scenario(), PLANS, replications, workers)


def test_a_plan_named_twice_runs_once():
    assert len(replicate_with(named, small_scenario(), ["yearly", "yearly"], 2)) == 2


def test_a_worker_leaves_interrupts_to_its_parent(monkeypatch):
    kept = signal.getsignal(signal.SIGINT)
    try:
        module._begin_worker(named, small_scenario())

        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
        assert module._do(module.Task("yearly", 4)) == ("yearly", 4, 7)
    finally:
        signal.signal(signal.SIGINT, kept)
        module._mine.clear()


@pytest.mark.parametrize(("threads", "expected"), [(["1"], "fork"), (["1", "2"], "spawn"), (None, "spawn")])
def test_workers_are_copies_only_of_a_process_with_one_thread(tmp_path, monkeypatch, threads, expected):
    for name in threads or []:
        (tmp_path / name).mkdir()
    monkeypatch.setattr(module, "ONE_THREAD_ONLY", tmp_path if threads else tmp_path / "missing")

    assert module.start_method() == expected


def test_columns_are_made_where_the_simulation_ran(monkeypatch):
    monkeypatch.setattr(module, "_simulated", lambda scenario, plan, number: small_record(plan, number))
    found = module.replicate_columns(small_scenario(), ["quarterly"], 2)

    assert [(run.plan, run.replication) for run in found] == [("quarterly", 0), ("quarterly", 1)]
    assert len(found[0].tables["enclosures"]["enclosure"]) == 3


def test_a_real_simulation_gives_the_same_record_twice():
    scenario = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
    one, two = (module.replicate(scenario, ["quarterly"], 1)[0] for _ in range(2))

    assert one.exchanges == two.exchanges
    assert np.array_equal(one.enclosures.day_mean_rh_pct, two.enclosures.day_mean_rh_pct, equal_nan=True)


SLOW = textwrap.dedent(
    """
    import os, signal, sys, time
    sys.path.insert(0, sys.argv[1])
    from handmade import small_scenario
    from simstore.lab.replicate import replicate_with

    signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job starts with it ignored

    def slow(scenario, plan, replication):
        print("pid", os.getpid(), flush=True)
        time.sleep(0.5)

    if __name__ == "__main__":
        try:
            replicate_with(slow, small_scenario(), ["quarterly"], 40, 2)
        except KeyboardInterrupt:
            print("stopped", flush=True)
            raise SystemExit(130)
    """
)


def gone(pid: int, within_s: float) -> bool:
    deadline = time.monotonic() + within_s
    while time.monotonic() < deadline:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        if Path(f"/proc/{pid}/stat").exists() and ") Z " in Path(f"/proc/{pid}/stat").read_text():
            return True
        time.sleep(0.05)
    return False


@pytest.mark.parametrize(("sent", "code"), [(signal.SIGINT, 130), (signal.SIGKILL, -signal.SIGKILL)])
def test_workers_end_with_their_parent(tmp_path, sent, code):
    script = tmp_path / "slow.py"
    script.write_text(SLOW)
    arguments = [sys.executable, str(script), str(Path(__file__).parents[1])]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True) as child:
        try:
            pids = {int(child.stdout.readline().split()[1]) for _ in range(2)}
            child.send_signal(sent)
            rest = child.stdout.read() if sent == signal.SIGINT else ""
            child.wait(timeout=30)
        finally:
            child.kill()

    assert child.returncode == code
    assert rest.count("pid") < 10, "the rest of the 40 replications must be dropped"
    assert all(gone(pid, 10) for pid in pids)


def test_the_worker_does_not_load_pandas_scipy_or_matplotlib():
    code = "import sys, simstore.lab.replicate; print(*(m for m in ('pandas', 'scipy', 'matplotlib', 'typer') if m in sys.modules))"

    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()

    assert found == []


def test_records_come_through_the_simulation_for_one_and_two_workers(monkeypatch):
    record = small_record()
    monkeypatch.setattr(module, "_simulated", lambda scenario, plan, replication: record)

    assert module.replicate(small_scenario(), ["quarterly"], 1) == [record]
