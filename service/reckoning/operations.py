"""The table of operations: what can be done to a section or panel, in which unit, and how long it may take.

Every guess of seconds is from memory, no source: the studio's own log is to replace it.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from service.reckoning.asked import Wrong

Unit = Literal["panel", "section", "cm", "thread", "knot", "join", "end", "motif", "closure"]
System = Literal["withdrawn", "standing"]

GUESS_THREADS_PER_CM = 20.0
FINENESS_EXPONENT = 0.30  # guess from memory: seconds a unit grow as (threads per cm / 20) ** (0.30 x exposure)
GUESS_THREAD_LENGTH_MM = 250.0


@dataclass(frozen=True, slots=True)
class Operation:
    """One kind of work: its unit, the guessed seconds a unit at 20 threads/cm, how it feels a finer cloth.

    `fineness_of` says whose count makes it finer: the withdrawn or the standing threads'; None for neither.
    `exposure` is 0 for none, 1 for full. `cannot_be_undone` marks cloth that is gone once it is done.
    """

    name: str
    unit: Unit
    guess_seconds: float
    fineness_of: System | None = None
    exposure: float = 0.0
    cannot_be_undone: bool = False


_TABLE = (
    Operation("cut_block", "panel", 420, cannot_be_undone=True),
    Operation("wash", "panel", 420),
    Operation("trace", "panel", 900),
    Operation("mark", "cm", 3),
    Operation("baste", "cm", 10),
    Operation("edge_stitch", "cm", 20, "withdrawn", 0.5),
    Operation("clip", "thread", 3, "withdrawn", 1.0, cannot_be_undone=True),
    Operation("withdraw", "thread", 25, "withdrawn", 1.0, cannot_be_undone=True),
    Operation("hem_knot", "knot", 22, "standing", 1.0),
    Operation("ladder_knot", "knot", 20, "standing", 1.0),
    Operation("pair_knot", "knot", 30, "standing", 1.0),
    Operation("alternating_knot", "knot", 28, "standing", 1.0),
    Operation("tuck_knot", "knot", 35, "standing", 1.0),
    Operation("secure", "cm", 20),
    Operation("cut_bias", "cm", 4, cannot_be_undone=True),
    Operation("bias_join", "join", 300),
    Operation("stitch_bias", "cm", 8),
    Operation("whip_bias", "cm", 30, "standing", 0.5),
    Operation("fasten_off", "end", 60),
    Operation("seam", "cm", 15),
    Operation("lace", "cm", 40),
    Operation("embroider", "motif", 1800),
    Operation("closure", "closure", 900),
    Operation("press", "panel", 420),
    Operation("inspect", "section", 300),
    Operation("retrace", "panel", 900),
    Operation("cut_out", "panel", 420, cannot_be_undone=True),
)

OPERATIONS: Mapping[str, Operation] = MappingProxyType({operation.name: operation for operation in _TABLE})


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of one operation: `quantity` in the operation's own unit (lengths in cm to 0.1)."""

    operation: str
    unit: str
    quantity: float


def operation_named(name: str) -> Operation:
    """Return the operation of that name, or raise Wrong.

    >>> operation_named("withdraw").unit
    'thread'
    """
    if name not in OPERATIONS:
        raise Wrong("operation", f"there is no operation called {name!r}")
    return OPERATIONS[name]


def amount(name: str, quantity: float) -> Amount:
    """Return the amount with its unit; a length is rounded up to 0.1 cm, a count must already be whole.

    Raises Wrong for an unknown operation.

    >>> amount("edge_stitch", 0.9144)
    Amount(operation='edge_stitch', unit='cm', quantity=1.0)
    """
    unit = operation_named(name).unit
    return Amount(name, unit, tenths_up(quantity) if unit == "cm" else quantity)


def tenths_up(length_cm: float) -> float:
    """Round a length in cm up to 0.1 cm, forgiving float dust of a millionth.

    >>> tenths_up(30.000000000000004), tenths_up(30.01)
    (30.0, 30.1)
    """
    return math.ceil(length_cm * 10 - 1e-6) / 10
