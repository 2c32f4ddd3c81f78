"""The whole garment: to scale, its sections told in words and linked, within its size, and looking like its design."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from service.drawing.garment_map import garment_map
from service.reckoning.asked import Wrong
from service.reckoning.shapes import Place, Rect
from tests.drawing.garments import DESIGNS, half_done, planned, section, square
from tests.drawing.markup import SVG, extent, inked, paths, read, strokes, view

MOST_BYTES = 32_000  # a gown of 33 sections, front and back; some 4 kB as it is sent


def test_outlines_stand_side_by_side_to_one_scale() -> None:
    back = replace(square(name="Back"), key="back", side="back")
    root = read(garment_map((square(), back), "Gown"))
    pieces = inked(root, "d-piece")
    moves = [group.get("transform") for group in root.iter(f"{SVG}g") if group.get("transform")]
    assert [extent(piece.attrib["d"]).width for piece in pieces] == [300, 300]
    assert moves == ["translate(-20 0)", "translate(301 0)"]
    assert view(root).width > 621


def test_front_and_back_are_named_under_their_own_side() -> None:
    back = replace(square(name="Back"), key="back", side="back")
    root = read(garment_map((square(), back), "Gown"))
    words = [(text.text, float(text.attrib["x"])) for text in root.iter(f"{SVG}text")]
    assert words == [("Front", 150.0), ("Back", 471.0)]


def test_a_garment_without_a_back_is_drawn_from_the_front_alone() -> None:
    root = read(garment_map((square(),), "Bib"))
    assert [text.text for text in root.iter(f"{SVG}text")] == ["Front"]
    assert root[0].text == "Bib, front"


def test_a_panel_of_both_sides_is_drawn_once_and_shown_again() -> None:
    sleeve = replace(square(section(0.5)), key="sleeve", side="both", at_mm=(400, 0))
    back = replace(square(), key="back", side="back")
    root = read(garment_map((square(), back, sleeve), "Gown"))
    (again,) = [use for use in root.iter(f"{SVG}use") if use.get("x")]
    assert [group.get("id") for group in root.iter(f"{SVG}g")].count(again.attrib["href"][1:]) == 1
    assert len(inked(root, "d-piece")) == 3


def test_sections_are_links_that_say_how_far_they_are() -> None:
    linked = replace(section(0.45), href="/garments/1/sections/2?a=1&b=2")
    root = read(garment_map((square(linked),), "Gown"))
    (link,) = list(root.iter(f"{SVG}a"))
    assert link.get("href") == "/garments/1/sections/2?a=1&b=2"
    assert link[0].text == "Ladder: 9 of 20 bundles knotted"
    assert root.get("role") == "group"


def test_without_addresses_the_map_is_one_image() -> None:
    root = read(garment_map((square(section()),), "Gown"))
    assert root.get("role") == "img"
    assert list(root.iter(f"{SVG}a")) == []


def test_the_words_tell_every_section() -> None:
    panel = square(section(1, key="front.a"), replace(section(0.5, key="front.b"), name="Hem", needs_hand=True))
    root = read(garment_map((panel,), "Gown"))
    assert root[1].text == (
        "2 sections: 1 done, 1 begun, 0 not begun, 1 needs a hand now.\n"
        "Ladder: done.\nHem: 10 of 20 bundles knotted, needs a hand now."
    )


def test_sections_of_one_name_are_told_apart_by_their_panel() -> None:
    left = replace(square(section(key="left.band"), name="Back, left"), key="left")
    right = replace(square(section(key="right.band"), name="Back, right"), key="right")
    root = read(garment_map((left, right), "Gown"))
    assert root[1].text == (
        "2 sections: 0 done, 0 begun, 2 not begun.\nBack, left, Ladder: not begun.\nBack, right, Ladder: not begun."
    )


def test_a_pin_stands_where_a_hand_is_needed_and_nowhere_else() -> None:
    panel = square(replace(section(0.5, key="front.a"), needs_hand=True), section(0.5, key="front.b"))
    root = read(garment_map((panel,), "Gown"))
    (pin,) = inked(root, "d-here")
    assert extent(pin.attrib["d"]).left == 150
    assert len(inked(root, "d-here-fill")) == 1


def test_ids_begin_with_their_prefix_so_that_two_maps_can_share_a_page() -> None:
    root = read(garment_map((square(section()),), "Gown", "left"))
    ids = [element.attrib["id"] for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert [id_ for id_ in ids if not id_.startswith("left-")] == []


def test_names_are_escaped() -> None:
    root = read(garment_map((square(replace(section(), name="<b>&"), name="<i>"),), 'A "gown" & <more>'))
    assert root[0].text == 'A "gown" & <more>, front'
    assert "<b>&: not begun" in [title.text for title in root.iter(f"{SVG}title")]


def test_a_narrow_band_between_close_neighbours_never_covers_them() -> None:
    near = [
        replace(section(key=f"front.{at}"), place=Place((Rect(50, 200 + 3 * at, 250, 201 + 3 * at),)))
        for at in range(3)
    ]
    root = read(garment_map((square(*near),), "Gown"))
    bands = [extent(edge.attrib["d"]) for edge in inked(root, "d-edge")]
    assert [band.bottom < after.top for band, after in pairwise(bands)] == [True, True]


def test_a_garment_without_panels_is_refused() -> None:
    with pytest.raises(Wrong, match=r"^panels: "):
        garment_map((), "Gown")


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_each_demo_design_is_drawn_within_its_size(path: Path) -> None:
    plan = planned(path)
    svg = garment_map(half_done(plan), plan.name)
    root = read(svg)
    assert len(svg.encode()) <= MOST_BYTES
    assert len(inked(root, "d-piece")) == len(plan.panels)
    assert [
        element.tag for element in root.iter() if element.get("style") or element.tag.endswith(("style", "script"))
    ] == []
    linked = {link.get("href") for link in root.iter(f"{SVG}a")}
    assert linked == {f"/sections/{section.key}" for section in plan.sections if any(_has_marks(section.places))}


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_each_demo_design_lies_within_its_view(path: Path) -> None:
    plan = planned(path)
    root = read(garment_map(half_done(plan), plan.name))
    room = view(root)
    for group in root.iter(f"{SVG}g"):
        if group.get("transform"):
            dx, dy = (float(number) for number in group.attrib["transform"][10:-1].split())
            (piece,) = [child for child in group if child.get("class") == "d-piece"]
            lies = extent(piece.attrib["d"])
            assert room.left < lies.left + dx < lies.right + dx < room.right
            assert room.top < lies.top + dy < lies.bottom + dy < room.bottom


def test_half_the_christening_gowns_bundles_are_pinched() -> None:
    (path,) = [path for path in DESIGNS if path.stem == "christening_gown"]
    root = read(garment_map(half_done(planned(path)), "Gown"))
    pinched, open_ = strokes(paths(root, "d-done")) / 2, strokes(paths(root, "d-thread")) / 2
    assert 0.4 < pinched / (pinched + open_) < 0.6


def _has_marks(places: object) -> list[bool]:
    return [bool(one.place.strips or one.place.lines or one.place.points) for one in places]  # type: ignore[attr-defined]
