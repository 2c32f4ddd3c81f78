"""Pictures for the demo studio, drawn by code: a band on linen whose threads are withdrawn, some of them knotted."""

import io
import random
from dataclasses import dataclass

from PIL import Image, ImageDraw

WIDTH, HEIGHT = 960, 720
TOP, BOTTOM = 270, 450
THREAD = 12
BUNDLE = 4
LINENS = {"white": (240, 236, 226), "cream": (228, 214, 186), "grey": (205, 203, 196)}
TABLE = (92, 74, 58)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a picture shows: the linen, and how many bundles of the band are knotted at each edge."""

    linen: str
    knotted: int
    held_back: int = 0


def drawn_photo(seen: Seen) -> bytes:
    """A picture as a file, the same for the same words."""
    chance = random.Random(f"{seen.linen} {seen.knotted} {seen.held_back}")  # noqa: S311 (a weave, not a secret)
    picture = Image.new("RGB", (WIDTH, HEIGHT), LINENS[seen.linen])
    pen = ImageDraw.Draw(picture)
    _weave(pen, LINENS[seen.linen], chance)
    pen.rectangle((0, TOP, WIDTH, BOTTOM), fill=TABLE)
    for number in range(WIDTH // (THREAD * BUNDLE) + 1):
        _bundle(pen, seen, number)
    for edge in (TOP, BOTTOM):
        pen.line((0, edge, WIDTH, edge), fill=_darker(LINENS[seen.linen], 60), width=3)
    kept = io.BytesIO()
    picture.save(kept, "PNG", compress_level=1)
    return kept.getvalue()


def _weave(pen: ImageDraw.ImageDraw, linen: tuple[int, int, int], chance: random.Random) -> None:
    for x in range(0, WIDTH, 4):
        pen.line((x, 0, x, HEIGHT), fill=_darker(linen, chance.randrange(4, 22)))
    for y in range(0, HEIGHT, 4):
        pen.line((0, y, WIDTH, y), fill=_darker(linen, chance.randrange(4, 26)))


def _bundle(pen: ImageDraw.ImageDraw, seen: Seen, number: int) -> None:
    """The standing threads of one bundle: straight, or drawn together at the edges where they are knotted."""
    middle = (number + 0.5) * THREAD * BUNDLE
    for place in range(BUNDLE):
        x = middle + (place - (BUNDLE - 1) / 2) * THREAD
        gathered = middle + (place - (BUNDLE - 1) / 2) * THREAD * 0.3
        low = gathered if number < seen.knotted else x
        high = gathered if number < seen.held_back else x
        waist = (high + low) / 2 if number < seen.knotted else x
        line = ((x, TOP), (high, TOP + 16), (waist, (TOP + BOTTOM) / 2), (low, BOTTOM - 16), (x, BOTTOM))
        pen.line(line, fill=LINENS[seen.linen], width=5, joint="curve")
    for is_knotted, y in ((number < seen.knotted, BOTTOM - 16), (number < seen.held_back, TOP + 16)):
        if is_knotted:
            pen.ellipse((middle - 11, y - 7, middle + 11, y + 7), fill=_darker(LINENS[seen.linen], 24))


def _darker(colour: tuple[int, int, int], by: int) -> tuple[int, int, int]:
    red, green, blue = (max(0, part - by) for part in colour)
    return red, green, blue
