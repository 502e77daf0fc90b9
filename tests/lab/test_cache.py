"""Finished simulations on disk: found again only for what they follow from, and never lost or taken for others."""

import os
import signal
import sqlite3
import subprocess
import sys
import textwrap
from dataclasses import replace

import pytest

from simstore.errors import SimstoreError
from simstore.lab.bench import Bench, Task
from simstore.lab.cache import INSIDE, Cache, key_of, open_cache
from simstore.lab.fingerprint import fingerprint
from simstore.lab.harvest import METRICS
from simstore.plans.candidates import Candidate
from simstore.plans.variant import Variant


def test_what_was_kept_is_found_by_whoever_opens_the_file_next(tmp_path):
    with open_cache(tmp_path / "new" / "x.sqlite") as cache:
        cache.keep(b"one", b"\0kept")
    with open_cache(tmp_path / "new" / "x.sqlite") as cache:
        assert cache.find(b"one") == b"\0kept"
        assert cache.find(b"two") is None
        assert cache.known([b"two", b"one"]) == {b"one"}
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["x.sqlite"], "one file, when nobody has it open"


def test_any_number_of_keys_is_looked_up(tmp_path):
    with open_cache(tmp_path / "x.sqlite") as cache:
        cache.keep(b"1499", b"")
        assert cache.known([str(number).encode() for number in range(1500)]) == {b"1499"}


def test_a_folder_gets_the_file_inside(tmp_path):
    Cache(tmp_path).close()

    assert (tmp_path / INSIDE).exists()


def test_a_cache_that_need_not_stay_goes_when_all_went_well_and_stays_otherwise(tmp_path):
    with pytest.raises(KeyboardInterrupt), open_cache(tmp_path / "x.sqlite", stays=False):
        raise KeyboardInterrupt
    assert (tmp_path / "x.sqlite").exists()
    with open_cache(tmp_path / "x.sqlite", stays=False):
        pass
    assert list(tmp_path.iterdir()) == []


def foreign_text(path):
    path.write_text("not a database, " * 100)


def foreign_database(path):
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE letters (a TEXT)")
    other.close()


def cut_short(path):
    cache = Cache(path)
    for number in range(2000):
        cache.keep(str(number).encode(), b"x" * 100)
    cache.close()
    path.write_bytes(path.read_bytes()[:20_000])


@pytest.mark.parametrize("spoilt", [foreign_text, foreign_database, cut_short])
def test_a_file_that_is_foreign_or_damaged_is_refused_in_one_message_and_left_as_it_is(tmp_path, spoilt):
    path = tmp_path / "x.sqlite"
    spoilt(path)
    before = path.read_bytes()

    with pytest.raises(SimstoreError, match=r"x\.sqlite: .*remove the file if it is damaged, or name another .*--keep"):
        Cache(path).known([str(number).encode() for number in range(2000)])

    assert path.read_bytes() == before


def test_a_place_that_cannot_be_written_is_refused(tmp_path):
    (tmp_path / "file").write_text("")

    with pytest.raises(SimstoreError, match=r"cannot be kept here"):
        Cache(tmp_path / "file" / "x.sqlite")


def test_an_entry_that_is_not_what_was_written_is_said_to_be(tiny, tmp_path):
    task = Task(Variant("quarterly"), 0)
    with open_cache(tmp_path / "x.sqlite") as cache, Bench(tiny, cache=cache) as bench:
        cache.keep(bench._key_of(task, METRICS), b"[[1")
        with pytest.raises(SimstoreError, match="an entry is not what simstore wrote"):
            list(bench.runs([task], METRICS))


def key(scenario, variant, replication=0, harvest="metrics"):
    return key_of(fingerprint(variant.scenario_of(scenario)), replication, harvest)


def test_a_simulation_is_known_by_what_it_follows_from_and_by_nothing_else(tiny):
    as_it_is = key(tiny, Variant("quarterly"))
    other_plan = tiny.with_changes({"plans.two_ovens.cadence_weeks": 3})

    assert key(other_plan, Variant("quarterly")) == as_it_is, "what another plan says is nothing to this one"
    assert key(tiny, Variant("quarterly", (("seed", tiny.settings.seed),))) == as_it_is
    assert key(tiny, Candidate("quarterly")) == as_it_is, "it is the same plan, whoever asks"
    different = [
        key(tiny, Variant("two_ovens")),
        key(tiny, Variant("quarterly", (("seed", 99),))),
        key(tiny, Candidate("quarterly", (("ovens.small.count", 2),))),
        key(tiny, Variant("quarterly"), replication=1),
        key(tiny, Variant("quarterly"), harvest="stress"),
        key(replace(tiny, enclosures=tiny.enclosures[1:]), Variant("quarterly")),
    ]
    assert len({as_it_is, *different}) == 1 + len(different)


WRITES = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from simstore.lab.cache import Cache
    cache = Cache(Path(sys.argv[1]))
    for number in range(100_000):
        cache.keep(str(number).encode(), b"x" * 1000)
        if number == 200:
            print("going on", flush=True)
    """
)


def test_a_process_that_is_killed_while_it_writes_loses_nothing_that_it_had_kept(tmp_path):
    with subprocess.Popen([sys.executable, "-c", WRITES, tmp_path / "x"], stdout=subprocess.PIPE) as child:
        child.stdout.readline()
        os.kill(child.pid, signal.SIGKILL)
        child.wait()

    with open_cache(tmp_path / "x") as cache:
        kept = [str(number).encode() for number in range(201)]
        assert cache.known(kept) == set(kept)
        assert all(cache.find(each) == b"x" * 1000 for each in kept)
