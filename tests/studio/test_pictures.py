"""What is kept of a sent photo: upright pixels in three sizes and nothing else; what is refused before it is opened."""

import hashlib
import io

import pytest
from PIL import Image

from service.errors import NotAPicture, Refusal, TooLarge, Unreadable
from service.studio.pictures import MOST_BYTES, SIZES, Picture, picture_of
from tests.photographs import HEIC, SVG, huge_png, huge_webp, photo, photo_with_everything


def _opened(picture: Picture, size: str = "large") -> Image.Image:
    return Image.open(io.BytesIO(picture.contents[size]))


def _segments(jpeg: bytes) -> list[str]:
    """The names of what stands before the pixels of a JPEG (ITU-T T.81, annex B)."""
    names, at = [], 2
    while jpeg[at + 1] != 0xDA:
        marker, length = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4])
        names.append(f"{marker:X}")
        at += 2 + length
    return names


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_in_three_sizes_under_the_digest_of_the_largest(kind: str) -> None:
    picture = picture_of(photo(2400, 1200, kind=kind))
    assert {size: _opened(picture, size).size for size in SIZES} == {
        "small": (320, 160),
        "middle": (960, 480),
        "large": (2048, 1024),
    }
    assert (picture.width, picture.height) == (2048, 1024)
    assert picture.sha256 == hashlib.sha256(picture.contents["large"]).hexdigest()
    assert {_opened(picture, size).format for size in SIZES} == {"JPEG"}
    assert picture_of(photo(2400, 1200, kind=kind)) == picture


def test_nothing_but_the_pixels_of_a_photo_is_kept() -> None:
    sent = photo_with_everything()
    for planted in (b"Exif", b"Maker of cameras", b"taken at home", b"Hester Vane"):
        assert planted in sent
    assert Image.open(io.BytesIO(sent)).getexif().get_ifd(0x8825) != {}
    picture = picture_of(sent)
    for content in picture.contents.values():
        # APP0 says that it is a JPEG; the tables and the frame are the picture. No APP1 (Exif, XMP), no comment (FE).
        assert set(_segments(content)) <= {"E0", "DB", "C0", "C2", "C4"}
        for left in (b"Exif", b"GPS", b"xmp", b"8BIM", b"Maker", b"taken at home", b"Hester"):
            assert left not in content


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_notes_inside_other_kinds_of_picture_are_not_kept_either(kind: str) -> None:
    exif = Image.Exif()
    exif[0x010E] = "Hester Vane at home"
    sent = photo(kind=kind, exif=exif)
    assert b"Hester Vane" in sent
    assert all(b"Hester" not in content for content in picture_of(sent).contents.values())


def test_a_photo_taken_upright_stands_upright() -> None:
    picture = picture_of(photo_with_everything())
    assert (picture.width, picture.height) == (48, 64)
    shown = _opened(picture).convert("L")
    # The dark upper left corner went to the upper right.
    assert shown.point(lambda light: 255 * (light > 128)).getpixel((45, 3)) == 0
    assert shown.point(lambda light: 255 * (light > 128)).getpixel((3, 3)) == 255


def test_what_is_clear_is_shown_on_white_and_other_colours_as_on_a_screen() -> None:
    clear = Image.new("RGBA", (20, 20), (0, 0, 0, 0))
    kept = io.BytesIO()
    clear.save(kept, "PNG")
    assert _opened(picture_of(kept.getvalue())).getpixel((9, 9)) == (255, 255, 255)
    printed = io.BytesIO()
    Image.new("CMYK", (20, 20), (0, 0, 0, 0)).save(printed, "JPEG")
    assert _opened(picture_of(printed.getvalue())).getpixel((9, 9)) == (255, 255, 255)


def test_colours_of_the_camera_are_turned_into_those_of_a_screen_and_odd_ones_passed_over() -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    with_profile, odd = (picture_of(photo(icc_profile=said)) for said in (profile, b"no profile"))
    assert odd == picture_of(photo())
    assert with_profile.width == 64
    assert b"ICC_PROFILE" not in with_profile.contents["large"]


def test_a_picture_that_is_also_something_else_is_only_a_picture_afterwards() -> None:
    script = b"<script>alert(1)</script>"
    both = photo(comment=script) + b"PK\x03\x04" + script
    assert all(b"script" not in content for content in picture_of(both).contents.values())


def _whole() -> bytes:
    return photo(400, 300, quality=95)


@pytest.mark.parametrize(
    ("sent", "kind", "words"),
    [
        (b"", Unreadable, "nothing of it arrived"),
        (b"not a picture at all", NotAPicture, "not a photo in JPEG, PNG or WebP"),
        (SVG, NotAPicture, "not a photo in JPEG, PNG or WebP"),
        (photo(kind="GIF"), NotAPicture, "not a photo in JPEG, PNG or WebP"),
        (b"%PDF-1.7\n" + photo(), NotAPicture, "not a photo"),
        (HEIC, NotAPicture, "HEIC"),
        (_whole()[: len(_whole()) // 2], Unreadable, "cut short or damaged"),
        (photo(400, 300, kind="PNG")[:200], Unreadable, "cut short or damaged"),
        (photo(400, 300, kind="WEBP")[:100], Unreadable, "cut short or damaged"),
        (huge_png(), TooLarge, "too many pixels"),
        (huge_png(40_000, 2), TooLarge, "too many pixels"),
        (huge_webp(), TooLarge, "too many pixels"),
        (b"\xff\xd8\xff" + b"\0" * MOST_BYTES, TooLarge, "at most 20 MB"),
    ],
    ids=[
        *("empty", "text", "SVG", "GIF", "PDF before a photo", "HEIC", "half a JPEG", "half a PNG", "half a WebP"),
        *("many pixels", "very wide", "WebP canvas", "many bytes"),
    ],
)
def test_what_cannot_be_kept_is_refused_with_a_sentence(sent: bytes, kind: type[Refusal], words: str) -> None:
    with pytest.raises(kind) as refused:
        picture_of(sent)
    assert words in refused.value.sentence
