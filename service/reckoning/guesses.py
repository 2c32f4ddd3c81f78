"""Seconds a piece of work may take before anybody's log says better: guesses from memory, no source."""

from collections.abc import Mapping
from types import MappingProxyType

from service.reckoning.asked import above_zero, not_below
from service.reckoning.counts import checked_count
from service.reckoning.operations import (
    FINENESS_EXPONENT,
    GUESS_THREAD_LENGTH_MM,
    GUESS_THREADS_PER_CM,
    OPERATIONS,
    operation_named,
)

MOST_GUESS_SECONDS = 36_000.0  # ten hours for one unit: nothing that is counted in units takes longer

Guesses = Mapping[str, float]
"""Seconds of one unit at 20 threads per cm, by operation."""

STATED: Guesses = MappingProxyType({name: operation.guess_seconds for name, operation in OPERATIONS.items()})
"""The guesses of the table of operations."""


def seconds_for(
    operation: str,
    quantity: float,
    threads_per_cm: float | None = None,
    thread_length_mm: float | None = None,
    guesses: Guesses = STATED,
) -> float:
    """Return the guessed seconds of `quantity` units of an operation, by the stated guesses or a studio's own.

    `threads_per_cm` is the count that makes it finer (see `count_felt`), left out 20; `thread_length_mm`
    is how long a withdrawn thread is, left out 250. Each grows a unit: (threads / 20) ** (0.30 x exposure)
    and, for withdrawing only, length / 250. The guesses and the exponent are from memory, no source. Raises Wrong for
    an unknown operation.

    >>> seconds_for("withdraw", 18, threads_per_cm=20, thread_length_mm=500)
    900.0
    >>> round(seconds_for("ladder_knot", 10, threads_per_cm=30), 1)
    225.9
    """
    work = operation_named(operation)
    fineness = 1.0 if threads_per_cm is None else checked_count("threads_per_cm", threads_per_cm)
    if threads_per_cm is not None:
        fineness = (fineness / GUESS_THREADS_PER_CM) ** (FINENESS_EXPONENT * work.exposure)
    stretch = 1.0
    if thread_length_mm is not None:
        stretch = above_zero("thread_length_mm", thread_length_mm) / GUESS_THREAD_LENGTH_MM
    return (
        guesses[operation] * not_below("quantity", quantity) * fineness * (stretch if operation == "withdraw" else 1.0)
    )


def count_felt(
    operation: str, withdrawn_threads_per_cm: float | None, standing_threads_per_cm: float | None
) -> float | None:
    """Return the one of a section's two counts that makes this operation finer, None when neither does.

    >>> count_felt("clip", 20, 19), count_felt("ladder_knot", 20, 19), count_felt("wash", 20, 19)
    (20, 19, None)
    """
    fineness_of = operation_named(operation).fineness_of
    if fineness_of is None:
        return None
    return withdrawn_threads_per_cm if fineness_of == "withdrawn" else standing_threads_per_cm
