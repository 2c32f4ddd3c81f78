"""Lengths and counts of cloth in a sentence of the program, said in the units of a studio that measures in inches.

The sources say lengths in mm, cm and m, and counts per cm. Which figures of a sentence are such is told by its
message: a place or a figure with the unit behind it, or several in a row of which the last has one. What somebody
typed is none of them.

A figure that the message has itself, or that fills a place of `GAUGES`, is a gauge to lay on, a source's or an
example: it keeps its unit, and the other stands beside it as near as a tape is read, unless it comes out even.
"""

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import partial

from service.languages.places import MARK, is_typed
from service.languages.spoken import Units

CM_PER_INCH = Fraction(254, 100)
MM_PER = {"mm": 1, "cm": 10, "m": 1000}
SAID_IN = {"mm": ("in", CM_PER_INCH * 10), "cm": ("in", CM_PER_INCH * 10), "m": ("yd", CM_PER_INCH * 360)}
MORE_DECIMALS = {"mm": 2, "cm": 1, "m": 1}
"""How many decimals more it takes to say a length at least as finely in inches or yards."""
MOST_DECIMALS = 3
GAUGES = frozenset({"asked_mm"})
"""Places that a published method fills: the length that it asks to count over."""
FINEST = 16
"""The parts of an inch that a tape shows."""
_ONE = r"(?:\{\w+\}|(?<![\w.,])\d+(?:\.\d+)?)"
_BETWEEN = r"(?: × | x |–|,| (?:by|to|and|or|of|bis|und|oder|mal|auf|von) )"
LENGTHS = re.compile(
    rf"{_ONE}(?:{_BETWEEN}{_ONE})* ?(?P<unit>mm|cm|m|\{{(?:\w+_)?units?(?:_\d)?\}})(?![\w²/]| square\b| im Quadrat\b)"
)
_SYSTEM = r"(?: (?:warp|weft|\{way\}|Kett-|Schuss-))?"
COUNTS = re.compile(
    rf"(?:{_ONE}{_SYSTEM}(?: threads| Fäden| Kettfäden| Schussfäden)?{_BETWEEN})*{_ONE}{_SYSTEM} ?"
    r"(?:threads|Fäden|Kettfäden|Schussfäden)? ?(?P<unit>per cm|to the cm|je cm|auf den cm|pro cm)\b"
)
PER_INCH = {
    "per cm": "per inch",
    "to the cm": "to the inch",
    "je cm": "je Zoll",
    "auf den cm": "auf den Zoll",
    "pro cm": "pro Zoll",
}
FIGURE = re.compile(r"(?<![\w.])(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d*\.\d+|\d+)(?!\w)")
NAMES_BOTH = re.compile(r"^[^.]*\d (?:in|yd)\b")
"""A sentence that goes on to a length in inches names both units by itself."""
PIECE = re.compile(rf"\{{(?P<place>\w+)\}}|{FIGURE.pattern}")
PLAIN_FIGURES = re.compile(r"(?:[^A-Za-z]|\b(?:to|and|or|about|under|over)\b)*\d(?:[^A-Za-z]|\b(?:to|and|or)\b)*")
"""What a place of a length is filled with: figures, and between them only such words."""


def is_bare(message: str) -> bool:
    """Whether a message is a length and nothing else.

    >>> is_bare("{length_mm} mm"), is_bare("{length_mm} mm wide")
    (True, False)
    """
    found = LENGTHS.fullmatch(message)
    return found is not None and found["unit"] in MM_PER


def measured_places(message: str) -> frozenset[str]:
    """The places of a message that lengths and counts of cloth fill.

    >>> sorted(measured_places("{name}: {a} × {b} mm, with {c} threads, {d} warp threads to the cm"))
    ['a', 'b', 'd']
    """
    rows = (*(row for row in LENGTHS.finditer(message) if row["unit"] in MM_PER), *COUNTS.finditer(message))
    return frozenset(mark["place"] for row in rows for mark in MARK.finditer(row[0]) if _is_figure(mark["place"]))


def _is_figure(place: str) -> bool:
    return place != "way" and not is_typed(place)


def filled(message: str, told: Mapping[str, str], units: Units, say: Callable[[str], str] = str) -> str:
    """A message with its places filled, its lengths and counts said in those units; `say` says "about 2 in".

    >>> filled("{name} of {a} × {b} mm, {c} threads", {"name": "6 mm", "a": "254", "b": "12.7", "c": "30"}, Units("in"))
    '6 mm of 10 × 0.5 in, 30 threads'
    >>> filled("Count over at most 10 m, at {n} threads per cm.", {"n": "10 to 20"}, Units("in", "in"))
    'Count over at most 10 m (about 11 yd), at 25.4 to 50.8 threads per inch.'
    >>> filled("{done} of {all} {units} done", {"done": "12.7", "all": "30", "units": "cm"}, Units("in"))
    '5 of 11.8 in done'
    """
    found = [(row, _plainly(row["unit"], told)) for row in (*LENGTHS.finditer(message), *COUNTS.finditer(message))]
    rows = [(row, unit, in_inches, SAID_IN[unit][0]) for row, unit in found if units.length == "in" and unit in SAID_IN]
    rows += [(row, unit, per_inch, PER_INCH[unit]) for row, unit in found if units.counts == "in" and unit in PER_INCH]
    made, at = "", 0
    for row, unit, turned, other in sorted(rows, key=lambda each: each[0].start()):
        made += _plainly(message[at : row.start()], told)
        at = row.end()
        if unit in SAID_IN and row[0] != message and _is_gauge(row[0]):
            told_here = _plainly(row[0], told)
            if not _is_even(told_here, unit):
                made += told_here + _beside(told_here, (made, message[at:]), unit, say)
                continue
        made += _row(row, told, partial(turned, unit=unit))
        made += other if made.endswith(" ") else f" {other}"
    return made + _plainly(message[at:], told)


def _is_gauge(row: str) -> bool:
    return all(mark["place"] in GAUGES for mark in MARK.finditer(row))


def _is_even(row: str, unit: str) -> bool:
    """Whether every figure of a row is a whole number of sixteenths of an inch."""
    return all((_inches(figure, unit) * FINEST).denominator == 1 for figure in FIGURE.findall(row))


def _beside(row: str, around: tuple[str, str], unit: str, say: Callable[[str], str]) -> str:
    """The same in inches or yards, as it is put behind plain figures; nothing where the sentence around says it itself.

    >>> _beside("50 × 50 cm", ("Cut ", "."), "cm", str), _beside("3 mm", ("about ", "."), "mm", str)
    (' (about 20 × 20 in)', ' (1/8 in)')
    """
    before, rest = around
    if NAMES_BOTH.search(rest):
        return ""
    figures = FIGURE.sub(lambda figure: roughly(_inches(figure[0], unit)), row.removesuffix(unit).rstrip())
    words = say(f"about {figures} {SAID_IN[unit][0]}")
    about, _, plain = words.partition(" ")
    return f" ({plain if before.endswith(f'{about} ') else words})"


def roughly(value: Fraction) -> str:
    """Inches or yards as near as a tape is read: by sixteenths below one, by quarters below ten.

    >>> roughly(Fraction(50) / Fraction("25.4")), roughly(Fraction("0.118")), roughly(Fraction("7.3"))
    ('2', '1/8', '7 1/4')
    """
    step = Fraction(1, FINEST) if value < 1 else Fraction(1, 4) if value < 10 else Fraction(1)
    whole, part = divmod(max(step, step * round(value / step)), 1)
    return " ".join([str(whole)] * bool(whole) + [str(part)] * bool(part))


def _plainly(message: str, told: Mapping[str, str]) -> str:
    return MARK.sub(lambda mark: told.get(mark["place"], mark[0]), message)


def _row(row: re.Match[str], told: Mapping[str, str], turned: Callable[[str], str]) -> str:
    """Figures and places in a row before their unit, turned into the other; a place that was typed into stays."""

    def piece(found: re.Match[str]) -> str:
        if found["place"] is None:
            return turned(found[0])
        told_here = told.get(found["place"], found[0])
        return FIGURE.sub(lambda figure: turned(figure[0]), told_here) if _is_figure(found["place"]) else told_here

    return PIECE.sub(piece, row[0].removesuffix(row["unit"]))


def in_inches(figure: str, unit: str) -> str:
    """A figure of that unit as inches, of metres as yards, to at least as fine a step.

    >>> in_inches("25.4", "mm"), in_inches("64.8", "cm"), in_inches("1,104", "mm"), in_inches("0.9144", "m")
    ('1', '25.51', '43.46', '1')
    """
    return _written(_inches(figure, unit), _decimals(figure) + MORE_DECIMALS[unit])


def _inches(figure: str, unit: str) -> Fraction:
    return Fraction(figure.replace(",", "")) * MM_PER[unit] / SAID_IN[unit][1]


def per_inch(figure: str, unit: str) -> str:
    """A count per cm as one per inch.

    >>> per_inch("20", "per cm"), per_inch("20.25", "per cm")
    ('50.8', '51.44')
    """
    del unit
    return _written(Fraction(figure) * CM_PER_INCH, max(1, _decimals(figure)))


def _decimals(figure: str) -> int:
    return len(figure.partition(".")[2])


def _written(value: Fraction, decimals: int) -> str:
    written = f"{float(value):.{min(MOST_DECIMALS, decimals)}f}"
    return written.rstrip("0").rstrip(".") if "." in written else written
