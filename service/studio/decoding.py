"""Sent photos decoded and made anew. The decoder loads with the first photo: most starts never need it."""

import contextlib
import hashlib
import io
import struct
import threading

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from service.errors import NotAPicture, Unreadable
from service.studio.pictures import SIZES, Picture, check_size, within

QUALITY = {"small": 80, "middle": 80, "large": 85}
KINDS = ("JPEG", "PNG", "WEBP")
ODD = (OSError, SyntaxError, ValueError, TypeError, KeyError, IndexError, EOFError, ZeroDivisionError, struct.error)
"""What damaged or odd files make the decoder raise."""

NOT_A_PHOTO = "This is not a photo in JPEG, PNG or WebP."
DAMAGED = "This photo is cut short or damaged. Take it again, or send it once more."

# Its size is looked at here before any pixel is read, with a plain sentence instead of a warning.
Image.MAX_IMAGE_PIXELS = None
_SRGB = ImageCms.createProfile("sRGB")
_ONE_AT_A_TIME = threading.Lock()


def made_anew(sent: bytes) -> Picture:
    """A photo in all its sizes, from its pixels alone. Raises TooLarge, NotAPicture or Unreadable."""
    with _ONE_AT_A_TIME:  # a large photo takes 150 MB while it is open
        try:
            with Image.open(io.BytesIO(sent), formats=KINDS) as opened:
                check_size(*opened.size)
                pixels = _upright(opened)
        except UnidentifiedImageError:
            raise NotAPicture(NOT_A_PHOTO) from None
        except ODD as odd:
            raise Unreadable({"photos": DAMAGED}) from odd
        return _in_all_sizes(pixels)


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
