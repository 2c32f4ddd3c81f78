"""One panel as it is marked: to scale on its block, measured from the block's edges, its lines numbered on request."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from shapely import Polygon, box

from service.drawing.panel_drawing import MarkedLine, cloth_at, panel_drawing
from service.drawing.shown import ShownSection
from service.reckoning.shapes import Place, Rect
from tests.drawing.garments import DESIGNS, half_done, planned, section, square
from tests.drawing.markup import SVG, extent, inked, paths, read, view


def words(svg: str) -> list[str]:
    """All that is lettered on it."""
    return [text.text or "" for text in read(svg).iter(f"{SVG}text")]


def test_the_outline_lies_on_its_block_to_scale() -> None:
    root = read(panel_drawing(square()))
    (block,) = inked(root, "d-block")
    assert [float(block.attrib[side]) for side in ("x", "y", "width", "height")] == [0, 0, 340, 340]
    assert extent(paths(root, "d-piece")) == Rect(20, 20, 320, 320)


def test_it_is_measured_from_the_blocks_edges_to_each_strips_middle() -> None:
    down = ShownSection("front.down", "Side", "tuck", Place((Rect(100, 50, 106, 180),)), "down")
    assert words(panel_drawing(square(section(), down))) == ["warp", "340 mm", "340 mm", "204", "103"]


def test_measures_of_close_strips_do_not_stand_on_each_other() -> None:
    close = [
        replace(section(key=f"front.{at}"), place=Place((Rect(50, 200 + 5 * at, 250, 202 + 5 * at),)))
        for at in range(4)
    ]
    root = read(panel_drawing(square(*close)))
    heights = [float(text.attrib["y"]) for text in root.iter(f"{SVG}text") if text.text in {"201", "206", "211", "216"}]
    letters = float(root.attrib["font-size"])
    assert min(b - a for a, b in pairwise(heights)) > letters


def test_the_lines_of_a_marking_sheet_are_numbered() -> None:
    marked = (MarkedLine(1, "across", 150.5), MarkedLine(12, "down", 60))
    svg = panel_drawing(square(), marked=marked)
    assert words(svg)[-2:] == ["1", "12"]
    rings = [(float(ring.attrib["cx"]), float(ring.attrib["cy"])) for ring in inked(read(svg), "d-number")]
    assert rings == [(0, 150.5), (60, 0)]


def test_all_lettering_lies_within_the_view() -> None:
    root = read(panel_drawing(square(section()), marked=(MarkedLine(1, "across", 300),)))
    room, letters = view(root), float(root.attrib["font-size"])
    for text in root.iter(f"{SVG}text"):
        x, width = float(text.attrib["x"]), 0.62 * letters * len(text.text or "")
        left = x - width / 2 if text.get("text-anchor") == "middle" and not text.get("transform") else x
        assert room.left <= left
        assert left + (0 if text.get("transform") else width) <= room.right
        assert room.top + 0.7 * letters <= float(text.attrib["y"]) <= room.bottom


def test_it_is_told_in_words() -> None:
    root = read(panel_drawing(square(section(0.5), name="Front & more")))
    assert [child.text for child in root[:2]] == [
        "Front & more",
        "Block 340 × 340 mm.\n1 section: 0 done, 1 begun, 0 not begun.\nLadder: 10 of 20 bundles knotted.",
    ]


def test_the_grain_arrow_runs_along_the_warp_in_plain_cloth() -> None:
    root = read(panel_drawing(square(section())))
    arrow = extent(inked(root, "d-pencil")[0].attrib["d"])
    assert arrow.height > 4 * arrow.width
    assert 20 < arrow.top < arrow.bottom < 200


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_the_grain_arrow_of_a_demo_design_crosses_neither_outline_nor_motif(path: Path) -> None:
    for panel in half_done(planned(path)):
        root = read(panel_drawing(panel))
        arrow = extent(inked(root, "d-pencil")[0].attrib["d"])
        assert Polygon(panel.outline).covers(box(arrow.left, arrow.top, arrow.right, arrow.bottom)), panel.name
        motifs = [point for each in panel.sections for point in each.place.points]
        assert not any(arrow.top < y < arrow.bottom and abs(x - arrow.left) < 5 for x, y in motifs)


def test_a_slanting_side_is_found_at_its_height() -> None:
    assert cloth_at(((50, 0), (100, 100), (0, 100)), 50) == (25.0, 75.0)


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_every_panel_of_a_demo_design_can_be_drawn(path: Path) -> None:
    for panel in half_done(planned(path)):
        svg = panel_drawing(panel)
        assert len(svg.encode()) <= 30_000
        assert len(inked(read(svg), "d-piece")) == 1


def test_numbers_of_lines_close_together_stand_apart_and_on_the_block() -> None:
    lines = tuple(MarkedLine(number, "across", 335 + number / 10) for number in range(1, 18))
    root = read(panel_drawing(square(), marked=lines))
    rings = inked(root, "d-number")
    places = [float(ring.attrib["cy"]) for ring in rings]
    radius = float(rings[0].attrib["r"])
    assert all(after - before >= 2 * radius for before, after in pairwise(places))
    assert places[0] >= 0
    assert places[-1] <= 340
