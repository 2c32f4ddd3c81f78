"""The small drawing of a ledger's row: light, told in words, to scale."""

from dataclasses import replace
from pathlib import Path

import pytest

from service.drawing.thumbnail import WIDTH, thumbnail
from tests.drawing.garments import DESIGNS, half_done, planned, section, square
from tests.drawing.markup import extent, inked, paths, read, view

MOST_BYTES = 4_000


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_each_demo_design_is_small(path: Path) -> None:
    plan = planned(path)
    svg = thumbnail(half_done(plan), plan.name)
    root = read(svg)
    assert len(svg.encode()) <= MOST_BYTES
    assert view(root).width == WIDTH
    assert len(inked(root, "d-here")) >= 1


def test_it_says_how_much_is_done() -> None:
    panel = square(section(1, key="front.a"), section(0.5, key="front.b"))
    root = read(thumbnail((panel,), "Gown <1>"))
    assert [child.text for child in root[:2]] == ["Gown <1>, front", "2 sections: 1 done, 1 begun, 0 not begun."]


@pytest.mark.parametrize("done", [0.25, 0.5, 0.75])
def test_the_done_part_of_a_band_is_the_full_part_of_its_bar(done: float) -> None:
    root = read(thumbnail((square(section(done)),), "Gown"))
    full, rest = extent(paths(root, "d-bound")), extent(paths(root, "d-bind"))
    assert abs(full.width / (full.width + rest.width) - done) < 0.02
    assert full.right == rest.left


def test_a_band_untouched_has_no_full_part_and_one_done_no_open_part() -> None:
    assert paths(read(thumbnail((square(section(0)),), "Gown")), "d-bound") == ""
    assert paths(read(thumbnail((square(section(1)),), "Gown")), "d-bind") == ""


def test_it_has_no_links_even_where_sections_have_an_address() -> None:
    svg = thumbnail((square(replace(section(0.5), href="/sections/1")),), "Gown")
    assert "href" not in svg
