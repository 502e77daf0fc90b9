"""A sheet that comes back: register, stock, weighings and the day are what the rota expected; nothing is taken twice."""

import csv
import io
from datetime import date, timedelta
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from simstore.cli.app import app
from simstore.errors import SimstoreError
from simstore.scenario.adopting.adopt import adopted
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.reading.measurements import read_measurements
from simstore.scenario.returning.returned import returned, write_returned
from simstore.sim.run import simulate
from simstore.study.rota.expected import expected
from simstore.study.rota.tables import tables_of
from simstore.study.rota.work import rota_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture
def store(tmp_path):
    return copied("tiny", tmp_path)


def copied(name, tmp_path):
    folder = tmp_path / name
    folder.mkdir()
    for file in ("scenario.toml", "register.csv"):
        (folder / file).write_bytes((SCENARIOS / name / file).read_bytes())
    return folder


def sheet_of(folder, plan, weeks):
    scenario = load_scenario(folder)
    return tables_of(rota_of(scenario, plan, first=scenario.settings.start, weeks=weeks))["sheet"]


def filled(sheet, path, *, but=(), grams=None):
    """Fill a sheet in: everything done on its day, but for some enclosures."""
    done = sheet.assign(
        done=["" if row.subject in but else "x" for row in sheet.itertuples()],
        out_g=[f"{grams:g}" if grams and row.work == "exchange" else "" for row in sheet.itertuples()],
    )
    done.to_csv(path, index=False)
    return path


def take_in(folder, sheet):
    found = returned(folder, sheet)
    write_returned(found, folder)
    return found


@pytest.mark.parametrize(("name", "plan"), [("tiny", "by_metal"), ("river_depot", "calendar")])
def test_twelve_weeks_done_as_planned_leave_the_register_that_the_simulator_has(name, plan, tmp_path):
    folder = copied(name, tmp_path)
    before = load_scenario(folder)
    record = simulate(expected(before, plan, first=before.settings.start, days=84), plan)
    take_in(folder, filled(sheet_of(folder, plan, 12), tmp_path / "sheet.csv"))
    after = load_scenario(folder)

    last = {}
    for change in record.exchanges:
        last[record.enclosures.id[change.enclosure]] = before.settings.start + timedelta(days=change.minute // 1440)
    assert last
    for old, new in zip(before.enclosures, after.enclosures, strict=True):
        assert new.last_regenerated == last.get(old.id, old.last_regenerated)
        assert (new.id, new.kind, new.metal, new.place) == (old.id, old.kind, old.metal, old.place)
    for sort, stock in after.settings.stock.items():
        day = [each for each in record.stock if each.packet == sort][-1]
        # what the simulator has thrown away at the end of its life is still counted by the sheet
        assert stock.ready + stock.spent == day.ready + day.spent + day.in_oven + day.discarded


def test_week_by_week_no_packet_is_lost_and_days_only_go_on(store, tmp_path):
    def packets(scenario):
        return sum(stock.ready + stock.spent for stock in scenario.settings.stock.values())

    at_first = load_scenario(store)
    today = at_first.settings.start
    bought = 0
    for week in range(12):
        sheet = sheet_of(store, "by_metal", 1)
        bought += int(sheet.loc[sheet["work"] == "delivery", "packets"].sum())
        take_in(store, filled(sheet, tmp_path / f"sheet{week}.csv"))
        now = load_scenario(store)
        assert now.settings.start >= today
        today = now.settings.start
        scenario = (store / "scenario.toml").read_text(encoding="utf-8")
        moved = today + timedelta(days=7)
        (store / "scenario.toml").write_text(scenario.replace(f"start = {today}", f"start = {moved}"), encoding="utf-8")
        today = moved
    assert packets(load_scenario(store)) == packets(at_first) + bought
    assert (store / "returned.csv").read_text(encoding="utf-8").count("|exchange|") >= 8


def test_a_sheet_is_taken_in_once(store, tmp_path):
    sheet = filled(sheet_of(store, "by_metal", 4), tmp_path / "sheet.csv", grams=262)
    first = take_in(store, sheet)
    state = {path.name: path.read_bytes() for path in store.iterdir()}
    again = take_in(store, sheet)

    assert first.exchanged > 0
    assert (again.exchanged, again.weighed) == (0, 0)
    assert again.known_already > 0
    assert {path.name: path.read_bytes() for path in store.iterdir()} == state


def test_what_was_not_done_is_late_and_stays_as_it_was(store, tmp_path):
    sheet = sheet_of(store, "by_metal", 4)
    missed = sheet.loc[sheet["work"] == "exchange", "subject"].iloc[0]
    old = {each.id: each for each in load_scenario(store).enclosures}
    found = take_in(store, filled(sheet, tmp_path / "sheet.csv", but=[missed]))

    assert [line.subject for line in found.late] == [missed]
    now = {each.id: each for each in load_scenario(store).enclosures}
    assert now[missed] == old[missed]


def test_weighings_are_written_as_fit_reads_them(store, tmp_path):
    take_in(store, filled(sheet_of(store, "by_metal", 4), tmp_path / "sheet.csv", grams=261.5))
    known = load_scenario(store)
    rows, problems = read_measurements(
        (store / "measurements.csv").read_bytes(), "measurements.csv", [each.id for each in known.enclosures]
    )
    assert not problems
    assert rows
    assert {row.wet_g for row in rows} == {261.5}
    for row in rows:
        assert row.put_in < row.measured == {e.id: e for e in known.enclosures}[row.enclosure].last_regenerated


def test_everything_else_in_the_files_stays_as_it_stands(store, tmp_path):
    before = {name: (store / name).read_text(encoding="utf-8") for name in ("scenario.toml", "register.csv")}
    take_in(store, filled(sheet_of(store, "by_metal", 4), tmp_path / "sheet.csv"))

    for name, old in before.items():
        new = (store / name).read_text(encoding="utf-8")
        assert (store / f"{name}.before").read_text(encoding="utf-8") == old
        changed = [(a, b) for a, b in zip(old.splitlines(), new.splitlines(), strict=True) if a != b]
        if name == "scenario.toml":
            assert all(a.split("=")[0] == b.split("=")[0] in ("start ", "ready ", "spent ") for a, b in changed)
        else:
            assert all(a.split(",")[0] == b.split(",")[0] for a, b in changed)


def test_a_list_of_ones_own_keeps_its_headings_separator_and_date_order(tmp_path):
    text = (
        "Bestand;;;;;\r\nKiste Nr.;Material;Behälter;Inhalt (l);Getrocknet am;Bemerkung\r\n"
        'K1;Eisen;Clipdose;5,0;03.11.2025;"zerbrechlich; Holz"\r\nK2;Bronze;Beutel;4,0;13.10.2025;\r\n'
    )
    (tmp_path / "liste.csv").write_bytes(text.encode("cp1252"))
    adopted(tmp_path / "liste.csv", tmp_path / "store")
    sheet = sheet_of(tmp_path / "store", "quarterly", 14)
    found = take_in(tmp_path / "store", filled(sheet, tmp_path / "sheet.csv"))

    now = (tmp_path / "store" / "liste.csv").read_bytes().decode("cp1252")
    days = {e.id: e.last_regenerated for e in load_scenario(tmp_path / "store").enclosures}
    assert found.exchanged == 2
    assert now == text.replace("03.11.2025", f"{days['K1']:%d/%m/%Y}").replace("13.10.2025", f"{days['K2']:%d/%m/%Y}")


def test_a_sheet_that_a_spreadsheet_saved_is_read(store, tmp_path):
    sheet = sheet_of(store, "by_metal", 4)
    book = openpyxl.Workbook()
    book.active.append(list(sheet.columns))
    for row in sheet.assign(done="✓").itertuples(index=False):
        book.active.append([None if cell == "" else cell for cell in row])
    book.save(tmp_path / "sheet.xlsx")
    assert returned(store, tmp_path / "sheet.xlsx").exchanged == (sheet["work"] == "exchange").sum()

    out = io.StringIO()
    csv.writer(out, delimiter=";").writerows(
        [list(sheet.columns), *sheet.assign(done="2026-03-02", out_g="261,5").values]
    )
    (tmp_path / "sheet.csv").write_text(out.getvalue(), encoding="cp1252")
    found = returned(store, tmp_path / "sheet.csv")
    assert found.today == date(2026, 3, 2)
    assert found.weighed > 0


HEAD = "date,technician,work,subject,place,packet,packets,done,read_rh_pct,out_g,remarks\n"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("2026-01-01,anna,exchange,B999,,small,1,x,,,", "subject = B999: is not in the register"),
        ("2026-01-01,anna,exchange,B001,,big,1,x,,,", "packet = big: is no packet of the store"),
        ("01.01.2026,anna,exchange,B001,,small,1,x,,,", "date = 01.01.2026: is not a date"),
        ("2026-01-01,anna,exchange,B001,,small,1,perhaps,,,", "done = perhaps: is neither a tick nor a day"),
        ("2026-01-01,anna,exchange,B001,,small,1,x,130,,", "read_rh_pct = 130"),
        ("2026-01-01,anna,exchange,B001,,small,1,x,,about 260,", "out_g = about 260"),
        ("2026-01-01,anna,exchange,B001,,small,one,x,,,", "packets = one: is not a whole number"),
        ("2026-01-01,anna,polish,B001,,small,1,x,,,", "work = polish: is no work of a sheet"),
    ],
)
def test_a_slip_on_the_sheet_is_named_and_nothing_is_written(row, says, store, tmp_path):
    (tmp_path / "sheet.csv").write_text(HEAD + row + "\n", encoding="utf-8")
    before = {path.name: path.read_bytes() for path in store.iterdir()}
    answer = CliRunner().invoke(app, ["returned", str(store), str(tmp_path / "sheet.csv")])

    assert answer.exit_code == 1
    assert isinstance(answer.exception, SimstoreError)
    assert says in str(answer.exception)
    assert {path.name: path.read_bytes() for path in store.iterdir()} == before


def test_the_command_says_what_is_late_and_what_to_do_next(store, tmp_path):
    sheet = sheet_of(store, "by_metal", 4)
    missed = sheet.loc[sheet["work"] == "exchange", "subject"].iloc[0]
    filled(sheet, tmp_path / "sheet.csv", but=[missed], grams=260)
    answer = CliRunner().invoke(app, ["returned", str(store), str(tmp_path / "sheet.csv")])

    assert answer.exit_code == 0, answer.output
    assert f"Late: 1 enclosures were not done: {missed}" in answer.output
    assert "simstore rota" in answer.output
    assert "simstore fit" in answer.output


def test_more_packets_put_in_than_there_were_are_told(store, tmp_path):
    rows = "".join(f"2026-01-0{n},anna,exchange,B00{n},,small,9,x,,,\n" for n in range(1, 5))
    (tmp_path / "sheet.csv").write_text(HEAD + rows + "2026-01-08,anna,unload oven,small,,,99,x,,,\n", encoding="utf-8")
    found = returned(store, tmp_path / "sheet.csv")

    assert any("more packets 'small' were put in than the scenario knew of" in note for note in found.notes) or any(
        "more packets came out of oven" in note for note in found.notes
    )
    assert all(ready >= 0 and spent >= 0 for ready, spent in found.stock.values())
