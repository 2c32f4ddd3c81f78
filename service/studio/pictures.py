"""Pictures as they are kept: made anew from the pixels alone, upright, in three sizes. Nothing else of a file stays."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.errors import NotAPicture, TooLarge, Unreadable

SIZES: Mapping[str, int] = {"small": 320, "middle": 960, "large": 2048}
"""How many pixels the longer side of each size has at most."""

MOST_BYTES = 20_000_000
MOST_PIXELS = 50_000_000
MOST_SIDE = 20_000
HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")

HEIC = (
    "This is a HEIC photo, which cannot be read here. Set the phone's camera to the most compatible format (JPEG), "
    "or save it as JPEG and choose that."
)
TOO_WIDE = f"This photo has too many pixels: at most {MOST_PIXELS // 1_000_000} million are taken."
TOO_HEAVY = f"This photo is too large: at most {MOST_BYTES // 1_000_000} MB are taken."
EMPTY = "This photo is empty: nothing of it arrived. Send it once more."


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture in all its sizes; the digest is that of the largest, whose sides these are."""

    sha256: str
    width: int
    height: int
    contents: Mapping[str, bytes]

    @property
    def names(self) -> dict[str, str]:
        """The name of each size in the store."""
        return {size: name_of(self.sha256, size) for size in self.contents}


def name_of(sha256: str, size: str) -> str:
    """Under which name a size of a picture lies in the store."""
    return f"{sha256}-{size}.jpg"


def within(width: int, height: int, most: int) -> tuple[int, int]:
    """The sides of a picture made small enough; one that is small stays as it is.

    >>> within(4000, 3000, 320), within(200, 100, 320), within(20_000, 3, 320)
    ((320, 240), (200, 100), (320, 1))
    """
    longer = max(width, height)
    if longer <= most:
        return width, height
    return max(1, round(width * most / longer)), max(1, round(height * most / longer))


def picture_of(sent: bytes) -> Picture:
    """A sent photo as it is kept. Raises TooLarge, NotAPicture or Unreadable with a sentence for whoever sent it."""
    from service.studio.decoding import made_anew

    _check_before_opening(sent)
    return made_anew(sent)


def _check_before_opening(sent: bytes) -> None:
    if not sent:
        raise Unreadable({"photos": EMPTY})
    if len(sent) > MOST_BYTES:
        raise TooLarge(TOO_HEAVY)
    if sent[4:8] == b"ftyp" and sent[8:12] in HEIF_BRANDS:
        raise NotAPicture(HEIC)
    # The decoder of WebP makes room for the whole picture as soon as it is opened.
    if sent[:4] == b"RIFF" and sent[8:16] == b"WEBPVP8X" and len(sent) >= 30:
        check_size(1 + int.from_bytes(sent[24:27], "little"), 1 + int.from_bytes(sent[27:30], "little"))


def check_size(width: int, height: int) -> None:
    """Refuse a picture with more pixels than are taken."""
    if width * height > MOST_PIXELS or max(width, height) > MOST_SIDE:
        raise TooLarge(TOO_WIDE)
