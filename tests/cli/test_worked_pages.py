"""Pages of one day, each number on them worked out by hand (`tests.one_of_each`)."""

from __future__ import annotations

import pytest

from tests.conftest import Weldcal

# What is typed -> the arithmetic, and the whole of what is shown.
PAGES = {
    "roof": (
        "27 of 30 ft of N1 welded, 3 to 30; a 12 ft mend reaches half a foot past either end.",
        """\
	Seam	State	Length	Welded	To do	Flags
.	A1	not started	33 ft	0 ft
.	A2	not started	33 ft	0 ft
.	A3	not started	33 ft	0 ft
X	N1	open findings	30 ft	27 ft	open: F2; probe again: F1 11 ft 6 in to 15 ft 6 in	warned, finish late, entered by another
4 seams: 27 ft welded, 100 % of it probed, 1 open finding.
. not started 3  X open findings 1
Open warning: R1 on seam N1, welded after the newest strip fell short of the limits. When done: weldcal settle R1 "..."
""",
    ),
    "trace N1": (
        "Every entry about one lap, in the order seen; 40 lbf on 2 in are 20 lbf/in.",
        """\
Seam N1, 30 ft: open findings (warned, finish late, entered by another)
Mended, to be probed again: F1 11 ft 6 in to 15 ft 6 in
In doubt: 10–20 ft, after F1; what clears it: weldcal doubt
- 2026-06-01 08:00 R1 run 3 ft to 30 ft: blue, 932 °F, 5.0 ft/min, ambient 50 °F
  (carried over from 06:50), sheet 68 °F (carried over from 06:50), lower sheet
  59 °F (carried over from 06:50), wind 10 mph (carried over from 06:50),
  humidity 60 % (carried over from 06:50), line 228 V (carried over from 06:50),
  gusts 20 mph (carried over from 06:50), roll 41 °F (carried over from 06:50);
  WARNING: welded after the newest strip fell short of the limits; the power was
  lost; ended because: end of roll; Ana Ruiz [finish late]
- 2026-06-01 09:31 B1 bleed check at 10 ft: 1/4 1/8; bubbling none; note: at the
  lap's end; Ana Ruiz
- 2026-06-01 09:32 T1 lap width at 10 ft: 4 in, bonded 3 in; Ana Ruiz
- 2026-06-01 09:40 W1 probe walk 3 ft to 30 ft; begun 09:35; Ben Okoro [entered
  by Ana Ruiz]
- 2026-06-01 09:41 F1 finding: scorched from 12 ft to 15 ft, cut; 1/2 in deep;
  Ben Okoro [entered by Ana Ruiz]
- 2026-06-01 09:42 M1 mend from 11 ft 6 in to 15 ft 6 in: patch, hand tool 2;
  patch size 8 in; Ben Okoro [entered by Ana Ruiz]
- 2026-06-01 09:43 P1 peel sample at 20 ft: parted in the compound, 20.0 lbf/in,
  sample at 73 °F, pulled at 4 in/min; Ana Ruiz
- 2026-06-01 09:43 F2 finding: sample cut from 20 ft to 20 ft 2 in, cut; Ana
  Ruiz
- 2026-06-01 09:48 V1 item of a visit: mend the fishmouth (N1 20ft, owner);
  settled: patched, Ben Okoro; Ben Okoro [entered by Ana Ruiz]
""",
    ),
    "machine show blue": (
        "20 ft in 220 s are 5.45 ft/min.",
        """\
Machine blue: known from 1 job.
- School roof, as blue: Monday, June 1, 2026 to Monday, June 1, 2026, 0 of 1
  strip passed, 27 ft welded
- measured 2026-06-01 09:45 by Ana Ruiz: mark 5.5 runs 5.45 ft/min
- repaired 2026-06-01 09:46 by Ana Ruiz: new element
""",
    ),
    "machine drift blue": (
        "5.4545 of 5.5 is 0.83 % slow; the error of three runs, t of 2 degrees 4.303.",
        """\
- 2026-06-01 09:45 5.5: 5.45 ft/min, -0.8 % against the dial (-3.1 to +1.4); Ana
  Ruiz
WITHIN: the dial holds.
Judged by ±5 % of speed and ±27 °F of nozzle heat: site setting, no source.
""",
    ),
    "power --volts 120 --length 100ft --load 16A --cord 12AWG": (
        "NEC chapter 9 table 8: 1.98 ohm per 1,000 ft, so 2 x 0.1 x 1.98 x 16 = 6.3 V; 0.947 squared is 0.897.",
        """\
12 AWG, 100 ft one way, 16.0 A: 6.3 V lost (5.3 %), 114 V at the machine.
The heater has 10.3 % less power than with no cord (power goes as V²).
That is more than the 5 % advised in all.
8 AWG would lose 2.1 % (aim 3 %).
What is advised: 3 % branch, 5 % in all: NEC 210.19(A) informational note 4
(advice, not enforceable, 90.5).
Voltage drop alone never decides a cord. These decide:
- ampacity: what the conductor may carry without overheating
- the cord's own rating and length
- a coiled cord overheats: uncoil it
- ground-fault protection
- a licensed electrician
""",
    ),
    "faults --by kind": (
        "Garwood's interval of one event, 0.0253 to 5.572, over 27 ft.",
        """\
- side lap: 3.70 per 100 ft (0.09 to 20.64), 1 fault in 27 ft probed
95 % intervals, allowing for faults that come in clumps; 0 groups looked at.
Few faults: even the clumping is a guess. Look at the work, not at the people.
""",
    ),
    "doubt": (
        "F1 lies between the good check at 10 ft and the good sample at 20 ft.",
        """\
F1 (scorched) puts 10 ft welded by blue on no go-ahead in doubt, from B1 to P1.
- N1 10–20 ft
- to clear: look along the edge and read the bleed-out of N1 10–12 ft
- to clear: look along the edge and read the bleed-out of N1 15–20 ft
Fewest cuts that end it all, if the pulls are good: 1.
- N1 17 ft 1 5/8 in, for F1
Mend the lap where it failed.
""",
    ),
    "history": (
        "490 °C where 500 was set is 2 % less; the dial 0.83 % slow.",
        """\
Faults on probed lap per 100 ft of it, 95 % interval allowing for clumps
(dispersion 1.00, from 1 run probed)
Job	Machine	Sheet	Runs	Welded	Probed	Faults	Per 100 ft	Interval
School roof	blue	base	1	27 ft	27 ft	1	3.70	0.09 to 20.64

Strips to the first go-ahead of a day
Job	Machine	Sheet	Mornings	Median	Most	Without a go-ahead
School roof	blue	base	1	–	–	1

Speed of go-ahead strips against temperature: a plain line
nothing recorded

Drift by month
Machine	Sheet	Lap kind	Month	What	n	Median	Least to most
blue	–	–	2026-06	speed measured over dial	1	-0.8 %	-0.8 to -0.8
blue	–	–	2026-06	nozzle measured over set, in °C	1	-2.0 %	-2.0 to -2.0
""",
    ),
    "hotwork list": (
        "From 10:00 to 11:00 the watch was stood.",
        """\
- H1 2026-06-01 06:45, permit 4711, 2-A at the machine, deck steel; Ana Ruiz;
  ended 2026-06-01 10:00; watch 60 min (permit 4711)
  watched by Ana Ruiz: nothing
  The watch was stood for 60 min.
""",
    ),
    "sample plan --most 5": (
        "0.95 to the 59th power is under 0.05, to the 58th it is not.",
        """\
To show with 95 % confidence that no more than 5 % of the lap is bad, 0 failures
allowed:
- 59 samples at places drawn at random (exact binomial); or
- 135 ft (41 m) of probing on 14 laps: feet of one lap are alike (beta-binomial;
  likeness within a lap 0.3: site setting, no source).
It speaks of the lap the places were drawn from, and of nothing else. Draw them:
weldcal sample draw
""",
    ),
    "route": (
        "One lap, its places from the near end.",
        """\
1 lap to go to, in walking order.
1. N1
- 11 ft 6 in to 15 ft 6 in: probe again, F1 was mended
- 11 ft 8 7/8 in: cut a sample, drawn
- 17 ft 1 5/8 in: cut a sample, for F1
""",
    ),
    "job show": (
        "What the job lists.",
        """\
Job School roof: units us, time zone America/Denver, day begins at 0:00.
Area North: 60 ft x 20 ft
Sheet base: polyester-reinforced SBS base sheet
Sheet cap: mineral cap
Machine blue: 1–20 ft/min, step 0.5
Machine red: 0–10, step 1
Instrument tape: tape, 2026-05-04
Person Ana Ruiz: AR, operator
Person Ben Okoro: BO, inspector
""",
    ),
    "punch list": (
        "The item and how it was settled.",
        """\
V1, N1 20ft: mend the fishmouth; owner; settled: patched, Ben Okoro
""",
    ),
    "roll list": (
        "The lot and the doubt about it.",
        """\
Lot L-7; kept: upright, covered; conditioned: 24 h at 60F
IN DOUBT: granules come off; Ana Ruiz
- no run names it
""",
    ),
}


@pytest.mark.parametrize("typed", PAGES)
def test_a_page_says_what_the_day_came_to(one_of_each: Weldcal, typed: str) -> None:
    """The whole page."""
    _why, shown = PAGES[typed]
    found = one_of_each.ok(typed).out.splitlines()
    assert [line.rstrip() for line in found] == shown.splitlines()


def test_the_evening_says_what_was_done_what_is_open_and_what_comes_first(
    one_of_each: Weldcal,
) -> None:
    """27 ft welded and probed; 10 ft in doubt; F2, the cut, is open, F1 is mended and not probed."""
    shown = one_of_each.ok("evening").out
    assert shown.partition("TO START WITH TOMORROW")[0] == EVENING


EVENING = """\
School roof

TODAY, MONDAY, JUNE 1, 2026
- welded: 27 ft in 1 run (N1)
- probed: 27 ft in 1 walk
- found: F1 scorched N1, F2 sample cut N1
- mended: M1 N1
- samples that parted at the lap, cold there: P2
- strip S1, 5.0 ft/min: too little bleed-out: 0 in, limit 1/8 in; not steady:
  readings differ by 1/4 in, limit 3/16 in; bubbling: trace: too hot; the mat is
  exposed: too hot or too slow; it parted clean at the lap: a sound lap parts in
  the compound or in the reinforcement

GO-AHEADS
- no strip met the limits today

OPEN NOW
- findings open: N1 F2
- mended, not probed again: N1 F1
- welded, not probed: 0 ft (0 % of 27 ft)
- warnings not answered: R1 N1
- lap in doubt after a failed check: 10 ft
- start-up list, lines open: 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14;
  weldcal startup

FIRST TOMORROW
- mend what is open: F2 (N1)
- probe mends again: F1 (N1)
- answer warnings: R1: welded after the newest strip fell short of the limits
- clear the lap that failures put in doubt: F1; how: weldcal doubt
- run a test strip before the first lap: today's go-aheads end with the day

"""
