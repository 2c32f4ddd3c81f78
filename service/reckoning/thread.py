"""Working thread for a piece of work: how much, in how many needlefuls, and how many skeins to buy."""

import math
from dataclasses import dataclass

from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.findings import Finding
from service.reckoning.operations import operation_named
from service.reckoning.thread_rates import THREAD_RATES, ThreadRate

LONGEST_NEEDLEFUL_MM = 450.0  # Dillmont, ch. 1: never longer than 40 to 50 cm
SHORTEST_NEEDLEFUL_MM = 150.0
TAILS_MM = 80.0  # lost at the start and end of every needleful: a guess, no source
LONGEST_SKEIN_MM = 1e7
MOST_OPERATIONS = 1000
DUST = 1e-9
NO_THREAD = ThreadRate(0.0, guessed=False)


@dataclass(frozen=True, slots=True)
class Worked:
    """So much of one operation, in its own unit.

    `width_mm` is the width one unit takes: of a bundle for a knot, of a pair of bundles for a pair knot, of the
    band for an alternating knot, of the strip for a bias join. It is of no account elsewhere.
    """

    operation: str
    quantity: float
    width_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ThreadAsk:
    """The work, the skein it is worked from, the needleful, and what the studio uses for each mm reckoned.

    `correction` is None while nothing is learned: then geometry and guesses stand as they are.
    """

    operations: tuple[Worked, ...]
    skein_mm: float
    needleful_mm: float = LONGEST_NEEDLEFUL_MM
    correction: float | None = None


@dataclass(frozen=True, slots=True)
class ThreadUse:
    """Thread left in the work by one operation, in mm; uncut thread cannot be shared among needlefuls.

    `guessed` marks what is neither geometry nor published nor corrected by what was learned.
    """

    operation: str
    thread_mm: float
    guessed: bool
    uncut: bool


@dataclass(frozen=True, slots=True)
class ThreadPlan:
    """Thread to take from the skein, tails included, in mm; needlefuls count an uncut length as one."""

    working_thread_mm: float
    needlefuls: int
    skeins: int
    by_operation: tuple[ThreadUse, ...]
    findings: tuple[Finding, ...]


def plan_thread(ask: ThreadAsk) -> ThreadPlan:
    """Return the thread the work takes.

    Needlefuls = thread in the work / (needleful - 80 mm of tails), rounded up, each cut at its full length; a
    row knotted in mid-air is worked with one uncut length. Raises Wrong at the field of what cannot be.

    >>> plan_thread(ThreadAsk((Worked("pair_knot", 12, 25),), skein_mm=8000)).working_thread_mm
    600.0
    """
    _check(ask)
    used = tuple(_used(place, worked, ask.correction) for place, worked in enumerate(ask.operations))
    cut = sum(use.thread_mm for use in used if not use.uncut)
    lengths = [use.thread_mm for use in used if use.uncut and use.thread_mm > 0]
    needlefuls = _whole_up(cut / (ask.needleful_mm - TAILS_MM))
    thread = needlefuls * ask.needleful_mm + sum(lengths)
    findings = (*_learned_findings(ask.correction), *_guess_findings(used), *_uncut_findings(lengths, ask.skein_mm))
    return ThreadPlan(thread, needlefuls + len(lengths), _whole_up(thread / ask.skein_mm), used, findings)


def used_ratio(reckoned_mm: float, used_mm: float) -> float:
    """Return the correction for the next time: thread really used for each mm reckoned.

    Raises Wrong when it is off by more than ten times, which is a slip of the unit.

    >>> used_ratio(6000, 7500)
    1.25
    """
    ratio = above_zero("used_mm", used_mm) / above_zero("reckoned_mm", reckoned_mm)
    if not 0.1 <= ratio <= 10:
        raise Wrong("used_mm", f"is {ratio:.3g} times what was reckoned: check the unit")
    return ratio


def _check(ask: ThreadAsk) -> None:
    if not ask.operations:
        raise Wrong("operations", "give at least one")
    if len(ask.operations) > MOST_OPERATIONS:
        raise Wrong("operations", f"give at most {MOST_OPERATIONS}")
    not_below("needleful_mm", ask.needleful_mm, SHORTEST_NEEDLEFUL_MM, LONGEST_NEEDLEFUL_MM)
    not_below("skein_mm", ask.skein_mm, ask.needleful_mm, LONGEST_SKEIN_MM)
    if ask.correction is not None:
        not_below("correction", ask.correction, 0.1, 10)


def _used(place: int, worked: Worked, correction: float | None) -> ThreadUse:
    try:
        operation_named(worked.operation)
    except Wrong as wrong:
        raise Wrong(f"operations.{place}.operation", wrong.sentence) from None
    quantity = not_below(f"operations.{place}.quantity", worked.quantity, at_most=1e6)
    if worked.width_mm is not None:
        above_zero(f"operations.{place}.width_mm", worked.width_mm, 1e4)
    rate = THREAD_RATES.get(worked.operation, NO_THREAD)
    thread = (1.0 if correction is None else correction) * quantity * rate.per_unit_mm(worked.width_mm)
    return ThreadUse(worked.operation, thread, rate.guessed and correction is None, rate.uncut)


def _whole_up(ratio: float) -> int:
    return math.ceil(ratio * (1 - DUST))


def _learned_findings(correction: float | None) -> tuple[Finding, ...]:
    if correction is None:
        return ()
    text = f"Learned: corrected to {100 * correction:.0f} % of what is reckoned, by what was really used before."
    return (Finding("learned", text),)


def _guess_findings(used: tuple[ThreadUse, ...]) -> tuple[Finding, ...]:
    guessed = ", ".join(dict.fromkeys(use.operation.replace("_", " ") for use in used if use.guessed and use.thread_mm))
    if not guessed:
        return ()
    text = (
        f"Guesses, not measured: {guessed}. Note how much thread the work really used, and the next reckoning is "
        "corrected by it."
    )
    return (Finding("guesses", text),)


def _uncut_findings(lengths: list[float], skein_mm: float) -> tuple[Finding, ...]:
    if not lengths:
        return ()
    longest = max(lengths)
    text = (
        f"The knotting thread runs in one length from end to end of its row: cut {longest / 10:.0f} cm at once, "
        "and use a coarser thread."
    )
    if longest > skein_mm:
        text = (
            f"The knotting thread would be {longest / 10:.0f} cm in one length, longer than a skein: "
            "wind it from a ball, or plan a join at a seam."
        )
    return (Finding("uncut", text),)
