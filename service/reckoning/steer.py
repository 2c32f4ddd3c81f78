"""Steering a row of bundles back onto its stop line while there are bundles left to do it with.

What is wrong is seen in the threads left: there are more or fewer than the bundles left would take. The bundles to
come take one thread more or fewer each until that is made up, and their number stays as it is, so that a mirror, the
second edge and the pairs still come out. Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, get_args

from service.reckoning.asked import Wrong, whole
from service.reckoning.band_kinds import BandKind
from service.reckoning.counts import MOST_THREADS
from service.reckoning.findings import Finding

SteerWay = Literal["at once", "spread"]
STEER_WAYS: tuple[SteerWay, ...] = get_args(SteerWay)
LEAST_BUNDLE = 2
FURTHEST = 1  # threads more or fewer than the bundle was planned with


@dataclass(frozen=True, slots=True)
class SteerAsk:
    """A row on its way: the bundles it was planned with, how many are tied, and the threads left to the stop line.

    `bundle_threads` is what a bundle holds where none is odd. `since` is the last bundle at which it was right.
    The bundles next in turn make it up `at once`, or all that are left share it (`spread`).
    """

    kind: BandKind
    sizes: tuple[int, ...]
    bundle_threads: int
    reached: int
    threads_left: int
    since: int = 0
    way: SteerWay = "at once"

    @property
    def adrift(self) -> int:
        """The threads that are too many (above nothing) or too few for the bundles left as planned."""
        return self.threads_left - sum(self.sizes[self.reached :])


@dataclass(frozen=True, slots=True)
class Steered:
    """The row as steered: the size of every bundle, tied and to come, and which are to take another number.

    `changed` counts bundles from 1. While a finding waits, nothing is changed.
    """

    sizes: tuple[int, ...]
    adrift: int
    changed: tuple[int, ...]
    findings: tuple[Finding, ...]

    @property
    def waits(self) -> bool:
        """Whether it cannot be made up."""
        return any(finding.waits for finding in self.findings)


def steer(ask: SteerAsk) -> Steered:
    """Return the row made right: from the bundle reached on, its sizes are together the threads left.

    Raises Wrong at the field of what cannot be.

    >>> steered = steer(SteerAsk("ladder", (4,) * 130, 4, reached=124, threads_left=27, since=120))
    >>> steered.adrift, steered.changed, steered.sizes[120:]
    (3, (125, 126, 127), (3, 3, 3, 4, 5, 5, 5, 4, 4, 4))
    """
    _check(ask)
    if not ask.adrift:
        return Steered(ask.sizes, 0, (), ())
    step = 1 if ask.adrift > 0 else -1
    picked = _picked(ask, step)
    if len(picked) < abs(ask.adrift):
        return Steered(ask.sizes, ask.adrift, (), (_too_far(ask, len(picked)),))
    to_come = [size + step * (place in picked) for place, size in enumerate(ask.sizes)][ask.reached :]
    sizes = (*_as_tied(ask), *to_come)
    return Steered(sizes, ask.adrift, tuple(place + 1 for place in sorted(picked)), _findings(ask, sizes, picked))


@dataclass(frozen=True, slots=True)
class MirrorRow:
    """The row that mirrors a steered one: its bundles as planned, how many are tied, and whether it is worked from
    the other end, seen from the middle between the two.
    """

    name: str
    sizes: tuple[int, ...]
    tied: int = 0
    turned: bool = True


@dataclass(frozen=True, slots=True)
class MirrorSteered:
    """What becomes of a mirror: its bundles as they would stand opposite; while `why_not` says why, as they were."""

    sizes: tuple[int, ...]
    why_not: Finding | None = None


def opposite(ask: SteerAsk, steered: Steered, mirror: MirrorRow) -> MirrorSteered:
    """Return the mirror worked so that every odd bundle has its like opposite: it uses the same threads to the last.

    Only a mirror that is planned alike and not begun can follow; of pairs the two of a pair must stay together.

    >>> ask = SteerAsk("ladder", (4,) * 6, 4, reached=3, threads_left=13)
    >>> opposite(ask, steer(ask), MirrorRow("Left band", (4,) * 6)).sizes
    (4, 4, 5, 4, 4, 3)
    """
    if mirror.tied:
        begun = f"{mirror.tied} of its {len(mirror.sizes)} bundles are tied"
        return MirrorSteered(mirror.sizes, _stays("mirror_begun", mirror, begun))
    if (len(mirror.sizes), sum(mirror.sizes)) != (len(ask.sizes), sum(ask.sizes)):
        return MirrorSteered(mirror.sizes, _stays("mirror_counted", mirror, "its own threads were counted otherwise"))
    if mirror.turned and ask.kind == "ladder_paired" and len(ask.sizes) % 2:
        return MirrorSteered(mirror.sizes, _stays("mirror_pairs", mirror, "its pairs would fall otherwise"))
    return MirrorSteered(steered.sizes[::-1] if mirror.turned else steered.sizes)


def _stays(code: str, mirror: MirrorRow, why: str) -> Finding:
    text = f"{mirror.name}, the mirror of this row, stays as planned, for {why}. Some bundles will differ by a thread."
    return Finding(code, text)


def in_words(ask: SteerAsk, steered: Steered) -> str:
    """Return what to do, as it is said at the table.

    >>> ask = SteerAsk("ladder", (4,) * 130, 4, reached=124, threads_left=27, since=120)
    >>> in_words(ask, steer(ask))
    '3 threads adrift since bundle 120: take 5 in each of the next 3 bundles, 125 to 127.'
    """
    if not steered.adrift:
        return "The row is right: the threads left are those of the bundles left."
    adrift = f"{_threads(abs(steered.adrift))} adrift" + (f" since bundle {ask.since}" if ask.since else "")
    if steered.waits:
        return f"{adrift}."
    takes = sorted({steered.sizes[number - 1] for number in steered.changed})
    return f"{adrift}: take {' or '.join(map(str, takes))} in {_which(ask, steered.changed)}."


def _which(ask: SteerAsk, changed: tuple[int, ...]) -> str:
    first, last = changed[0], changed[-1]
    if len(changed) == 1:
        return f"bundle {first}"
    if last - first == len(changed) - 1:
        near = "the next" if first == ask.reached + 1 else "the"
        return f"each of {near} {len(changed)} bundles{',' if near == 'the next' else ''} {first} to {last}"
    return f"{len(changed)} bundles: {', '.join(map(str, changed))}"


def _threads(count: int) -> str:
    return "1 thread" if count == 1 else f"{count} threads"


def _check(ask: SteerAsk) -> None:
    if not ask.sizes:
        raise Wrong("sizes", "name at least one bundle")
    for size in (*ask.sizes, ask.bundle_threads):
        whole("sizes", size, 1, MOST_THREADS)
    whole("reached", ask.reached, 0, len(ask.sizes) - 1)
    whole("threads_left", ask.threads_left, 1, MOST_THREADS)
    whole("since", ask.since, 0, ask.reached)
    if ask.way not in STEER_WAYS:
        raise Wrong("way", f"must be one of {', '.join(STEER_WAYS)}")
    if ask.adrift and ask.since == ask.reached:
        raise Wrong("since", "must be a bundle before the one you reached, for there it is adrift already")
    if sum(ask.sizes[ask.since : ask.reached]) - ask.adrift < ask.reached - ask.since:
        raise Wrong("threads_left", "are more than the bundles tied since could have left: count them again")


def _as_tied(ask: SteerAsk) -> tuple[int, ...]:
    """The bundles tied, what went astray shared evenly among those tied since it was last right."""
    if not ask.adrift:
        return ask.sizes[: ask.reached]
    tied = ask.sizes[ask.since : ask.reached]
    number, off = len(tied), -ask.adrift
    ends = [(place * abs(off) + number - 1) // number for place in range(number + 1)]
    shares = [(after - before) * (1 if off > 0 else -1) for before, after in pairwise(ends)]
    return (
        *ask.sizes[: ask.since],
        *_without_nothing([size + share for size, share in zip(tied, shares, strict=True)]),
    )


def _without_nothing(sizes: Sequence[int]) -> tuple[int, ...]:
    """The same threads with at least one in every bundle: the largest give to those that would hold none."""
    found = list(sizes)
    while min(found) < 1:
        found[found.index(min(found))] += 1
        found[found.index(max(found))] -= 1
    return tuple(found)


def _picked(ask: SteerAsk, step: int) -> frozenset[int]:
    """The places of the bundles to take a thread more or fewer: whole pairs first, where pairs are knotted."""
    need = abs(ask.adrift)
    free = [place for place in range(ask.reached, len(ask.sizes)) if _may_change(ask, place, step)]
    if ask.kind != "ladder_paired":
        return frozenset(_chosen([(place,) for place in free], min(need, len(free)), ask.way))
    pairs = [(place, place + 1) for place in free if place % 2 == 0 and place + 1 in free]
    picked = _chosen(pairs, min(need // 2, len(pairs)), ask.way)
    alone = [place for place in free if place not in {each for pair in pairs for each in pair}]
    others = [*alone, *(place for place in free if place not in picked and place not in alone)]
    return frozenset([*picked, *others[: need - len(picked)]])


def _may_change(ask: SteerAsk, place: int, step: int) -> bool:
    after = ask.sizes[place] + step
    return after >= LEAST_BUNDLE and abs(after - ask.bundle_threads) <= FURTHEST


def _chosen(groups: Sequence[tuple[int, ...]], number: int, way: SteerWay) -> list[int]:
    places = (
        range(number) if way == "at once" else [(2 * each + 1) * len(groups) // (2 * number) for each in range(number)]
    )
    return [place for each in places for place in groups[each]]


def _too_far(ask: SteerAsk, able: int) -> Finding:
    back = f"unpick back to bundle {ask.since}" if ask.since else "unpick back to where it was right"
    text = (
        f"{len(ask.sizes) - ask.reached} bundles are left, and at most one thread more or fewer a bundle makes up "
        f"{able}. Count the threads left once more; if it is so, {back}, or count the cloth again."
    )
    return Finding("too_far", text, waits=True)


def _findings(ask: SteerAsk, sizes: Sequence[int], picked: frozenset[int]) -> tuple[Finding, ...]:
    found = []
    if ask.kind == "serpentine" and any(sizes[place] % 2 for place in picked):
        text = "A bundle of an odd number is not halved evenly on the second edge: let the halves lean the same way."
        found.append(Finding("odd_halves", text))
    if ask.kind == "ladder_paired" and any(place ^ 1 not in picked for place in picked if place ^ 1 < len(sizes)):
        found.append(Finding("uneven_pair", "One pair is knotted of two bundles that differ by a thread."))
    if ask.kind == "tuck_band":
        found.append(Finding("both_layers", "Take the same number from each layer, or the tuck twists."))
    return tuple(found)
