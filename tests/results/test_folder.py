"""Result folders: whole or not at all, the same bytes for the same run, and never somebody else's."""

import hashlib
import json
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pandas as pd
import pytest
from handmade import small_record, small_scenario

from simstore.errors import SimstoreError
from simstore.results import staging
from simstore.results.columns import run_columns
from simstore.results.csv_text import FORMULA_SIGNS, csv_text, read_table, write_csv
from simstore.results.folder import file_parts, write_results
from simstore.results.manifest import MANIFEST
from simstore.results.staging import staged_folder, sweep
from simstore.results.summary import summary_of
from simstore.results.table_columns import TABLES
from simstore.results.tables import frames

DEAD_PID = 2**22 + 1  # above the largest process number of Linux


def write(out: Path, *, replications: int = 2, **options) -> dict[str, pd.DataFrame]:
    scenario = small_scenario()
    runs = [run_columns(small_record(replication=number)) for number in range(replications)]
    tables = frames(runs)
    write_results(out, scenario, tables, summary_of(runs), replications=replications, **options)
    return tables


def content(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_the_same_run_writes_the_same_bytes(tmp_path):
    write(tmp_path / "one")
    write(tmp_path / "two")

    assert content(tmp_path / "one") == content(tmp_path / "two")


def test_a_folder_holds_every_table_the_summary_and_the_manifest_and_nothing_is_left_beside_it(tmp_path):
    write(tmp_path / "out")

    assert set(content(tmp_path / "out")) == {f"{name}.csv" for name in TABLES} | {"summary.json", MANIFEST}
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_the_manifest_names_every_file_with_its_hash(tmp_path):
    write(tmp_path / "out")
    found = content(tmp_path / "out")
    manifest = json.loads(found.pop(MANIFEST))

    assert manifest["written"] == {name: hashlib.sha256(data).hexdigest() for name, data in found.items()}
    assert manifest["seed"] == 7
    assert manifest["versions"]["python"] == ".".join(map(str, sys.version_info[:3]))


def test_summary_json_has_the_promised_shape(tmp_path):
    write(tmp_path / "out", replications=1)
    summary = json.loads((tmp_path / "out" / "summary.json").read_text())

    assert list(summary) == ["scenario", "seed", "replications", "plans"]
    assert (summary["scenario"], summary["seed"], summary["replications"]) == ("made by hand", 7, 1)
    held = summary["plans"]["quarterly"]["held_pct.iron"]
    assert held == {"unit": "%", "mean": 81.25, "low": None, "high": None}


def test_a_share_gets_the_exact_interval_and_a_mean_the_t_interval(tmp_path):
    write(tmp_path / "out", replications=20)
    metrics = json.loads((tmp_path / "out" / "summary.json").read_text())["plans"]["quarterly"]

    # None of 20: the upper bound solves (1 - p)^20 = 2.5 %.
    assert metrics["years_met"]["high"] == pytest.approx(1 - 0.025 ** (1 / 20), rel=1e-9)
    assert metrics["held_pct.iron"] == {"unit": "%", "mean": 81.25, "low": 81.25, "high": 81.25}


def test_tables_read_back_as_they_were(tmp_path):
    tables = write(tmp_path / "out")

    for name, table in tables.items():
        pd.testing.assert_frame_equal(read_table(tmp_path / "out" / f"{name}.csv"), table, rtol=1e-9, obj=name)


@pytest.mark.parametrize("sign", [*FORMULA_SIGNS, "'"])
def test_text_that_a_spreadsheet_takes_for_a_formula_is_disarmed_and_comes_back(tmp_path, sign):
    table = frames([])["undone"].copy()
    table.loc[0] = ["p", 0, "exchange", f"{sign}1+1", 5]
    table = table.astype({column.name: column.dtype for column in TABLES["undone"]})

    write_csv(table, tmp_path / "undone.csv")

    assert f"'{sign}1+1" in (tmp_path / "undone.csv").read_bytes().decode()
    assert read_table(tmp_path / "undone.csv")["subject"].tolist() == [f"{sign}1+1"]


def test_csv_agrees_with_the_writer_of_a_general_library():
    runs = [run_columns(small_record(replication=number)) for number in range(2)]
    tables = frames(runs)
    tables["undone"]["subject"] = ['a "quoted", cell', "two\nlines"]

    for name, table in tables.items():
        # Source: pandas.DataFrame.to_csv, a general reference library.
        assert csv_text(table) == table.to_csv(index=False, float_format="%.10g", lineterminator="\n"), name


def test_a_carriage_return_in_a_name_does_not_break_the_line(tmp_path):
    table = frames([])["undone"].copy()
    table.loc[0] = ["p", 0, "exchange", "a\rb", 5]
    table = table.astype({column.name: column.dtype for column in TABLES["undone"]})

    write_csv(table, tmp_path / "undone.csv")

    assert (tmp_path / "undone.csv").read_bytes().splitlines()[1] == b"p,0,exchange,a b,5"


def test_numbers_are_written_to_ten_digits_and_negative_ones_stay_numbers(tmp_path):
    table = frames([])["summary"].copy()
    table.loc[0] = ["p", 0, "m", "1", -2 / 3]

    write_csv(table, tmp_path / "summary.csv")

    assert (tmp_path / "summary.csv").read_text().splitlines()[1] == "p,0,m,1,-0.6666666667"


def test_a_second_run_replaces_the_first(tmp_path):
    write(tmp_path / "out", replications=1)
    write(tmp_path / "out", replications=3)

    assert json.loads((tmp_path / "out" / "summary.json").read_text())["replications"] == 3
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_an_empty_folder_is_taken(tmp_path):
    (tmp_path / "out").mkdir()
    write(tmp_path / "out")

    assert (tmp_path / "out" / MANIFEST).exists()


def test_extras_are_written_into_the_same_folder_and_named_in_the_manifest(tmp_path):
    write(tmp_path / "out", extras=lambda folder: (folder / "page.html").write_text("<p>"))

    assert "page.html" in json.loads((tmp_path / "out" / MANIFEST).read_text())["written"]


@pytest.mark.parametrize(
    "manifest", [None, "{}", "[]", "not json", '{"format": "another", "written": {"notes.txt": ""}}']
)
def test_a_folder_that_simstore_did_not_write_is_refused_and_left_alone(tmp_path, manifest):
    out = tmp_path / "out"
    out.mkdir()
    (out / "notes.txt").write_text("mine")
    if manifest is not None:
        (out / MANIFEST).write_text(manifest)
    before = content(out)

    with pytest.raises(SimstoreError, match=r"holds files that simstore did not write \(.*notes\.txt\)"):
        write(out)

    assert content(out) == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_note_laid_into_a_result_folder_is_not_thrown_away(tmp_path):
    write(tmp_path / "out")
    (tmp_path / "out" / "notes.txt").write_text("mine")

    with pytest.raises(SimstoreError, match=r"\(notes\.txt\)"):
        write(tmp_path / "out")

    assert (tmp_path / "out" / "notes.txt").read_text() == "mine"


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "out").write_text("mine")

    with pytest.raises(SimstoreError, match="is a file, not a folder"):
        write(tmp_path / "out")


def test_a_place_that_cannot_be_written_is_said_in_one_message(tmp_path):
    (tmp_path / "file").write_text("")

    with pytest.raises(SimstoreError, match=r"cannot be written: (Not a directory|File exists)"):
        write(tmp_path / "file" / "out")


def test_an_error_while_writing_leaves_the_old_result_and_nothing_else(tmp_path):
    write(tmp_path / "out")
    before = content(tmp_path / "out")

    def fail(folder: Path) -> None:
        raise OSError(28, "No space left on device")

    with pytest.raises(SimstoreError, match="cannot be written: No space left on device"):
        write(tmp_path / "out", extras=fail)

    assert content(tmp_path / "out") == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_where_folders_cannot_be_exchanged_they_are_moved(tmp_path, monkeypatch):
    write(tmp_path / "out", replications=1)
    monkeypatch.setattr(staging, "_exchange", lambda _one, _other: False)
    write(tmp_path / "out", replications=3)

    assert json.loads((tmp_path / "out" / "summary.json").read_text())["replications"] == 3
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_exchange_is_not_tried_on_systems_without_it(tmp_path, monkeypatch):
    monkeypatch.setattr(staging.sys, "platform", "darwin")

    assert not staging._exchange(tmp_path, tmp_path)


def test_an_old_result_that_a_dead_process_moved_aside_comes_back(tmp_path):
    write(tmp_path / "out")
    before = content(tmp_path / "out")
    (tmp_path / "out").rename(tmp_path / f".out.{staging.HOST}-{DEAD_PID}.old")

    sweep(tmp_path / "out")

    assert content(tmp_path / "out") == before


def test_only_what_dead_processes_of_this_machine_left_is_swept(tmp_path):
    names = {
        "dead": f".out.{staging.HOST}-{DEAD_PID}.partial",
        "alive": f".out.{staging.HOST}-1.partial",
        "elsewhere": f".out.00000000-{DEAD_PID}.partial",
        "another": f".other.{staging.HOST}-{DEAD_PID}.partial",
    }
    for name in names.values():
        (tmp_path / name).mkdir()

    sweep(tmp_path / "out")

    assert {path.name for path in tmp_path.iterdir()} == {names["alive"], names["elsewhere"], names["another"]}


def test_parquet_without_its_library_is_refused_with_the_cure(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)

    with pytest.raises(SimstoreError, match=r"install simstore\[parquet\]"):
        write(tmp_path / "out", parquet=True)

    assert not (tmp_path / "out").exists()


def test_parquet_reads_back_as_it_was(tmp_path):
    pytest.importorskip("pyarrow")
    tables = write(tmp_path / "out", parquet=True)

    for name, table in tables.items():
        pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "out" / f"{name}.parquet"), table, obj=name)


WRITER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    sys.path.insert(0, sys.argv[2])
    from handmade import small_record, small_scenario
    from simstore.results.columns import run_columns
    from simstore.results.folder import write_results
    from simstore.results.summary import summary_of
    from simstore.results.tables import frames
    scenario = small_scenario()
    both = []
    for count in (1, 2):
        runs = [run_columns(small_record(replication=number)) for number in range(count)]
        both.append((frames(runs), summary_of(runs), count))
    print("ready", flush=True)
    while True:
        for tables, summary, count in both:
            write_results(Path(sys.argv[1]), scenario, tables, summary, replications=count)
    """
)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="exchanges folders in one step on Linux only")
def test_a_process_killed_while_writing_leaves_one_whole_result(tmp_path):
    write(tmp_path / "expected1", replications=1)
    write(tmp_path / "expected2", replications=2)
    whole = [content(tmp_path / "expected1"), content(tmp_path / "expected2")]
    place = tmp_path / "place"
    out = place / "out"
    partial_seen = 0
    for number in range(6):
        arguments = [sys.executable, "-c", WRITER, str(out), str(Path(__file__).parents[1])]
        with subprocess.Popen(arguments, stdout=subprocess.PIPE) as child:
            try:
                assert child.stdout.readline() == b"ready\n"
                deadline = time.monotonic() + 20
                while not out.exists() and time.monotonic() < deadline:
                    time.sleep(0.005)
                time.sleep(0.017 * number)
            finally:
                child.send_signal(signal.SIGKILL)
        partial_seen += sum(path.name.endswith(".partial") for path in place.iterdir())

        assert content(out) in whole
    write(out, replications=1)

    assert partial_seen > 0, "no kill hit a write: the test proved nothing"
    assert [path.name for path in place.iterdir()] == ["out"]


def test_staged_folder_without_error_needs_nothing_there_before(tmp_path):
    with staged_folder(tmp_path / "a" / "b") as stage:
        (stage / MANIFEST).write_text("{}")

    assert (tmp_path / "a" / "b" / MANIFEST).read_text() == "{}"


def test_names_that_look_alike_are_files_of_their_own():
    names = ["a b", "a_b", "A/b", "when due", "two-ovens"]
    parts = file_parts(names)
    assert len({part.casefold() for part in parts.values()}) == len(names)
    assert (parts["when due"], parts["two-ovens"]) == ("when_due", "two-ovens")
    assert all(part.startswith(("a_b-", "A_b-")) for part in list(parts.values())[:3])
