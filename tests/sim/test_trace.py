"""Every event of three boxes in three weeks, worked out by hand beforehand; the same table is in trace.md."""

from __future__ import annotations

import re
from pathlib import Path

from sim import trace

# The arithmetic. A day is 1440 min; the run begins on a Monday; sessions are Mon 09:00-11:00 and Thu 09:00-10:00.
# Gloves and mask 5 min once a session; exchange 6, load 20, unload 15, take in 10, prepare 2 a packet.
# Oven: 45 min to warm up and 7 h hot are 465 min, then 6 h (360 min) to cool; trays 0.05 m2 * 20 mm * 700 kg/m3 hold
# 0.7 kg, so two packets of 0.25 kg are 71 % of a load (worth starting from 60 %) and one is 36 %.
# Stock: two ready, ordered again when two or fewer are left, two at a time, 4.5 days (6480 min) on the way.
# Calendar: iron (A, B) every 7 days (10080 min), copper (C) every 21 (30240 min); whatever is due by a midnight is put
# on the list then, the driest metal first.
BY_HAND = [
    (0, "2 packets are ordered"),  # two are left
    # A was dried 7 days before, C 21: both due at 0. B was dried 4 days before: due after 3 days, 4320.
    (540, "Anna comes"),  # Mon 09:00
    (551, "A is exchanged, due 0"),  # 540 + 5 gloves + 6; iron before copper
    (557, "C is exchanged, due 0"),  # + 6; no packet is left
    (577, "2 packets begin to heat"),  # + 20; two spent ones are 71 %
    (660, "Anna goes; idle 83 min"),  # 120 - 5 - 6 - 6 - 20
    (1042, "heat off"),  # 577 + 465
    (1402, "cool"),  # + 360; nobody is there
    (4860, "Anna comes"),  # Thu 09:00, 3 * 1440 + 540; B is on the list since midnight
    (4880, "unloaded"),  # + 5 gloves + 15
    (4884, "a packet is prepared"),  # + 2 * 2, before B, which has to wait for one
    (4884, "a packet is prepared"),
    (4890, "B is exchanged, due 4320"),  # + 6; one spent packet is 36 %, no load
    (4920, "Anna goes; idle 30 min"),  # 60 - 5 - 15 - 4 - 6
    (6480, "the delivery arrives"),  # 0 + 6480
    (10620, "Anna comes"),  # Mon 09:00, 7 * 1440 + 540; A falls due at 551 + 10080 = 10631, after this midnight
    (10630, "2 packets are taken in"),  # + 10; boxes are taken in without gloves
    (10639, "a packet is prepared"),  # + 5 gloves + 2 * 2; three ready
    (10639, "a packet is prepared"),
    (10740, "Anna goes; idle 101 min"),  # 120 - 10 - 5 - 4
    (14940, "Anna comes"),  # Thu 09:00, 10 * 1440 + 540
    (14951, "A is exchanged, due 10631"),  # + 5 gloves + 6; two ready
    (14971, "2 packets begin to heat"),  # + 20; B's and A's
    (15000, "Anna goes; idle 29 min"),  # 60 - 5 - 6 - 20
    (15436, "heat off"),  # 14971 + 465
    (15796, "cool"),  # + 360
    (20700, "Anna comes"),  # Mon 09:00, 14 * 1440 + 540; B on the list since day 11, due at 4890 + 10080 = 14970
    (20720, "unloaded"),  # + 5 gloves + 15
    (20726, "B is exchanged, due 14970"),  # + 6, before preparing, since there are ready packets
    (20730, "a packet is prepared"),  # + 2 * 2
    (20730, "a packet is prepared"),
    (20820, "Anna goes; idle 90 min"),  # 120 - 5 - 15 - 6 - 4
    (25020, "Anna comes"),  # Thu 09:00, 17 * 1440 + 540; A falls due at 14951 + 10080 = 25031: nothing to do
    (25080, "Anna goes; idle 60 min"),
    (30780, "Anna comes"),  # Mon 09:00, 21 * 1440 + 540; B (30806) and C (30797) fall due after this midnight
    (30791, "A is exchanged, due 25031"),  # + 5 gloves + 6
    (30811, "2 packets begin to heat"),  # + 20; B's of day 14 and A's
    (30900, "Anna goes; idle 89 min"),  # 120 - 5 - 6 - 20
    (31276, "heat off"),  # 30811 + 465
    (31636, "cool"),  # + 360; the run ends at 22 * 1440 = 31680
]


def test_the_run_is_what_was_worked_out_by_hand():
    assert trace.events() == BY_HAND


def test_the_table_for_contributors_is_the_same():
    text = Path(__file__).with_name("trace.md").read_text(encoding="utf-8")

    rows = re.findall(r"^\| (\d+) \| \d+ \d\d:\d\d \| ([^|]+) \| [^|]*\|$", text, flags=re.MULTILINE)
    assert [(int(minute), words) for minute, words in rows] == BY_HAND
