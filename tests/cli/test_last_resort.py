"""Whatever fails ends in one message; a signal from outside ends the program as Ctrl-C does."""

import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from simstore.cli import app as command_line

RIVER = Path(__file__).parents[2] / "scenarios" / "river_depot"


def test_an_internal_error_ends_in_one_message_with_the_place_of_a_report(monkeypatch, capsys, tmp_path):
    def broken():
        msg = "secret of the store\nsecond line"
        raise RuntimeError(msg)

    monkeypatch.setattr(command_line, "app", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with pytest.raises(SystemExit) as ended:
        command_line.main()

    assert ended.value.code == 3
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert said.startswith("error: simstore failed in a way that it should not (RuntimeError: secret of the store)")
    (place,) = re.findall(r"is in (\S+):", said)
    report = Path(place).read_text(encoding="utf-8")
    assert "Traceback" in report
    assert "in broken" in report


def test_an_internal_error_is_told_even_where_no_report_can_be_written(monkeypatch, capsys):
    def broken():
        raise RuntimeError

    monkeypatch.setattr(command_line, "app", broken)
    monkeypatch.setattr("tempfile.tempdir", "/proc/nowhere")
    with pytest.raises(SystemExit) as ended:
        command_line.main()
    assert ended.value.code == 3
    assert "No report could be written" in capsys.readouterr().err


def test_too_little_memory_is_told_with_a_cure(monkeypatch, capsys):
    def full():
        raise MemoryError

    monkeypatch.setattr(command_line, "app", full)
    with pytest.raises(SystemExit) as ended:
        command_line.main()
    assert ended.value.code == 1
    assert "take fewer --replications or --workers" in capsys.readouterr().err


def wait_for_workers(running):
    """Wait until its worker processes have begun, so that it is simulating."""
    children = Path(f"/proc/{running.pid}/task/{running.pid}/children")
    until = time.monotonic() + 90.0
    while time.monotonic() < until and running.poll() is None:
        if not children.exists():
            time.sleep(10.0)
            return
        if len(children.read_text().split()) >= 2:
            time.sleep(2.0)
            return
        time.sleep(0.2)


@pytest.mark.skipif(sys.platform == "win32", reason="no such signals")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_a_signal_ends_it_as_by_hand_and_leaves_nothing(name, tmp_path):
    out = tmp_path / "out"
    command = [
        sys.executable, "-m", "simstore", "run", str(RIVER), "--out", str(out), "--replications", "3000", "--workers", "2",
    ]  # fmt: skip
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    wait_for_workers(running)
    assert running.poll() is None
    running.send_signal(getattr(signal, name))
    _, said = running.communicate(timeout=60)

    assert running.returncode == 1
    assert "interrupted; nothing was written" in said
    assert "Traceback" not in said
    assert list(tmp_path.iterdir()) == []
