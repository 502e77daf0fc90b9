"""The sample report in the repository is what the commands make today, byte for byte."""

import re

from sample_report import MADE, SAMPLE, make

OLD = "is out of date: run python tests/sample_report.py"
# Which versions made a report is part of it, and the only thing that may differ.
VERSIONS = re.compile(rb"<li><b>Versions</b>[^<]*</li>")


def test_the_sample_is_remade_to_the_byte(tmp_path):
    made = make(tmp_path)

    for name in MADE:
        kept, anew = ((folder / name).read_bytes() for folder in (SAMPLE, made))
        if name.endswith(".html"):
            kept, anew = VERSIONS.sub(b"", kept), VERSIONS.sub(b"", anew)
        same = kept == anew  # apart, since showing how two such pages differ would take for ever
        assert same, f"{SAMPLE / name} {OLD}"


def test_the_sample_is_small_enough_to_keep_and_to_send():
    assert (SAMPLE / "report.html").stat().st_size < 2_000_000
    assert sum(path.stat().st_size for path in SAMPLE.rglob("*") if path.is_file()) < 3_500_000
