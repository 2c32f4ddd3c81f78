"""A section drawn up as another kind, or a part as a mirror, without scripts: what has no place then is kept, and told."""

import re
from html import unescape

import httpx2
import pytest
from sqlmodel import select

from service.reckoning.design_text import read_design
from service.records.tables import Design
from service.web.words import KIND_WORDS
from tests.building import a_design
from tests.serving import Live
from tests.web.forms_on_pages import form_to

UNTOLD = "Some of what was typed has no place in this kind of section. It is named below"
OF_THE_LADDER = [
    "Threads withdrawn",
    "Threads left over from whole bundles",
    "Stop lines",
    "Worked from",
    "Knots go",
    "The loop is laid",
    "Clipped inside the stop line by",
    "Worked in a hoop",
]
MIRRORED = "A mirror takes everything from the other. What was typed for this one is named below"


def _left_out(page: str) -> list[str]:
    listed = re.search(r'<ul class="left-out">(.*?)</ul>', page, re.DOTALL)
    return [unescape(one) for one in re.findall(r"<li>(.*?)</li>", listed[1])] if listed else []


def _document(live: Live) -> str:
    with live.database.reading() as db:
        return db.exec(select(Design).order_by(Design.id)).all()[-1].document  # type: ignore[arg-type]


@pytest.fixture
def design(live: Live, request: pytest.FixtureRequest) -> str:
    """The page of that design."""
    with live.database.writing() as db:
        return f"/designs/{a_design(db, getattr(request, 'param', 'day_gown')).id}"


@pytest.mark.parametrize(
    ("design", "key"),
    [
        ("handkerchief", "square.top"),
        ("christening_gown", "skirt_front.tuck_band"),
        ("day_gown", "front.ladder"),
        ("day_gown", "neck"),
        ("blouse", "loops"),
    ],
    indirect=["design"],
)
def test_what_was_typed_comes_back_from_every_other_kind(
    owner: httpx2.Client, live: Live, design: str, key: str
) -> None:
    address, before = f"{design}/sections/{key}", _document(live)
    first = form_to(owner.get(address).text, address)
    now = first
    for kind in (*KIND_WORDS, *first["kind"]):
        now = form_to(owner.post(f"{address}/look", data={**now, "kind": [kind]}).text, address)
    assert {name: now.get(name) for name in first} == first
    assert owner.post(address, data=now).status_code == 303
    assert _document(live) == before


@pytest.mark.parametrize("design", ["handkerchief"], indirect=True)
def test_keeping_another_kind_first_names_what_it_leaves_out(owner: httpx2.Client, live: Live, design: str) -> None:
    address, before = f"{design}/sections/square.ladder", _document(live)
    typed = {**form_to(owner.get(address).text, address), "kind": ["tuck"], "depth_mm": ["8"]}
    told = owner.post(address, data=typed)
    assert told.status_code == 422
    assert f"{UNTOLD}: choose the kind it had to have it back, or keep the section again to leave it out." in told.text
    assert _left_out(told.text) == OF_THE_LADDER
    assert _document(live) == before
    assert owner.post(address, data=form_to(told.text, address)).status_code == 303
    (tuck,) = (one for one in read_design(_document(live)).every_section if one.key == "square.ladder")
    assert (tuck.kind, tuck.depth_mm, tuck.thread, tuck.withdraw_threads, tuck.hoop) == (
        "tuck",
        8,
        "Lace cotton No 80",
        None,
        False,
    )


@pytest.mark.parametrize("design", ["handkerchief"], indirect=True)
def test_a_drawing_of_another_kind_tells_it_too_and_then_it_is_kept_at_once(owner: httpx2.Client, design: str) -> None:
    address = f"{design}/sections/square.ladder"
    typed = form_to(owner.get(address).text, address)
    drawn = owner.post(f"{address}/look", data={**typed, "kind": ["tuck"], "depth_mm": ["8"]})
    assert drawn.status_code == 200
    assert _left_out(drawn.text) == OF_THE_LADDER
    assert UNTOLD not in drawn.text
    assert owner.post(address, data=form_to(drawn.text, address)).status_code == 303


def test_what_stands_in_a_new_section_by_itself_is_not_told(owner: httpx2.Client, design: str) -> None:
    address = f"{design}/add-section?panel=front"
    typed = {**form_to(owner.get(address).text, address), "kind": ["motif"], "points": ["120,90"]}
    assert owner.post(address, data={**typed, "withdraw_threads": ["10"]}).status_code == 422
    assert owner.post(address, data=typed).status_code == 303


@pytest.mark.parametrize("design", ["blouse"], indirect=True)
def test_of_a_joined_section_only_the_panels_it_lies_on_are_told(owner: httpx2.Client, design: str) -> None:
    address = f"{design}/sections/loops"
    typed = form_to(owner.get(address).text, address)
    (panel,) = (name.removeprefix("lies.") for name in typed if name.startswith("lies."))
    told = owner.post(address, data={**typed, "kind": ["seam"]}).text
    assert re.sub(r"<[^>]*>", "", unescape("; ".join(_left_out(told)))).startswith("Stands at: ")
    typed.pop(f"lies.{panel}")
    assert _left_out(owner.post(f"{address}/look", data={**typed, "kind": ["seam"]}).text) == []


def test_a_section_made_a_mirror_names_all_it_leaves_out_and_comes_back(owner: httpx2.Client, design: str) -> None:
    address = f"{design}/sections/front.ladder"
    typed = form_to(owner.get(address).text, address)
    told = owner.post(address, data={**typed, "mirror_of": ["front.hem"], "note": ["Thread over thread."]})
    assert told.status_code == 422
    assert MIRRORED in told.text
    assert {"Threads withdrawn", "How far inside", "Note for whoever works it"} <= set(_left_out(told.text))
    back = form_to(owner.post(f"{address}/look", data={**form_to(told.text, address), "mirror_of": [""]}).text, address)
    assert {name: back.get(name) for name in typed} == {**typed, "note": ["Thread over thread."]}


def test_a_panel_made_a_mirror_names_its_sections_too(owner: httpx2.Client, live: Live, design: str) -> None:
    address, before = f"{design}/panels/back", _document(live)
    typed = form_to(owner.get(address).text, address)
    told = owner.post(address, data={**typed, "mirror_of": ["front"]})
    assert told.status_code == 422
    assert MIRRORED in told.text
    named = _left_out(told.text)
    assert {"Cutting line of the pattern", "Width of the block"} <= set(named)
    assert [one for one in named if one.startswith("Section: ")] != []
    assert _document(live) == before
    back = form_to(owner.post(f"{address}/look", data={**form_to(told.text, address), "mirror_of": [""]}).text, address)
    assert {name: back.get(name) for name in typed} == typed
