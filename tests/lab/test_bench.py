"""The bench: the same results for any number and sort of workers, whole or not at all, and never for ever."""

import os
import signal
import subprocess
import sys
import tempfile
import textwrap
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from handmade import small_scenario
from workers_work import dies_always, dies_once, first_is_slow, large, named, refuses, with_pid

from simstore.errors import SimstoreError
from simstore.lab import crew, processes
from simstore.lab.bench import Bench, Task
from simstore.lab.cache import Cache
from simstore.lab.harvest import METRICS
from simstore.lab.replicate import replicate
from simstore.plans.variant import Variant

TESTS = Path(__file__).parents[1]
STARTS = ["fork", "spawn", "forkserver"] if sys.platform == "linux" else ["spawn"]


@pytest.fixture(autouse=True)
def workers_can_import_the_tests(monkeypatch):
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(TESTS), os.environ.get("PYTHONPATH", "")]))


def metrics_of_three(scenario, **how):
    with Bench(scenario, **how) as bench:
        variants = {"as it is": Variant("quarterly"), "two": Variant("quarterly", (("ovens.small.count", 2),))}
        return repr(bench.run(variants, METRICS, range(3)))


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_results_come_in_the_order_of_the_items_for_any_number_of_workers(workers):
    with Bench(small_scenario(), workers=workers) as bench:
        assert list(bench.each(named, range(9))) == [(number, 7) for number in range(9)]


def test_what_is_simulated_is_the_same_for_one_two_and_four_workers(tiny):
    one = metrics_of_three(tiny)

    assert [metrics_of_three(tiny, workers=workers) for workers in (2, 4)] == [one, one]


def test_an_executor_from_outside_does_the_work_and_gets_the_scenario_only_when_it_asks(tiny, monkeypatch):
    sent = []
    submit = ThreadPoolExecutor.submit

    def watched(self, function, first, *rest):
        sent.append(len(first.packed))
        return submit(self, function, first, *rest)

    monkeypatch.setattr(ThreadPoolExecutor, "submit", watched)
    with ThreadPoolExecutor(1) as pool:
        assert metrics_of_three(tiny, executor=pool) == metrics_of_three(tiny)
    assert sent[0] == 0
    assert sum(size > 0 for size in sent) < len(sent)
    assert max(sent) > 0


def test_a_program_of_another_version_is_refused_before_it_computes(tiny, monkeypatch):
    other = crew.program()._replace(numpy="1.0", python="3.9")
    monkeypatch.setattr(crew, "program", lambda: other)
    with ThreadPoolExecutor(1) as pool, pytest.raises(SimstoreError, match=r"a worker has numpy .* where .* 1\.0 and"):
        metrics_of_three(tiny, executor=pool)


def test_several_workers_are_several_processes_and_one_is_this_one():
    with Bench(small_scenario(), workers=2) as bench:
        assert os.getpid() not in set(bench.each(with_pid, range(4)))
    assert set(Bench(small_scenario()).each(with_pid, range(2))) == {os.getpid()}


def test_one_thing_alone_needs_no_processes():
    with Bench(small_scenario(), workers=2) as bench:
        assert list(bench.each(with_pid, [1])) == [os.getpid()]


@pytest.mark.parametrize("workers", [1, 2])
def test_progress_counts_every_item_once(workers):
    seen = []
    with Bench(small_scenario(), workers=workers, progress=lambda done, total: seen.append((done, total))) as bench:
        list(bench.each(named, range(4)))

    assert seen == [(0, 4), (1, 4), (2, 4), (3, 4), (4, 4)]


def test_a_slow_item_holds_back_only_so_many_others(monkeypatch):
    monkeypatch.setattr(crew, "AHEAD", 2)
    with Bench(small_scenario(), workers=2) as bench:
        assert list(bench.each(first_is_slow, range(12))) == list(range(12))


@pytest.mark.parametrize("start", STARTS)
def test_however_processes_begin_nothing_is_missing_when_one_is_killed(tiny, tmp_path, start):
    simulations = [Task(Variant("quarterly"), number) for number in range(2)]
    with Bench(tiny, workers=2, start=start) as bench:
        assert list(bench.each(dies_once, [(str(tmp_path), number) for number in range(6)])) == list(range(6))
        simulated = list(bench.runs(simulations, METRICS))
        parts = list(bench.each(large, range(6)))

    starts = (tmp_path / "starts").read_text().splitlines()
    assert starts.count("1") == 2, "the killed item must have been done again"
    assert simulated == list(Bench(tiny).runs(simulations, METRICS))
    assert [(part[0], len(part)) for part in parts] == [(number, 300_000) for number in range(6)]


def test_workers_that_always_die_end_in_one_message():
    with (
        Bench(small_scenario(), workers=2) as bench,
        pytest.raises(SimstoreError, match=r"workers died 3 times \(0 is the first that is missing\).*--workers 1"),
    ):
        list(bench.each(dies_always, range(2)))


@pytest.mark.parametrize("workers", [1, 2])
def test_an_error_in_a_worker_reaches_the_caller_as_it_is(workers):
    with (
        Bench(small_scenario(), workers=workers) as bench,
        pytest.raises(SimstoreError, match=r"^quarterly cannot run$"),
    ):
        list(bench.each(refuses, ["quarterly", "quarterly"]))


def test_no_workers_are_refused():
    with pytest.raises(SimstoreError, match="workers must be 1 or more"):
        Bench(small_scenario(), workers=0)


@pytest.mark.parametrize(("threads", "expected"), [(["1"], "fork"), (["1", "2"], "spawn"), (None, "spawn")])
def test_workers_are_copies_only_of_a_process_with_one_thread(tmp_path, monkeypatch, threads, expected):
    for name in threads or []:
        (tmp_path / name).mkdir()
    monkeypatch.setattr(processes, "ONE_THREAD_ONLY", tmp_path if threads else tmp_path / "missing")

    assert processes.start_method() == expected


def test_a_simulation_that_is_kept_is_not_done_again_and_those_that_are_not_are(tiny, tmp_path):
    cache = Cache(tmp_path / "kept.sqlite")
    tasks = [Task(Variant("quarterly"), number) for number in (0, 1, 0)]
    seen = []
    with Bench(tiny, cache=cache, progress=lambda done, total: seen.append((done, total))) as bench:
        first = list(bench.runs(tasks[:1], METRICS))
        again = list(bench.runs(tasks, METRICS))
    cache.close()

    assert again[0] == again[2] == first[0]
    assert again[1] != first[0]
    assert seen == [(0, 1), (1, 1), (2, 3), (3, 3)]


def test_what_is_done_is_kept_when_the_rest_is_not(tiny, tmp_path):
    cache = Cache(tmp_path / "kept.sqlite")
    with Bench(tiny, cache=cache) as bench:
        for _ in bench.runs([Task(Variant("quarterly"), number) for number in range(5)], METRICS):
            break
        rest = []
        bench._report = lambda done, total: rest.append((done, total))
        list(bench.runs([Task(Variant("quarterly"), number) for number in range(2)], METRICS))
    cache.close()

    assert rest == [(1, 2), (2, 2)]


def test_records_are_ordered_by_plan_and_replication_and_each_plan_runs_once(tiny):
    records = replicate(tiny, ["two_ovens", "quarterly", "two_ovens"], 2)

    assert [(record.plan, record.replication) for record in records] == [
        ("quarterly", 0), ("quarterly", 1), ("two_ovens", 0), ("two_ovens", 1),
    ]  # fmt: skip
    again = replicate(tiny, ["quarterly"], 1)[0]
    assert again.exchanges == records[0].exchanges
    assert np.array_equal(again.enclosures.day_mean_rh_pct, records[0].enclosures.day_mean_rh_pct, equal_nan=True)


def test_an_unknown_plan_is_refused_with_the_known_ones():
    with pytest.raises(SimstoreError, match="plan 'weekly': no such plan in the scenario; it has quarterly, yearly"):
        replicate(small_scenario(), ["weekly"], 1)


def test_no_replications_are_refused():
    with pytest.raises(SimstoreError, match="must be 1 or more"):
        replicate(small_scenario(), ["yearly"], 0)


SLOW = textwrap.dedent(
    r"""
    import os, signal, sys, time
    from handmade import small_scenario
    from simstore.lab.bench import Bench

    signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job starts with it ignored

    def slow(place, item):
        os.write(1, f"pid {os.getpid()}\n".encode())  # in one piece, whoever else writes
        time.sleep(30)

    if __name__ == "__main__":
        try:
            with Bench(small_scenario(), workers=2, start=sys.argv[1]) as bench:
                list(bench.each(slow, range(40)))
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


@pytest.mark.parametrize(
    ("start", "sent", "code"),
    [
        ("fork", signal.SIGINT, 130),
        ("forkserver", signal.SIGINT, 130),
        ("fork", signal.SIGKILL, -signal.SIGKILL),
        ("spawn", signal.SIGKILL, -signal.SIGKILL),
    ],
)
def test_workers_end_with_their_parent_in_the_middle_of_their_work(tmp_path, start, sent, code):
    script = tmp_path / "slow.py"
    script.write_text(SLOW)
    arguments = [sys.executable, str(script), start]
    with tempfile.TemporaryDirectory(
        prefix="s"
    ) as short:  # the address of a socket has some hundred characters at most
        places = {**os.environ, "TMPDIR": short}
        with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, env=places) as child:
            try:
                pids = {int(child.stdout.readline().split()[1]) for _ in range(2)}
                child.send_signal(sent)
                child.wait(timeout=15)
            finally:
                child.kill()

        assert child.returncode == code
        assert all(gone(pid, 10) for pid in pids)
        assert list(Path(short).glob("simstore-*")) == [], "nothing may be left lying about"


WITHOUT_GUARD = textwrap.dedent(
    """
    import os, sys, threading
    from dataclasses import replace
    from handmade import small_scenario
    from workers_work import named
    from simstore.errors import SimstoreError
    from simstore.lab.bench import Bench

    threading.Thread(target=threading.Event().wait).start()  # so that no process may be a copy of this one
    scenario = small_scenario()
    scenario = replace(scenario, enclosures=scenario.enclosures * 5000)  # far more than a pipe holds
    try:
        with Bench(scenario, workers=2, start=sys.argv[1] if len(sys.argv) > 1 else None) as bench:
            list(bench.each(named, range(4)))
    except SimstoreError as error:
        print(error, flush=True)
        os._exit(1)
    """
)


@pytest.mark.parametrize("start", [[], ["forkserver"]] if sys.platform == "linux" else [[]], ids=str)
def test_a_script_with_threads_and_without_a_main_guard_gets_an_error_in_seconds_and_does_not_hang(tmp_path, start):
    # as it was: the scenario went down a pipe that nobody read, since each worker had died of reading the script
    script = tmp_path / "script.py"
    script.write_text(WITHOUT_GUARD)
    ran = subprocess.run([sys.executable, str(script), *start], capture_output=True, text=True, timeout=60)

    assert ran.returncode == 1
    assert "worker processes ended before they began" in ran.stdout
    assert "if __name__ ==" in ran.stdout


def test_the_worker_does_not_load_pandas_scipy_or_matplotlib():
    code = "import sys, simstore.lab.bench; print(*(m for m in ('pandas', 'scipy', 'matplotlib', 'typer') if m in sys.modules))"

    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()

    assert found == []
