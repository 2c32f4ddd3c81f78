"""A band close to: the bundles round the place reached as they lie in the hand, and the whole length under them.

It is drawn as it is held: the edge being worked lies below, so for the second edge the work is turned
(Butterick, The New Dressmaker, 1921, p. 120).
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from service.drawing.bands import Stretch, Weave, draw_thread, pinched_band
from service.drawing.close_parts import (
    BAND,
    CLOTH,
    FINE,
    LETTERS,
    NUMBERS_AT,
    SIDE,
    STRIP,
    VIEW,
    WIDTH,
    Count,
    headline,
    here,
    needle,
    weave,
)
from service.drawing.pen import Pen
from service.drawing.rows import FIRST_EDGE, SECOND_EDGE, Row, Tied, rows_of, tied
from service.drawing.shown import ShownBand, ShownSection
from service.drawing.svg import Picture, box, drawn, group, lettering, path
from service.reckoning.asked import Wrong, whole
from service.reckoning.shapes import Place, Rect

THREADS_SHOWN = 36
MOST_BUNDLES_SHOWN, LEAST_BUNDLES_SHOWN = 9, 3
MOST_THREAD_PX = 11.0
EDGES = (FIRST_EDGE, SECOND_EDGE)


@dataclass(frozen=True, slots=True)
class InHand:
    """A band as it lies in the hand while one row is worked.

    `weave` places its threads; `state` is how far each row is tied; `at` is the row being worked.
    """

    band: ShownBand
    state: tuple[Tied, ...]
    at: int
    weave: Weave
    threads: int

    @property
    def row(self) -> Row:
        """The row being worked."""
        return self.state[self.at].row

    @property
    def done(self) -> int:
        """The knots of that row that are tied."""
        return self.state[self.at].done

    @property
    def leftwards(self) -> bool:
        """Whether the work runs to the left."""
        return self.band.work_direction == "right to left"

    @property
    def next_knot(self) -> int | None:
        """The knot to tie next, if there is one left."""
        return self.row.next_knot(self.done) if self.done < self.row.knots else None

    def middle(self, row: Row, knot: int) -> float:
        """Where a knot stands along the band."""
        return self.weave.along((row.edges[knot] + row.edges[knot + 1]) / 2)

    def level(self, row: Row, knot: int) -> float:
        """How far down a knot stands."""
        return self.weave.lie.depth(row.depth(knot))

    def is_seen(self, x: float, margin: float = 20) -> bool:
        """Whether something there is in the window."""
        return -margin < x < WIDTH + margin


def knots_close_up(band: ShownBand, operation: str, done: int, prefix: str = "close") -> str:
    """Return the close-up of a band at the place reached when `done` knots of that operation are tied.

    Raises Wrong when the band has no such knots, or fewer than `done`.
    """
    rows = rows_of(band.kind, band.sizes, pair_rows=band.pair_rows, closed_round=band.closed_round)
    knots = sum(row.knots for row in rows if row.operation == operation)
    if not knots:
        raise Wrong("operation", f"a {band.kind} has no {operation!r}")
    whole("done", done, 0, knots)
    hand = _in_hand(band, rows, operation, done)
    count = _count(hand)
    body = (
        headline(_next_words(hand, count), _row_words(hand), leftwards=hand.leftwards)
        + _cloth(hand)
        + _threads_and_knots(hand)
        + _ends(hand)
        + _numbers(hand)
        + _whole_length(hand, count)
    )
    text = f"{_next_words(hand, count)}. {_row_words(hand)}. {count.words}. Worked {band.work_direction}."
    return drawn(Picture(VIEW, band.name, text, prefix, "close", 1, LETTERS), body)


def _in_hand(band: ShownBand, rows: tuple[Row, ...], operation: str, done: int) -> InHand:
    state = tied(rows, operation, done)
    own = [at for at, one in enumerate(state) if one.row.operation == operation]
    at = next((at for at in own if state[at].done < state[at].row.knots), own[-1])
    row = state[at].row
    threads = sum(band.sizes)
    shown = min(threads, _bundles_shown(band) * threads / band.bundles)
    pitch = min(MOST_THREAD_PX, (WIDTH - 2 * SIDE) / shown)
    turned = row.turned
    mirrored = turned != (band.work_direction == "right to left")
    knot = row.next_knot(state[at].done)
    middle = (row.edges[knot] + row.edges[knot + 1]) / 2
    from_left = threads - middle if mirrored else middle
    share = 0.42 if band.work_direction == "right to left" else 0.58
    left = min(max(from_left - share * shown, 0), threads - shown)
    start = (WIDTH - shown * pitch) / 2 - left * pitch
    lie = Stretch("across", start, threads * pitch, BAND.top, BAND.height, flipped=turned)
    return InHand(band, state, at, Weave(lie, pitch, mirrored), threads)


def _bundles_shown(band: ShownBand) -> int:
    return max(LEAST_BUNDLES_SHOWN, min(MOST_BUNDLES_SHOWN, round(THREADS_SHOWN / max(band.sizes))))


def _count(hand: InHand) -> Count:
    one, several = ("pair", "pairs") if hand.row.operation == "pair_knot" else ("bundle", "bundles")
    if hand.band.kind == "serpentine" and hand.at > 0:
        one, several = "knot", "knots"
    within = "row" if hand.row.operation == "pair_knot" else "edge"
    return Count(hand.done, hand.row.knots, one, several, within)


def _next_words(hand: InHand, count: Count) -> str:
    knot = hand.next_knot
    if knot is None:
        return count.words
    gathered = hand.row.edges[knot + 1] - hand.row.edges[knot]
    threads = "1 thread" if gathered == 1 else f"{gathered} threads"
    if hand.band.kind == "tuck_band":
        threads = f"{gathered} + {threads}"
    return f"Next: {count.one} {hand.done + 1} of {count.whole}, {threads}"


def _row_words(hand: InHand) -> str:
    knot = hand.next_knot
    if hand.row.operation == "pair_knot":
        if hand.band.pair_rows == 1:
            return "Pairs, in the middle of the band"
        rows = [one for one in hand.state if one.row.operation == "pair_knot"]
        return "Pairs, the first row" if hand.state[hand.at] is rows[0] else "Pairs, the second row"
    if hand.band.kind == "alternating":
        return "Upper edge" if knot is not None and hand.row.depth(knot) < FIRST_EDGE else "Lower edge"
    if hand.band.kind == "hem_band":
        return "Along the hem"
    if hand.band.kind == "tuck_band":
        return "Along the tuck, both layers together"
    if hand.row.turned:
        halves = ": half and half" if hand.band.kind == "serpentine" else ": the same bundles"
        return f"Second edge, work turned{halves}"
    return "First edge"


def _cloth(hand: InHand) -> str:
    lie, pitch = hand.weave.lie, hand.weave.pitch
    left, right = _cloth_seen(hand)
    cloth = weave(Rect(left, CLOTH.top, right, CLOTH.bottom), pitch, lie.start + pitch / 2)
    gap = Rect(max(0.0, lie.start), BAND.top, min(WIDTH, lie.start + lie.length), BAND.bottom)
    edges = Pen()
    for y in (BAND.top, BAND.bottom):
        edges.run(((gap.left, y), (gap.right, y)))
    hem = ""
    if hand.band.kind in {"hem_band", "tuck_band"}:
        basting = Pen()
        basting.run(((left, BAND.bottom + 26), (right, BAND.bottom + 26)))
        hem = box("d-hem", Rect(left, BAND.bottom, right, CLOTH.bottom))
        hem += path("d-pencil", basting.d, stroke_dasharray="9 5")
    return cloth + hem + box("d-gap", gap) + path("d-edge", edges.d, stroke_width=1.4)


def _cloth_seen(hand: InHand) -> tuple[float, float]:
    """How far the cloth reaches in the window: it ends where the band runs out at an open end."""
    left, right = 0.0, WIDTH
    for end, thread in (("start", 0), ("end", hand.threads)):
        x = hand.weave.along(thread)
        if end not in hand.band.ends_at and not hand.band.closed_round:
            if (thread == 0) != hand.weave.mirrored:
                left = max(left, x)
            else:
                right = min(right, x)
    return left, right


def _threads_and_knots(hand: InHand) -> str:
    """Threads and tied knots; then the needle, under the bundle that is next."""
    knot = hand.next_knot
    coming = range(*hand.row.edges[knot : knot + 2]) if knot is not None else range(0)
    loose, together, over_loose, over_together = (Pen() for _ in range(4))
    for thread in range(hand.threads):
        if not hand.is_seen(hand.weave.along(thread + 0.5)):
            continue
        way = hand.weave.way(thread, hand.state)
        is_over = thread in coming
        is_tied = len(way) > 2
        pen = {
            (False, False): loose,
            (False, True): together,
            (True, False): over_loose,
            (True, True): over_together,
        }[is_over, is_tied]
        draw_thread(pen, way)
    width = max(1.2, min(2.2, hand.weave.pitch * 0.24))
    return (
        _back_layer(hand)
        + path("d-thread", loose.d, stroke_width=width)
        + path("d-done", together.d, stroke_width=width)
        + "".join(_row(hand, one) for one in hand.state)
        + (_needle(hand, knot) if knot is not None else "")
        + path("d-thread", over_loose.d, stroke_width=width + 0.5)
        + path("d-done", over_together.d, stroke_width=width + 0.5)
    )


def _back_layer(hand: InHand) -> str:
    """The tuck's other layer, seen between the threads of the front one."""
    if hand.band.kind != "tuck_band":
        return ""
    behind = replace(hand.weave, lie=replace(hand.weave.lie, start=hand.weave.lie.start + 0.32 * hand.weave.pitch))
    pen = Pen()
    for thread in range(hand.threads):
        if hand.is_seen(behind.along(thread + 0.5)):
            draw_thread(pen, behind.way(thread, hand.state))
    return path("d-pencil", pen.d, stroke_width=0.8)


def _row(hand: InHand, one: Tied) -> str:
    """The tied knots of a row: the thread wound round each bundle, and its way from knot to knot."""
    row = one.row
    wraps, ways = Pen(), Pen()
    seen = [
        knot
        for knot in range(row.knots)
        if row.is_tied(knot, one.done)
        and row.edges[knot] < row.edges[knot + 1]
        and hand.is_seen(hand.middle(row, knot))
    ]
    for knot in seen:
        x, y = hand.middle(row, knot), hand.level(row, knot)
        half = max(3.2, hand.weave.pitch * 0.16 * (row.edges[knot + 1] - row.edges[knot]))
        for turn in (-2, 2):
            wraps.run(((x - half, y + turn), (x + half, y + turn)))
    for knot, after in pairwise(seen):
        a, b = ((hand.middle(row, at), hand.level(row, at)) for at in (knot, after))
        if row.operation == "pair_knot":
            ways.move(*a)
            ways.bend(((a[0] + b[0]) / 2, a[1] + 9), b)
        elif a[1] != b[1]:
            ways.run((a, b))
        else:
            edge = BAND.bottom if a[1] > (BAND.top + BAND.bottom) / 2 else BAND.top
            into = edge + (7 if edge == BAND.bottom else -7)
            ways.run((a, ((a[0] + b[0]) / 2, into), b))
    return path("d-knot", ways.d, stroke_width=1.4) + path("d-knot", wraps.d, stroke_width=3)


def _needle(hand: InHand, knot: int) -> str:
    """The needle goes behind the bundle against the way of the work; its thread comes from the last knot."""
    x, y = hand.middle(hand.row, knot), hand.level(hand.row, knot)
    way = -1 if hand.leftwards else 1
    reach = max(24.0, hand.weave.pitch * (hand.row.edges[knot + 1] - hand.row.edges[knot]) * 0.72)
    lean = -9 if y < (BAND.top + BAND.bottom) / 2 else 9
    tip, eye = (x - way * reach, y - lean), (x + way * (reach + 18), y + lean * 1.9)
    thread = Pen()
    if hand.done:
        last = knot + (1 if hand.row.turned else -1)
        thread.move(hand.middle(hand.row, last), hand.level(hand.row, last))
    else:
        thread.move(x - way * hand.weave.pitch * 3, BAND.bottom + 8)
    thread.sway((x - way * 8, y + lean * 4), (x + way * 20, y + lean * 4.4), eye)
    return path("d-here", thread.d, stroke_width=1.7) + needle(eye, tip)


def _ends(hand: InHand) -> str:
    """A stop line where the band has one and it is seen; an open end where the cloth is to be cut."""
    parts = ""
    for end, thread, beyond in (("start", 0, -1), ("end", hand.threads, 1)):
        x = hand.weave.along(thread)
        outwards = -beyond if hand.weave.mirrored else beyond
        if hand.band.closed_round or not hand.is_seen(x, 0):
            continue
        if end in hand.band.ends_at:
            stitches = Pen()
            y = BAND.top - 6
            while y <= BAND.bottom + 6:
                stitches.run(((x, y), (x + outwards * 9, y)))
                y += 5
            stitches.run(((x, BAND.top - 8), (x, BAND.bottom + 8)))
            parts += path("d-knot", stitches.d, stroke_width=1.8)
        else:
            cut = Pen()
            cut.run(((x, CLOTH.top), (x, CLOTH.bottom)))
            parts += path("d-pencil", cut.d, stroke_width=1.6, stroke_dasharray="7 3 1.5 3")
    return parts


def _numbers(hand: InHand) -> str:
    """Every fifth knot's number, counted from where the row begins, and a bracket under the next one."""
    row, words = hand.row, ""
    following = hand.next_knot
    for knot in range(row.knots):
        number = row.knots - knot if row.turned else knot + 1
        x = hand.middle(row, knot)
        if knot != following and (number % 5 == 0 or number == 1) and 8 < x < WIDTH - 8:
            words += lettering("d-quiet", (x, NUMBERS_AT), str(number), text_anchor="middle", font_size=11)
    if following is None:
        return group(words)
    a, b = sorted(hand.weave.along(row.edges[following + side]) for side in (0, 1))
    bracket = Pen()
    bracket.run(
        ((a + 1, CLOTH.bottom - 3), (a + 1, CLOTH.bottom + 3), (b - 1, CLOTH.bottom + 3), (b - 1, CLOTH.bottom - 3))
    )
    number = row.knots - following if row.turned else following + 1
    mine = lettering("d-here-text", ((a + b) / 2, NUMBERS_AT), str(number), text_anchor="middle", font_weight=600)
    return group(words + path("d-here", bracket.d, stroke_width=1.8) + mine)


def _whole_length(hand: InHand, count: Count) -> str:
    fraction = count.done / count.whole
    section = ShownSection(
        "band",
        hand.band.name,
        hand.band.kind,
        Place((STRIP,)),
        "across",
        count.whole,
        fraction,
        worked_from="end" if hand.leftwards else "start",
    )
    lie = Stretch("across", STRIP.left, STRIP.width, STRIP.top, STRIP.height)
    part = 1 - fraction if hand.leftwards else fraction
    ends = (str(count.whole), "1") if hand.leftwards else ("1", str(count.whole))
    return pinched_band(lie, section, FINE) + here(STRIP.left + part * STRIP.width, count.words, ends=ends)
