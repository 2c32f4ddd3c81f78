"""Photos for tests: small pictures with what cameras write beside the pixels, and files that are no photos."""

import io
import struct
import zlib
from typing import Any

from PIL import Image

GREY = (120, 120, 110)


def photo(width: int = 64, height: int = 48, *, kind: str = "JPEG", shade: int = 0, **said: Any) -> bytes:
    """A photo: a pale cloth whose upper left corner is dark; `shade` makes it another picture."""
    picture = Image.new("RGB", (width, height), (230, 225 - 9 * shade, 210))
    picture.paste((40, 40, 60), (0, 0, width // 4, height // 4))
    kept = io.BytesIO()
    picture.save(kept, kind, **said)
    return kept.getvalue()


def photo_with_everything() -> bytes:
    """A JPEG turned on its side, with a place on the map, a comment, an XMP packet and a thumbnail's worth of notes."""
    exif = Image.Exif()
    exif[0x0112] = 6  # held upright: turn it to the right
    exif[0x010F] = "Maker of cameras"
    exif[0x8825] = {1: "N", 2: (51.0, 28.0, 40.0), 3: "W", 4: (0.0, 0.0, 5.0)}
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>Hester Vane</x:xmpmeta>"
    return photo(exif=exif, comment=b"taken at home", xmp=xmp, dpi=(300, 300))


def huge_png(width: int = 30_000, height: int = 30_000) -> bytes:
    """A PNG of a few bytes whose head claims so many pixels."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")


def huge_webp() -> bytes:
    """A WebP of a few bytes whose head claims the largest canvas there is."""
    head = b"\0\0\0\0" + (16_382).to_bytes(3, "little") + (16_382).to_bytes(3, "little")
    body = b"WEBPVP8X" + struct.pack("<I", len(head)) + head
    return b"RIFF" + struct.pack("<I", len(body)) + body


SVG = b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><script>alert(1)</script></svg>"
HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 64
