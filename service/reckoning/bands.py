"""Drawn thread bands: which threads go, which stand, how many bundles they make, and what to do with the rest.

One system of the cloth is withdrawn and gives the band its width; the other stands, and gives its length
and its bundles. Counts differ between the two, so each has its own.
"""

from dataclasses import dataclass, replace
from typing import Literal, get_args

from service.reckoning import band_findings
from service.reckoning.asked import Wrong, above_zero, not_below, whole
from service.reckoning.band_kinds import BAND_KINDS, BandKind, bundles_come_in, knots_of
from service.reckoning.bundles import spread_sizes
from service.reckoning.counts import MOST_THREADS, checked_count, threads_in, width_of
from service.reckoning.findings import Finding
from service.reckoning.operations import Amount, amount

LeftOverWay = Literal["shorter", "longer", "spread", "into_seam"]
LEFT_OVER_WAYS: tuple[LeftOverWay, ...] = get_args(LeftOverWay)

BUNDLE_THREADS = 4  # common practice; Christie, fig. 116


@dataclass(frozen=True, slots=True)
class BandAsk:
    """What is asked of a band: its kind, its two counts, how deep, how long, and where it stops.

    Give `withdraw_threads` or `width_mm`, and `standing_threads` or `length_mm`. `into_seam` says that
    left-over threads run into a seam, where they vanish.
    """

    kind: BandKind
    withdrawn_threads_per_cm: float
    standing_threads_per_cm: float
    withdraw_threads: int | None = None
    width_mm: float | None = None
    standing_threads: int | None = None
    length_mm: float | None = None
    bundle_threads: int = BUNDLE_THREADS
    stop_lines: int = 1
    closed_round: bool = False
    pair_rows: int = 1
    into_seam: bool = False


@dataclass(frozen=True, slots=True)
class LeftOverChoice:
    """One way out of left-over threads or an odd bundle: the bundles it makes, and their exact sizes.

    `standing_threads` and `length_mm` are those in the bundles: the sizes add up to them.
    """

    way: LeftOverWay
    standing_threads: int
    length_mm: float
    bundles: int
    bundle_sizes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class BandPlan:
    """A band on one cloth, thread by thread; `operations` are the work of its whole bundles.

    A band that runs into a seam keeps all its `standing_threads`, with those in the seam as `left_over_threads`.
    """

    ask: BandAsk
    withdraw_threads: int
    width_mm: float
    standing_threads: int
    length_mm: float
    bundles: int
    bundle_sizes: tuple[int, ...]
    left_over_threads: int
    findings: tuple[Finding, ...]
    choices: tuple[LeftOverChoice, ...]
    operations: tuple[Amount, ...]

    @property
    def knots(self) -> int:
        """How many knots of every kind the band takes."""
        return int(sum(work.quantity for work in self.operations if work.unit == "knot"))


def plan_band(ask: BandAsk) -> BandPlan:
    """Return the band on its cloth, with what is odd as findings and the ways out as choices.

    Widths and lengths become the nearest whole threads. Raises Wrong naming the field for nonsense.

    >>> plan = plan_band(BandAsk("ladder", 20, 19, withdraw_threads=18, standing_threads=96))
    >>> plan.bundles, plan.width_mm, [(work.operation, work.quantity) for work in plan.operations]
    (24, 9.0, [('mark', 11.1), ('edge_stitch', 0.9), ('clip', 18), ('withdraw', 18), ('ladder_knot', 48)])
    """
    _check(ask)
    standing = _standing_threads(ask)
    return _planned(ask, standing, (ask.bundle_threads,) * (standing // ask.bundle_threads))


def apply_choice(ask: BandAsk, way: LeftOverWay) -> BandPlan:
    """Return the band with that way taken: nothing is left over, unless in the seam, and no bundle is odd.

    A band with nothing to choose stays as it is. Raises Wrong when that way is not open to this band.

    >>> plan = apply_choice(BandAsk("hem_band", 20, 20, withdraw_threads=4, standing_threads=50), "spread")
    >>> plan.bundle_sizes, plan.left_over_threads
    ((4, 4, 5, 4, 4, 4, 4, 4, 5, 4, 4, 4), 0)
    """
    _check(ask)
    standing = _standing_threads(ask)
    choices = _choices(ask, standing)
    if not choices:
        return plan_band(ask)
    chosen = next((choice for choice in choices if choice.way == way), None)
    if chosen is None:
        raise Wrong("left_over", f"{way!r} is not open to this band: {_open_ways(choices)}")
    settled = replace(ask, into_seam=way == "into_seam")
    return _planned(settled, standing if settled.into_seam else chosen.standing_threads, chosen.bundle_sizes)


def first_thread_mm(hem_width_mm: float, first_turn_mm: float) -> float:
    """Return how far from the raw edge the first thread of a hem band is drawn, in mm.

    Twice the hem's width and the first turn (School Sewing, para 115).

    >>> first_thread_mm(25.4, 3.175) / 25.4
    2.125
    """
    return 2 * above_zero("hem_width_mm", hem_width_mm) + not_below("first_turn_mm", first_turn_mm)


def _planned(ask: BandAsk, standing: int, sizes: tuple[int, ...]) -> BandPlan:
    withdrawn = _withdrawn_threads(ask)
    width_mm = width_of(withdrawn, ask.withdrawn_threads_per_cm)
    left = standing - sum(sizes)
    findings = (*_findings_of_bundles(ask, standing, left, len(sizes)), *_findings_of_width(ask, width_mm))
    is_open = any(finding.code in {"left_over", "odd_bundles", "too_few"} for finding in findings)
    return BandPlan(
        ask=ask,
        withdraw_threads=withdrawn,
        width_mm=width_mm,
        standing_threads=standing,
        length_mm=width_of(standing, ask.standing_threads_per_cm),
        bundles=len(sizes),
        bundle_sizes=sizes,
        left_over_threads=left,
        findings=findings,
        choices=_choices(ask, standing) if is_open else (),
        operations=_operations(ask, withdrawn, width_mm, sizes),
    )


def _operations(ask: BandAsk, withdrawn: int, width_mm: float, sizes: tuple[int, ...]) -> tuple[Amount, ...]:
    if not withdrawn or not sizes:
        return ()
    strips = 2 if ask.kind == "tuck_band" else 1
    length_cm = width_of(sum(sizes), ask.standing_threads_per_cm) / 10
    stopped_cm = width_mm / 10 * ask.stop_lines
    work = (
        amount("mark", strips * (2 * length_cm + stopped_cm)),
        amount("edge_stitch", strips * stopped_cm),
        amount("clip", strips * withdrawn * (1 if ask.closed_round else ask.stop_lines)),
        amount("withdraw", strips * withdrawn),
        *knots_of(ask.kind, len(sizes), closed_round=ask.closed_round, pair_rows=ask.pair_rows),
    )
    return tuple(part for part in work if part.quantity)


def _choices(ask: BandAsk, standing: int) -> tuple[LeftOverChoice, ...]:
    step = bundles_come_in(ask.kind, closed_round=ask.closed_round)
    each = ask.bundle_threads
    fewer = standing // (each * step) * step
    more = -(-standing // (each * step)) * step
    if fewer == more:
        return ()
    open_ways: list[tuple[LeftOverWay, tuple[int, ...]]] = []
    if fewer:
        open_ways.append(("shorter", (each,) * fewer))
    if more * each <= MOST_THREADS:
        open_ways.append(("longer", (each,) * more))
    if fewer and ask.kind != "serpentine":  # a serpentine halves its bundles, so none may take an odd thread
        open_ways.append(("spread", spread_sizes(standing, fewer)))
    if fewer:
        open_ways.append(("into_seam", (each,) * fewer))
    return tuple(_choice(way, sizes, ask.standing_threads_per_cm) for way, sizes in open_ways)


def _choice(way: LeftOverWay, sizes: tuple[int, ...], standing_threads_per_cm: float) -> LeftOverChoice:
    threads = sum(sizes)
    return LeftOverChoice(way, threads, width_of(threads, standing_threads_per_cm), len(sizes), sizes)


def _open_ways(choices: tuple[LeftOverChoice, ...]) -> str:
    return "choose " + " or ".join(choice.way for choice in choices)


def _findings_of_bundles(ask: BandAsk, standing: int, left: int, bundles: int) -> list[Finding]:
    found = []
    if not bundles:
        found.append(band_findings.too_few(standing, ask.bundle_threads))
    elif left and not ask.into_seam:
        found.append(band_findings.left_over(standing, ask.bundle_threads))
    if bundles % bundles_come_in(ask.kind, closed_round=ask.closed_round):
        found.append(band_findings.odd_bundles(ask.kind, bundles))
    if ask.kind == "serpentine" and ask.bundle_threads % 2:
        found.append(band_findings.uneven_bundle(ask.bundle_threads))
    return found


def _findings_of_width(ask: BandAsk, width_mm: float) -> list[Finding]:
    if not width_mm:
        one_mm = width_of(1, ask.withdrawn_threads_per_cm)
        return [band_findings.too_narrow(ask.width_mm or 0.0, one_mm)]
    close = band_findings.rows_close(ask.kind, width_mm, ask.pair_rows)
    return [close] if close else []


def _withdrawn_threads(ask: BandAsk) -> int:
    if ask.withdraw_threads is not None:
        return ask.withdraw_threads
    return threads_in(ask.width_mm or 0.0, ask.withdrawn_threads_per_cm)


def _standing_threads(ask: BandAsk) -> int:
    if ask.standing_threads is not None:
        return ask.standing_threads
    return threads_in(ask.length_mm or 0.0, ask.standing_threads_per_cm, "length_mm")


def _check(ask: BandAsk) -> None:
    if ask.kind not in BAND_KINDS:
        raise Wrong("kind", f"must be one of {', '.join(BAND_KINDS)}, not {ask.kind!r}")
    checked_count("withdrawn_threads_per_cm", ask.withdrawn_threads_per_cm)
    checked_count("standing_threads_per_cm", ask.standing_threads_per_cm)
    whole("bundle_threads", ask.bundle_threads)
    whole("stop_lines", ask.stop_lines, 0, 2)
    whole("pair_rows", ask.pair_rows, 1, 2)
    _check_one_of("withdraw_threads", ask.withdraw_threads, "width_mm", ask.width_mm)
    _check_one_of("standing_threads", ask.standing_threads, "length_mm", ask.length_mm)
    for field, value in (("closed_round", ask.closed_round), ("into_seam", ask.into_seam)):
        if not isinstance(value, bool):
            raise Wrong(field, "must be yes or no")


def _check_one_of(threads_field: str, threads: int | None, mm_field: str, size_mm: float | None) -> None:
    if (threads is None) == (size_mm is None):
        raise Wrong(threads_field, f"give {threads_field} or {mm_field}, one of the two")
    if threads is not None:
        whole(threads_field, threads, 1, MOST_THREADS)
    else:
        above_zero(mm_field, size_mm or 0.0)
