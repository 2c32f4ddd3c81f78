"""Upright rectangles laid on a strip as short as can be found: a skyline filled at its lowest gap.

Everything is in whole µm, so nothing is lost to float dust; nothing is ever turned. The same ask always gives
the same layout.
"""

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

Size = tuple[int, int]  # width across the strip, height along it
Skyline = list[tuple[int, int, int]]  # steps from left to right: y, x, width; the least is the lowest gap

SEED = 1
OPEN = 1 << 62  # the strip's own edge is a wall higher than any other
MOST_TRIES = 250
WORK = 400_000  # comparisons the tries may cost: keeps 60 blocks well under 200 ms
MOST_SEARCHED = 20  # more blocks than this cannot be searched through within the bound
MOST_LOOKS = 20_000


@dataclass(frozen=True, slots=True)
class Laid:
    """A rectangle where it lies, in µm."""

    x: int
    y: int
    width: int
    height: int


def length_of(laid: Iterable[Laid]) -> int:
    """Return the length of strip the laid rectangles need, in µm; 0 for none."""
    return max((one.y + one.height for one in laid), default=0)


def least_length(sizes: Sequence[Size], width: int) -> int:
    """Return what no layout can be shorter than, in µm: area / width, the tallest, those too wide to lie abreast.

    >>> least_length([(20, 10), (10, 30)], 20)
    30
    """
    area = sum(across * along for across, along in sizes)
    one_below_another = sum(along for across, along in sizes if 2 * across > width)
    return max(-(-area // width), one_below_another, max((along for _, along in sizes), default=0))


def pack(sizes: Sequence[Size], width: int, start: Skyline | None = None) -> tuple[Laid, ...]:
    """Return the shortest layout found for `sizes` on a strip `width` wide, all in µm, in the order of laying.

    Several orders are tried, the best is improved by a bounded number of exchanges, and a small set is searched
    for a layout of the least length there can be. `start` is the skyline of what lies there already. Every size
    must fit the width of the strip.

    >>> length_of(pack([(10, 5), (10, 5), (20, 3)], 20))
    8
    """
    sky = start or [(0, 0, width)]
    taken = sum(y * across for y, _, across in sky)
    area = taken + sum(across * along for across, along in sizes)
    goal = max(-(-area // width), least_length(sizes, width), max(sky)[0])
    best = _improved(sizes, sky, goal)
    if length_of(best) > goal and len(sizes) <= MOST_SEARCHED:
        kinds = [[*size, copies] for size, copies in Counter(sizes).items()]
        kinds.sort(key=lambda kind: -kind[0] * kind[1])
        return _Search(kinds, goal, width * goal - area).lay(sky, len(sizes)) or best
    return best


def _improved(sizes: Sequence[Size], sky: Skyline, goal: int) -> tuple[Laid, ...]:
    """Keep every exchange of two, or move of one, that does not lengthen the best of the first orders."""
    order, best = _best_order(sizes, sky)
    chance = random.Random(SEED)  # noqa: S311 - the same layout every time, nothing secret
    for _ in range(min(MOST_TRIES, WORK // max(1, len(sizes)) ** 2)):
        if length_of(best) <= goal:
            break
        tried = _exchanged(order, chance)
        laid = _filled(tried, sky, length_of(best))
        if laid is not None:
            order, best = tried, laid
    return best


def _best_order(sizes: Sequence[Size], sky: Skyline) -> tuple[list[Size], tuple[Laid, ...]]:
    widest = sorted(sizes, reverse=True)
    tallest = sorted(widest, key=lambda size: -size[1])
    largest = sorted(widest, key=lambda size: -size[0] * size[1])
    longest_round = sorted(widest, key=lambda size: -size[0] - size[1])
    laid = [(order, _filled(order, sky, OPEN) or ()) for order in (widest, tallest, largest, longest_round)]
    return min(laid, key=lambda pair: length_of(pair[1]))


def _exchanged(order: list[Size], chance: random.Random) -> list[Size]:
    one, other = chance.randrange(len(order)), chance.randrange(len(order))
    changed = order.copy()
    if chance.random() < 0.5:
        changed[one], changed[other] = changed[other], changed[one]
    else:
        changed.insert(other, changed.pop(one))
    return changed


def _filled(order: list[Size], sky: Skyline, at_most: int) -> tuple[Laid, ...] | None:
    """Lay everything, always in the lowest gap; None as soon as the length passes `at_most`."""
    waiting, laid = order.copy(), []
    while waiting:
        gap = _lowest(sky)
        chosen = _best_for(waiting, sky, gap)
        if chosen is None:
            sky = _raised(sky, gap)
            continue
        sky, one = _laid_in(sky, gap, waiting.pop(chosen))
        if one.y + one.height > at_most:
            return None
        laid.append(one)
    return tuple(laid)


def _lowest(sky: Skyline) -> int:
    return sky.index(min(sky))


def _walls(sky: Skyline, gap: int) -> tuple[int, int]:
    left = sky[gap - 1][0] if gap else OPEN
    return left, sky[gap + 1][0] if gap + 1 < len(sky) else OPEN


def _best_for(waiting: list[Size], sky: Skyline, gap: int) -> int | None:
    """Return the first waiting size that fits the gap best: its whole width, then level with a wall."""
    y, _, room = sky[gap]
    walls = _walls(sky, gap)
    chosen, best = None, -1
    for place, (across, along) in enumerate(waiting):
        if across <= room:
            fit = 2 * (across == room) + (y + along in walls)
            if fit > best:
                chosen, best = place, fit
            if fit == 3:
                break
    return chosen


def _laid_in(sky: Skyline, gap: int, size: Size) -> tuple[Skyline, Laid]:
    """Lay `size` in the gap against the wall it is level with, else against the higher one."""
    y, x, room = sky[gap]
    across, along = size
    left, right = _walls(sky, gap)
    end, rest = y + along, room - across
    if end == right != left or (end != left and right > left):
        steps, at = [(y, x, rest), (end, x + rest, across)], x + rest
    else:
        steps, at = [(end, x, across), (y, x + across, rest)], x
    return _levelled(sky, gap, steps if rest else [(end, x, room)]), Laid(at, y, across, along)


def _raised(sky: Skyline, gap: int) -> Skyline:
    """Give the gap up to the height of its lower wall."""
    _, x, room = sky[gap]
    return _levelled(sky, gap, [(min(_walls(sky, gap)), x, room)])


def _levelled(sky: Skyline, gap: int, steps: Skyline) -> Skyline:
    """Put `steps` in the gap's place and join neighbours of one height."""
    after = [*sky[:gap], *steps, *sky[gap + 1 :]]
    for right in range(min(gap + len(steps), len(after) - 1), max(gap - 1, 0), -1):
        y, x, across = after[right - 1]
        if after[right][0] == y:
            after[right - 1 : right + 1] = [(y, x, across + after[right][2])]
    return after


@dataclass(slots=True)
class _Search:
    """Every way of filling the lowest gap, largest first, while no more than `spare` µm² is given up."""

    kinds: list[list[int]]  # width, height, copies not yet laid
    goal: int
    spare: int
    looks: int = field(default=MOST_LOOKS)

    def lay(self, sky: Skyline, waiting: int) -> tuple[Laid, ...] | None:
        """Return a layout within the goal, or None when there is none or the looks are used up."""
        if not waiting:
            return ()
        self.looks -= 1
        gap = _lowest(sky)
        return self._with_one_more(sky, gap, waiting) or self._given_up(sky, gap, waiting)

    def _with_one_more(self, sky: Skyline, gap: int, waiting: int) -> tuple[Laid, ...] | None:
        y, _, room = sky[gap]
        for kind in self.kinds:
            across, along, copies = kind
            if self.looks > 0 and copies and across <= room and y + along <= self.goal:
                kind[2] -= 1
                after, one = _laid_in(sky, gap, (across, along))
                rest = self.lay(after, waiting - 1)
                kind[2] += 1
                if rest is not None:
                    return (one, *rest)
        return None

    def _given_up(self, sky: Skyline, gap: int, waiting: int) -> tuple[Laid, ...] | None:
        y, _, room = sky[gap]
        lost = room * (min(*_walls(sky, gap), self.goal) - y)
        if self.looks <= 0 or not 0 < lost <= self.spare:
            return None
        self.spare -= lost
        rest = self.lay(_raised(sky, gap), waiting)
        self.spare += lost
        return rest
