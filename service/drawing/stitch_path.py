"""How each kind of band is stitched: the thread's way drawn large, its order numbered as the sentences tell it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.drawing.bands import draw_thread
from service.drawing.close_parts import needle
from service.drawing.pen import Pen
from service.drawing.stitch_words import BAND_WORDS, stitch_order
from service.drawing.svg import Picture, box, drawn, lettering, mark, path
from service.reckoning.designs import WorkDirection, one_of
from service.reckoning.shapes import Point, Rect

WIDTH, HEIGHT = 360.0, 250.0
TOP, BOTTOM = 66.0, 186.0  # the band's upper and lower edge
CLOTH = Rect(0, 34, WIDTH, 240)
MIDDLES = (50.0, 138.0, 226.0, 314.0)
OFFSETS = (-21.0, -7.0, 7.0, 21.0)
TIGHT, LOOSE = 0.13, 0.5
LOW, HIGH = BOTTOM - 22, TOP + 22


@dataclass(frozen=True, slots=True)
class Way:
    """A stitch's way: what lies in front, what passes behind, and the numbered points, all for work to the right.

    Each piece is a curve from its first point to its last, pulled towards those between. `eye` and `tip` are the
    needle's.
    """

    front: tuple[tuple[Point, Point, Point], ...]
    behind: tuple[tuple[Point, Point, Point], ...]
    points: tuple[Point, ...]
    eye: Point
    tip: Point


@dataclass(frozen=True, slots=True)
class Turn:
    """Which way the drawing runs: work to the left is the same drawing in a mirror, its words kept readable."""

    leftwards: bool

    def x(self, x: float) -> float:
        """A place along the band."""
        return WIDTH - x if self.leftwards else x

    def at(self, point: Point) -> Point:
        """A point."""
        return self.x(point[0]), point[1]


def stitch_path(
    kind: str, work_direction: WorkDirection = "left to right", catch_threads: int | None = None, prefix: str = "path"
) -> str:
    """Return the diagram of a kind's stitch as SVG; its numbers are those of `stitch_order`.

    Raises Wrong for a kind that is no band.
    """
    one_of("work_direction", work_direction, ("left to right", "right to left"))
    order = stitch_order(kind, catch_threads)
    turn = Turn(work_direction == "right to left")
    way = _WAYS[kind]()
    body = (
        _cloth(kind, turn)
        + _pieces("d-behind", way.behind, turn, width=2.2)
        + _threads(kind, turn)
        + _pieces("d-bare", way.front, turn, width=5.4)
        + _pieces("d-working", way.front, turn, width=2.8)
        + needle(turn.at(way.eye), turn.at(way.tip))
        + "".join(_number(at, point, turn) for at, point in enumerate(way.points, 1))
        + _direction(turn, work_direction)
    )
    text = "\n".join([*(f"{at}. {words}" for at, words in enumerate(order.steps, 1)), order.then]).strip()
    title = f"{BAND_WORDS[kind]}: the stitch, worked {work_direction}"
    return drawn(Picture(Rect(0, 0, WIDTH, HEIGHT), title, text, prefix, "path", 1, 12.5), body)


def _cloth(kind: str, turn: Turn) -> str:
    edges = Pen()
    for y in (TOP, BOTTOM):
        edges.run(((0, y), (WIDTH, y)))
    weave = Pen()
    for x in range(8, int(WIDTH), 14):
        weave.run(((x, CLOTH.top), (x, TOP)))
        weave.run(((x, BOTTOM), (x, CLOTH.bottom)))
    for y in (42, 50, 58, 195, 203, 211, 219, 227, 235):
        weave.run(((0, y), (WIDTH, y)))
    folded = {"hem_band": "hem, folded", "tuck_band": "tuck, both layers"}.get(kind)
    below = box("d-hem", Rect(0, BOTTOM, WIDTH, CLOTH.bottom)) if folded else ""
    word = ""
    if folded:
        anchor = "end" if turn.leftwards else "start"
        word = lettering("d-quiet", (turn.x(10), CLOTH.bottom - 8), folded, text_anchor=anchor)
    return (
        box("d-cloth", CLOTH)
        + path("d-weave", weave.d, stroke_width=0.8)
        + below
        + box("d-gap", Rect(0, TOP, WIDTH, BOTTOM))
        + path("d-edge", edges.d, stroke_width=1.6)
        + word
    )


def _threads(kind: str, turn: Turn) -> str:
    """The standing threads: tied ones drawn together, those in the open loop half so, the others straight."""
    done, rest, back = Pen(), Pen(), Pen()
    for bundle, middle in enumerate(MIDDLES):
        for offset in OFFSETS:
            ties = _TIES[kind](bundle, offset)
            x = middle + offset
            way = [(x, TOP), *((tied, y) for y, tied in sorted(ties)), (x, BOTTOM)]
            draw_thread(done if ties else rest, [turn.at(point) for point in way])
            if kind == "tuck_band":
                draw_thread(back, [turn.at((at[0] + 4, at[1])) for at in way])
    return (
        path("d-pencil", back.d, stroke_width=1.4)
        + path("d-thread", rest.d, stroke_width=3)
        + path("d-done", done.d, stroke_width=3)
        + _tight_knots(kind, turn)
    )


Tie = tuple[float, float]  # how far down, and where along


def _to(middle: float, offset: float, share: float, y: float) -> Tie:
    return y, middle + offset * share


def _ties_low(bundle: int, offset: float) -> list[Tie]:
    if bundle > 1:
        return []
    return [_to(MIDDLES[bundle], offset, TIGHT if bundle == 0 else LOOSE, LOW)]


def _ties_ladder(bundle: int, offset: float) -> list[Tie]:
    return [*_ties_low(bundle, offset), _to(MIDDLES[bundle], offset, TIGHT, HIGH)]


def _ties_serpentine(bundle: int, offset: float) -> list[Tie]:
    """Above, whole bundles of the first edge; below, the halves of two neighbours, tied as far as the second bundle."""
    above = _to(MIDDLES[bundle], offset, TIGHT, HIGH)
    between = MIDDLES[bundle] + (44 if offset > 0 else -44)
    if between > MIDDLES[2]:
        return [above]
    share = LOOSE if between > MIDDLES[1] else TIGHT
    own = MIDDLES[bundle] + offset - between
    return [above, (LOW, between + own * share)]


def _ties_alternating(bundle: int, offset: float) -> list[Tie]:
    levels = (HIGH, LOW, HIGH)
    if bundle > 2:
        return []
    return [_to(MIDDLES[bundle], offset, TIGHT if bundle == 0 else LOOSE, levels[bundle])]


def _ties_paired(bundle: int, offset: float) -> list[Tie]:
    edges = [_to(MIDDLES[bundle], offset, TIGHT, y) for y in (TOP + 8, BOTTOM - 8)]
    pair = (MIDDLES[1] + MIDDLES[2]) / 2
    if bundle in {1, 2}:
        return [*edges, (126.0, pair + (MIDDLES[bundle] - pair) * 0.34 + offset * 0.2)]
    beyond = MIDDLES[bundle] + (-44 if bundle == 0 else 44)
    share = 0.16 if bundle == 0 else 1
    return [*edges, (126.0, beyond + (MIDDLES[bundle] - beyond) * share + offset * 0.1)] if bundle == 0 else edges


_TIES: dict[str, Callable[[int, float], list[Tie]]] = {
    "hem_band": _ties_low,
    "tuck_band": _ties_low,
    "ladder": _ties_ladder,
    "serpentine": _ties_serpentine,
    "alternating": _ties_alternating,
    "ladder_paired": _ties_paired,
}


def _tight_knots(kind: str, turn: Turn) -> str:
    """The knots that are drawn tight already."""
    high = [(middle, HIGH) for middle in MIDDLES]
    places: dict[str, list[Point]] = {
        "hem_band": [(MIDDLES[0], LOW)],
        "tuck_band": [(MIDDLES[0], LOW)],
        "ladder": [(MIDDLES[0], LOW), *high],
        "serpentine": [*high, (MIDDLES[0] - 44, LOW), (MIDDLES[0] + 44, LOW)],
        "alternating": [(MIDDLES[0], HIGH)],
        "ladder_paired": [*((middle, y) for middle in MIDDLES for y in (TOP + 8, BOTTOM - 8)), (MIDDLES[0] - 44, 126)],
    }
    pen = Pen()
    for x, y in places[kind]:
        for turn_of_thread in (-2.5, 2.5):
            pen.run((turn.at((x - 6, y + turn_of_thread)), turn.at((x + 6, y + turn_of_thread))))
    return path("d-knot", pen.d, stroke_width=3.6)


def _low_round(middle: float) -> Way:
    """The knot at the lower edge, open: over the front, back behind, over the front again and through the edge."""
    left, right = middle - 36, middle + 36
    out, over, back, through = (left, BOTTOM + 14), (right, LOW + 4), (left, LOW - 12), (right + 2, BOTTOM + 2)
    caught = (right + 10, BOTTOM + 18)
    return Way(
        front=(
            (out, (middle - 20, LOW + 22), over),
            (back, (middle, LOW + 4), through),
            (caught, (right + 22, BOTTOM + 24), (right + 34, BOTTOM + 26)),
        ),
        behind=((over, (middle, LOW - 34), back), (through, (right, BOTTOM + 12), caught)),
        points=(
            (out[0] - 2, out[1] + 10),
            (over[0] + 11, over[1] - 4),
            (back[0] - 9, back[1] - 6),
            (caught[0] - 8, caught[1] + 12),
        ),
        eye=(right + 34, BOTTOM + 26),
        tip=(right + 92, BOTTOM + 40),
    )


def _alternating_way() -> Way:
    low, high = MIDDLES[1], MIDDLES[2]
    out, over, back = (low - 36, BOTTOM + 14), (low + 32, LOW + 4), (low - 34, LOW - 12)
    through, caught = (low + 30, BOTTOM + 2), (low + 46, BOTTOM + 16)
    up, over_high, back_high = (high - 34, TOP - 12), (high + 34, HIGH - 4), (high - 34, HIGH + 14)
    end, eye = (high + 34, TOP - 4), (high + 46, TOP - 14)
    return Way(
        front=(
            (out, (low - 20, LOW + 22), over),
            (back, (low, LOW + 4), through),
            (caught, (low + 62, 130), up),
            (up, (high - 14, HIGH - 18), over_high),
            (back_high, (high, HIGH - 2), end),
            (end, (high + 40, TOP - 10), eye),
        ),
        behind=(
            (over, (low, LOW - 34), back),
            (through, (low + 36, BOTTOM + 14), caught),
            (over_high, (high, HIGH + 36), back_high),
        ),
        points=(
            (out[0] - 2, out[1] + 10),
            (over[0] + 9, over[1] - 9),
            (back[0] - 9, back[1] - 8),
            (low + 41, 118),
            (over_high[0] + 10, over_high[1] + 10),
        ),
        eye=eye,
        tip=(high + 104, TOP - 26),
    )


def _paired_way() -> Way:
    middle = (MIDDLES[1] + MIDDLES[2]) / 2
    left, right = middle - 30, middle + 30
    rounds = (108.0, 124.0, 140.0)
    start, under, eye = (MIDDLES[0] - 36, 126.0), (middle + 10, rounds[2] - 2), (right + 20, 92.0)
    return Way(
        front=(
            (start, ((start[0] + left) / 2, 160), (left, rounds[0] + 4)),
            ((left, rounds[0] + 4), (middle, rounds[0] - 6), (right, rounds[0] + 2)),
            ((left, rounds[1] + 2), (middle, rounds[1] - 6), (right, rounds[1] + 2)),
            ((left, rounds[2] + 2), (middle - 8, rounds[2] - 2), under),
            ((right + 4, 98), (right + 12, 92), eye),
        ),
        behind=(
            ((right, rounds[0] + 2), (middle, rounds[0] + 10), (left, rounds[1] + 2)),
            ((right, rounds[1] + 2), (middle, rounds[1] + 10), (left, rounds[2] + 2)),
            (under, (middle + 26, 126), (right + 4, 98)),
        ),
        points=((98, 152), (left - 12, rounds[0] + 2), (left - 12, rounds[1] + 2), (left - 12, rounds[2] + 4)),
        eye=eye,
        tip=(right + 76, 76),
    )


_WAYS: dict[str, Callable[[], Way]] = {
    "hem_band": lambda: _low_round(MIDDLES[1]),
    "tuck_band": lambda: _low_round(MIDDLES[1]),
    "ladder": lambda: _low_round(MIDDLES[1]),
    "serpentine": lambda: _low_round(MIDDLES[1] + 44),
    "alternating": _alternating_way,
    "ladder_paired": _paired_way,
}


def _pieces(ink: str, pieces: Sequence[tuple[Point, Point, Point]], turn: Turn, *, width: float) -> str:
    pen = Pen()
    for start, by, to in pieces:
        pen.move(*turn.at(start))
        pen.bend(turn.at(by), turn.at(to))
    dashes = "5 4.5" if ink == "d-behind" else None
    return path(ink, pen.d, stroke_width=width, stroke_dasharray=dashes)


def _number(at: int, point: Point, turn: Turn) -> str:
    x, y = turn.at(point)
    disc = mark("circle", "d-number", cx=x, cy=y, r=8.5)
    return disc + lettering("d-number-text", (x, y + 4.2), str(at), text_anchor="middle", font_weight=600)


def _direction(turn: Turn, words: str) -> str:
    """An arrow the way the work runs, and its words."""
    tail, tip = turn.x(14), turn.x(74)
    back = 8 if turn.leftwards else -8
    pen = Pen()
    pen.run(((tail, 17), (tip, 17)))
    pen.run(((tip + back, 11), (tip, 17), (tip + back, 23)))
    anchor = "end" if turn.leftwards else "start"
    return path("d-here", pen.d, stroke_width=2.2) + lettering(
        "d-text", (turn.x(84), 21.5), f"worked {words}", text_anchor=anchor
    )
