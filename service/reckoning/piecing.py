"""Joining bias strips: how two ends are laid for the seam, and where the joins fall along a bound edge."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.reckoning.shapes import Point
from service.reckoning.strips import DUST_MM, along_straight_grain_mm, join_loss_mm

Triangle = tuple[Point, Point, Point]
Quad = tuple[Point, Point, Point, Point]


@dataclass(frozen=True, slots=True)
class Join:
    """Two strip ends laid right sides together at a right angle, to be sewn on the straight grain.

    The upper strip is slipped past the under one until their edges meet on the stitching line: then each pointed
    end, its ear, stands `ear_mm` beyond the stitching line, measured square to it. That is the seam allowance; along
    the raw ends the tips are twice as far apart, and an ear reaches √2 times as far beyond the other strip's edge.
    Coordinates in mm: the stitching line lies on y = 0 from x = 0, the raw ends above it at y = `ear_mm`.
    """

    ear_mm: float
    beyond_edge_mm: float
    tips_apart_mm: float
    stitching: tuple[Point, Point]
    under: Quad
    upper: Quad
    ears: tuple[Triangle, Triangle]


@dataclass(frozen=True, slots=True)
class Piece:
    """The stretch of the bound edge that one strip covers, in mm from the edge's start.

    In a ring the last stretches may run past the start: their places then go on beyond the edge's length.
    """

    strip: int
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class EdgeToBind:
    """An edge and the places along it, such as the centre front, that joins keep `clear_mm` away from."""

    edge_mm: float
    closed: bool
    join_seam_mm: float
    keep_clear_at_mm: tuple[float, ...] = ()
    clear_mm: float = 0.0


def join_of(cut_width_mm: float, join_seam_mm: float) -> Join:
    """Return how the ends of two strips lie for their join, drawn two strip widths long.

    Source of the offset: McGlauflin, Handicraft for Girls, 1910 (slipped past by the width of the seam, so that the
    edges meet on the stitching line); that it is measured square to the seam follows from the geometry.

    >>> join = join_of(38.1, 6)
    >>> join.ear_mm, join.tips_apart_mm, join.ears[0]
    (6, 12, ((-6, 6), (6, 6), (0.0, 0.0)))
    """
    seam = join_seam_mm
    wide = along_straight_grain_mm(cut_width_mm)
    down = 2 * wide
    return Join(
        ear_mm=seam,
        beyond_edge_mm=along_straight_grain_mm(seam),
        tips_apart_mm=2 * seam,
        stitching=((0.0, 0.0), (wide, 0.0)),
        under=((seam, seam), (wide + seam, seam), (wide - down, -down), (-down, -down)),
        upper=((-seam, seam), (wide - seam, seam), (wide + down, -down), (down, -down)),
        ears=(
            ((-seam, seam), (seam, seam), (0.0, 0.0)),
            ((wide - seam, seam), (wide + seam, seam), (wide, 0.0)),
        ),
    )


def pieces_along(edge: EdgeToBind, lengths_mm: Sequence[float]) -> tuple[Piece, ...]:
    """Return the fewest strips that cover the edge, and where each one lies on it.

    `lengths_mm` are the usable strips, longest first. Spare length is trimmed from the start of an open run, and a
    closed run is turned, until no join lies within the margin of a place to keep clear; the shortest strip goes
    first, or one more strip is joined on, if that helps. When nothing helps the fewest strips are joined as they
    come. Too little bias gives no pieces.

    >>> pieces_along(EdgeToBind(400, closed=False, join_seam_mm=0), [300, 200])
    (Piece(strip=1, from_mm=0.0, to_mm=300.0), Piece(strip=2, from_mm=300.0, to_mm=400.0))
    """
    fewest = _fewest(edge, lengths_mm)
    if fewest == 0:
        return ()
    for count in (fewest, fewest + 1) if fewest < len(lengths_mm) and not edge.closed else (fewest,):
        for order in _orders(count):
            ends = _ends_mm(edge, [lengths_mm[strip] for strip in order])
            start_mm = _clear_start_mm(edge, ends, spare=count > fewest)
            if start_mm is not None:
                return _pieces(edge, order, ends, start_mm)
    return _pieces(edge, range(fewest), _ends_mm(edge, lengths_mm[:fewest]), 0.0)


def joins_near(edge: EdgeToBind, pieces: Sequence[Piece]) -> tuple[float, ...]:
    """Return the places to keep clear that a join comes too close to, in mm from the edge's start."""
    joins = [piece.to_mm for piece in (pieces if edge.closed else pieces[:-1])]
    return tuple(
        place
        for place in edge.keep_clear_at_mm
        if any(_apart_mm(edge, join, place) < edge.clear_mm - DUST_MM for join in joins)
    )


def _apart_mm(edge: EdgeToBind, one_mm: float, other_mm: float) -> float:
    apart = abs(one_mm - other_mm)
    return min(apart % edge.edge_mm, -apart % edge.edge_mm) if edge.closed else apart


def _fewest(edge: EdgeToBind, lengths_mm: Sequence[float]) -> int:
    loss = join_loss_mm(edge.join_seam_mm)
    run = 0.0 if edge.closed else loss
    for count, length in enumerate(lengths_mm, start=1):
        run += length - loss
        if run >= edge.edge_mm - DUST_MM:
            return count
    return 0


def _orders(count: int) -> tuple[tuple[int, ...], ...]:
    """Return the strips as they come, then with the shortest first."""
    strips = tuple(range(count))
    return strips, (strips[-1], *strips[:-1])


def _ends_mm(edge: EdgeToBind, lengths_mm: Sequence[float]) -> list[float]:
    """Return where each strip of the run ends, at the middle of its join, from the run's untrimmed start."""
    loss = join_loss_mm(edge.join_seam_mm)
    ends, reached = [], 0.0 if edge.closed else loss / 2
    for length in lengths_mm:
        reached += length - loss
        ends.append(reached)
    if not edge.closed:
        ends[-1] += loss / 2
    return ends


def _clear_start_mm(edge: EdgeToBind, ends: Sequence[float], *, spare: bool) -> float | None:
    """Return the least trim (open) or turn (closed) that keeps every join clear, or None."""
    start, most = 0.0, edge.edge_mm if edge.closed else ends[-1] - edge.edge_mm
    if spare:  # the first and the last strip must both reach past their joins
        loss = join_loss_mm(edge.join_seam_mm)
        start, most = max(0.0, ends[-2] - edge.edge_mm + loss), min(most, ends[0] - loss)
    for low, high in sorted(_forbidden(edge, ends)):
        if low < start < high:
            start = high
    return start if start <= most + DUST_MM else None


def _forbidden(edge: EdgeToBind, ends: Sequence[float]) -> Iterator[tuple[float, float]]:
    """Yield the starts that would bring a join too near to a place to keep clear."""
    for place in edge.keep_clear_at_mm:
        for join in (0.0, *ends[:-1]) if edge.closed else ends[:-1]:
            if edge.closed:
                turn = (place - join) % edge.edge_mm
                for start in (turn - edge.edge_mm, turn, turn + edge.edge_mm):
                    yield start - edge.clear_mm, start + edge.clear_mm
            else:
                yield join - place - edge.clear_mm, join - place + edge.clear_mm


def _pieces(edge: EdgeToBind, order: Sequence[int], ends: Sequence[float], start_mm: float) -> tuple[Piece, ...]:
    begin_mm = start_mm if edge.closed else 0.0
    shift_mm = start_mm if edge.closed else -start_mm
    stops = [*(end + shift_mm for end in ends[:-1]), begin_mm + edge.edge_mm]
    return tuple(
        Piece(strip + 1, begin, stop) for strip, begin, stop in zip(order, [begin_mm, *stops[:-1]], stops, strict=True)
    )
