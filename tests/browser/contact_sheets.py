"""Pictures of pages laid out beside one another, so that many can be looked at at once; a long page goes on in the next column."""

from collections.abc import Iterator
from pathlib import Path

from PIL import Image, ImageDraw

SHEET = 1568  # px, both ways
LABEL = 18
GAP = 8
SCALES = {"phone": 0.66, "laptop": 0.6, "papers": 0.75}
LONGEST = 4  # columns of one page: what a page still longer says further down is in its own picture


def _columns(folder: Path) -> Iterator[Image.Image]:
    """The pictures of a folder as columns, each with its name above."""
    scale = SCALES[folder.name.partition("-")[0]]
    height = SHEET - LABEL
    for path in sorted(folder.glob("*.png")):
        with Image.open(path) as opened:
            size = (round(opened.width * scale), max(1, round(opened.height * scale)))
            shown = opened.convert("RGB").resize(size, Image.Resampling.LANCZOS)
        for part, top in enumerate(range(0, min(shown.height, LONGEST * height), height)):
            column = Image.new("RGB", (shown.width, SHEET), "white")
            words = path.stem if not part else f"{path.stem} ({part + 1})"
            ImageDraw.Draw(column).text((2, 2), words, fill="black", font_size=13)
            column.paste(shown.crop((0, top, shown.width, min(top + height, shown.height))), (0, LABEL))
            yield column


def lay_out(folder: Path, sheets: Path) -> None:
    """Lay the pictures of a folder out on sheets named after it."""
    row: list[Image.Image] = []
    made = 0
    for each in _columns(folder):
        if row and sum(column.width + GAP for column in row) + each.width > SHEET:
            made = _keep(row, sheets / f"{folder.name}-{made + 1:02}.png", made)
            row = []
        row.append(each)
    if row:
        _keep(row, sheets / f"{folder.name}-{made + 1:02}.png", made)


def _keep(row: list[Image.Image], path: Path, made: int) -> int:
    sheet = Image.new("RGB", (sum(column.width + GAP for column in row), SHEET), "gray")
    left = 0
    for column in row:
        sheet.paste(column, (left, 0))
        left += column.width + GAP
    sheet.save(path)
    return made + 1
