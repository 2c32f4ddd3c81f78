"""Pictures as they are kept: made anew from the pixels alone, upright, in three sizes. Nothing else of a file stays."""

import contextlib
import hashlib
import io
import struct
import threading
from collections.abc import Mapping
from dataclasses import dataclass

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from service.errors import NotAPicture, TooLarge, Unreadable

SIZES: Mapping[str, int] = {"small": 320, "middle": 960, "large": 2048}
"""How many pixels the longer side of each size has at most."""

QUALITY = {"small": 80, "middle": 80, "large": 85}
MOST_BYTES = 20_000_000
MOST_PIXELS = 50_000_000
MOST_SIDE = 20_000
KINDS = ("JPEG", "PNG", "WEBP")
HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")
ODD = (OSError, SyntaxError, ValueError, TypeError, KeyError, IndexError, EOFError, ZeroDivisionError, struct.error)
"""What damaged or odd files make the decoder raise."""

NOT_A_PHOTO = "This is not a photo in JPEG, PNG or WebP."
HEIC = (
    "This is a HEIC photo, which cannot be read here. Set the phone's camera to the most compatible format (JPEG), "
    "or save it as JPEG and choose that."
)
DAMAGED = "This photo is cut short or damaged. Take it again, or send it once more."
TOO_WIDE = f"This photo has too many pixels: at most {MOST_PIXELS // 1_000_000} million are taken."
TOO_HEAVY = f"This photo is too large: at most {MOST_BYTES // 1_000_000} MB are taken."
EMPTY = "This photo is empty: nothing of it arrived. Send it once more."

# Its size is looked at here before any pixel is read, with a plain sentence instead of a warning.
Image.MAX_IMAGE_PIXELS = None
_SRGB = ImageCms.createProfile("sRGB")
_ONE_AT_A_TIME = threading.Lock()


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
    _check_before_opening(sent)
    with _ONE_AT_A_TIME:  # a large photo takes 150 MB while it is open
        try:
            with Image.open(io.BytesIO(sent), formats=KINDS) as opened:
                _check_size(*opened.size)
                pixels = _upright(opened)
        except UnidentifiedImageError:
            raise NotAPicture(NOT_A_PHOTO) from None
        except ODD as odd:
            raise Unreadable({"photos": DAMAGED}) from odd
        return _in_all_sizes(pixels)


def _check_before_opening(sent: bytes) -> None:
    if not sent:
        raise Unreadable({"photos": EMPTY})
    if len(sent) > MOST_BYTES:
        raise TooLarge(TOO_HEAVY)
    if sent[4:8] == b"ftyp" and sent[8:12] in HEIF_BRANDS:
        raise NotAPicture(HEIC)
    # The decoder of WebP makes room for the whole picture as soon as it is opened.
    if sent[:4] == b"RIFF" and sent[8:16] == b"WEBPVP8X" and len(sent) >= 30:
        _check_size(1 + int.from_bytes(sent[24:27], "little"), 1 + int.from_bytes(sent[27:30], "little"))


def _check_size(width: int, height: int) -> None:
    if width * height > MOST_PIXELS or max(width, height) > MOST_SIDE:
        raise TooLarge(TOO_WIDE)


def _upright(opened: Image.Image) -> Image.Image:
    """The pixels alone, turned as the camera was held, in the colours of a screen, on white where it is clear."""
    opened.draft("RGB", (SIZES["large"], SIZES["large"]))
    opened.load()
    turned: Image.Image = opened
    with contextlib.suppress(*ODD):
        turned = ImageOps.exif_transpose(opened)
    shown = _on_white(_in_screen_colours(turned))
    bare = Image.new("RGB", shown.size)
    bare.paste(shown)
    return bare


def _in_screen_colours(picture: Image.Image) -> Image.Image:
    """In sRGB, where a camera wrote down colours of its own: linen must not turn grey."""
    profile = picture.info.get("icc_profile")
    if not profile or picture.mode != "RGB":
        return picture
    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.profileToProfile(picture, own, _SRGB) or picture
    except (ImageCms.PyCMSError, *ODD):
        return picture


def _on_white(picture: Image.Image) -> Image.Image:
    if not picture.has_transparency_data:
        return picture.convert("RGB")
    clear = picture.convert("RGBA")
    white = Image.new("RGB", clear.size, "white")
    white.paste(clear, mask=clear.getchannel("A"))
    return white


def _in_all_sizes(pixels: Image.Image) -> Picture:
    contents: dict[str, bytes] = {}
    large = pixels
    for size in ("large", "middle", "small"):
        sides = within(*pixels.size, SIZES[size])
        shrunk = large if large.size == sides else large.resize(sides, Image.Resampling.LANCZOS, reducing_gap=3)
        large = shrunk if size == "large" else large
        kept = io.BytesIO()
        shrunk.save(kept, "JPEG", quality=QUALITY[size], optimize=True, progressive=size != "small")
        contents[size] = kept.getvalue()
    return Picture(hashlib.sha256(contents["large"]).hexdigest(), *large.size, contents)
