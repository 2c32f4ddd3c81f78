"""The invented log of 24 records that the golden cases are reckoned from; record 24 holds a slip, 450 minutes for 45."""

from dataclasses import replace
from datetime import date, timedelta

from service.reckoning.hours import Line, Stretch
from service.reckoning.rates import LoggedWork

FIRST_DAY = date(2024, 1, 1)

_RECORDS = """
0 Ada withdraw 20 P1 96 44
0 Ada clip 20 P1 388 24
1 Ada hem_knot 20 P1 150 64
2 Ada hem_knot 20 P1 130 52
3 Ada ladder_knot 20 P1 180 66
4 Ada ladder_knot 20 P1 210 74
5 Ada whip_bias 20 P1 90 52
6 Ada pair_knot 28 P2 60 41
7 Ada ladder_knot 28 P2 160 68
8 Ada withdraw 28 P2 80 47
9 Ada ladder_knot 28 P2 170 69
10 Ada hem_knot 28 P2 100 450
1 Bea hem_knot 20 P3 90 58
2 Bea hem_knot 20 P3 100 66
3 Bea whip_bias 20 P3 70 55
4 Bea withdraw 20 P3 60 42
5 Bea ladder_knot 20 P3 110 62
6 Bea ladder_knot 20 P3 120 71
7 Bea mark 20 P3 200 15
8 Bea edge_stitch 20 P3 120 50
3 Cleo hem_knot 14 P4 140 47
4 Cleo hem_knot 14 P4 160 55
5 Cleo withdraw 14 P4 120 40
6 Cleo press 14 P4 6 38
"""


def _record(line: str) -> LoggedWork:
    day, stitcher, operation, count, garment, units, minutes = line.split()
    on = FIRST_DAY + timedelta(int(day))
    return LoggedWork(on, stitcher, operation, float(count), garment, float(units), float(minutes))


LOG = tuple(_record(line) for line in _RECORDS.strip().splitlines())
CORRECTED = tuple(replace(each, minutes=45.0) if each.minutes == 450 else each for each in LOG)
REMOVED = tuple(each for each in LOG if each.minutes != 450)

GARMENT = (
    ("mark", 206),
    ("edge_stitch", 165),
    ("clip", 388),
    ("withdraw", 388),
    ("ladder_knot", 824),
    ("pair_knot", 96),
    ("whip_bias", 230),
    ("press", 4),
)
REST_OF_P1 = (("ladder_knot", 412), ("pair_knot", 96), ("whip_bias", 140), ("press", 4))


def stretches(
    work: tuple[tuple[str, float], ...], stitcher: str, threads_per_cm: float = 20.0, garment: str = ""
) -> list[Stretch]:
    """Every operation a stretch of its own, named by the operation."""
    return [Stretch(name, (Line(name, quantity, threads_per_cm),), stitcher, garment) for name, quantity in work]
