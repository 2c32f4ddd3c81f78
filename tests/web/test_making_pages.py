"""Making a garment on chosen cloths, on its pages."""

import re
from urllib.parse import parse_qs, urlsplit

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Garment, Studio
from tests.building import a_cloth, a_commission, a_design
from tests.serving import Live


@pytest.fixture
def chosen(live: Live) -> dict[str, str]:
    """A commission, the day gown, and a linen and a batiste to make it of; gives the form's fields."""
    with live.database.writing() as db:
        commission, design = a_commission(db), a_design(db)
        linen = a_cloth(db)
        lawn = a_cloth(db, "Fine lawn", warp=300, weft=280)
        return {
            "commission": str(commission.id),
            "design": str(design.id),
            "cloth.gown": str(linen.id),
            "cloth.binding": str(lawn.id),
        }


def _path(chosen: dict[str, str]) -> str:
    return f"/commissions/{chosen['commission']}/make"


def _made(live: Live) -> list[Garment]:
    with live.database.reading() as db:
        return list(db.exec(select(Garment)))


def test_nothing_is_planned_before_design_and_cloths_are_chosen(owner: httpx2.Client, chosen: dict[str, str]) -> None:
    page = owner.get(_path(chosen)).text
    assert "Choose a design" in page
    assert "On this cloth" not in page
    page = owner.get(_path(chosen), params={"design": chosen["design"]}).text
    assert "Cloth for the gown" in page
    assert "Cloth for the binding" in page
    assert "Fine linen (20 × 19 per cm)" in page


def test_a_press_before_every_cloth_is_chosen_says_which_is_not(owner: httpx2.Client, chosen: dict[str, str]) -> None:
    half = {**chosen, "cloth.binding": ""}
    answer = owner.get(_path(chosen), params=half)
    assert answer.status_code == 422
    assert "Choose a cloth for the binding." in answer.text
    assert "Choose a cloth for the gown." not in answer.text
    changed = owner.get(_path(chosen), params=half, headers={"HX-Request": "true", "HX-Target": "asked"})
    assert changed.status_code == 200
    assert "Choose a cloth for the binding." not in changed.text


def _piece(page: str, key: str) -> str:
    """The words of one section's piece of the page, a space between two figures."""
    piece = re.search(rf'<section class="piece-made[^"]*" id="section-{key}">.*?</section>', page, re.DOTALL)
    assert piece
    return " ".join(re.sub(r"<[^>]*>", " ", piece[0]).split())


def test_each_section_stands_beside_what_it_was_drawn_up_as(owner: httpx2.Client, chosen: dict[str, str]) -> None:
    page = owner.get(_path(chosen), params={**chosen, "cloth.gown": chosen["cloth.binding"]}).text
    piece = _piece(page, "front.ladder")
    assert "Threads withdrawn 16 24" in piece
    assert "Depth of the band 8.4 mm 8.6 mm 0.2 mm more" in piece
    assert "with it Ladder above the hem, back" in piece


def test_keeping_the_threads_changes_the_depth(owner: httpx2.Client, chosen: dict[str, str]) -> None:
    params = {**chosen, "cloth.gown": chosen["cloth.binding"], "depth.front.ladder": "keep_threads"}
    piece = _piece(owner.get(_path(chosen), params=params).text, "front.ladder")
    assert "Threads withdrawn 16 16" in piece
    assert "Depth of the band 8.4 mm 5.7 mm 2.7 mm less" in piece


def test_the_plan_alone_is_the_part_of_the_page_that_changes(owner: httpx2.Client, chosen: dict[str, str]) -> None:
    whole = owner.get(_path(chosen), params=chosen).text
    for part in ("plan", "asked"):
        answer = owner.get(_path(chosen), params=chosen, headers={"HX-Request": "true", "HX-Target": part})
        assert f'id="{part}"' in answer.text.strip().split(">")[0]
        assert answer.text.strip() in whole


def test_what_has_nothing_to_choose_stands_in_one_ledger_and_the_totals_by_the_button(
    owner: httpx2.Client, chosen: dict[str, str]
) -> None:
    page = owner.get(_path(chosen), params=chosen).text
    plain = page.split("<h3>Nothing to choose</h3>")[1].split("</table>")[0]
    assert "seam" in plain
    assert "ladder" not in plain
    totals = re.search(r'<section class="altogether">.*?Make it on this cloth', page, re.DOTALL)
    assert totals
    assert re.search(r'<th scope="row">Knots</th><td>[\d,]+</td><td>[\d,]+</td>', totals[0])


_ROW = re.compile(r'<th scope="row">([^<]*)</th><td>([^<]*)</td><td>([^<]*)(?:<small>([^<]*)</small>)?</td>')


def _minutes(words: str) -> float:
    """The figure that words begin with: hours and halves in minutes, anything else as it is."""
    number, half, unit = re.match(r"([\d,]*)(½?)( h)?", words).groups()  # type: ignore[union-attr]
    return (float(number.replace(",", "") or 0) + (0.5 if half else 0)) * (60 if unit else 1)


@pytest.mark.parametrize("of_batiste", [False, True])
def test_knots_and_hours_add_up_as_they_are_written(
    owner: httpx2.Client, chosen: dict[str, str], *, of_batiste: bool
) -> None:
    cloth = {"cloth.gown": chosen["cloth.binding"]} if of_batiste else {}
    page = owner.get(_path(chosen), params={**chosen, **cloth}).text
    on_cloth, altogether = page.split("Altogether, before a price is promised")
    totals = {label: (before, after, apart) for label, before, after, apart in _ROW.findall(altogether)}
    all_hours = [row for label, row in totals.items() if label.startswith("Hours")]
    for column in (0, 1):
        *parts, whole = (_minutes(row[column]) for row in all_hours)
        assert sum(parts) == whole, totals
    *_, (before, after, apart) = all_hours
    assert _minutes(after) - _minutes(before) == _minutes(apart)
    pieces = [
        _ROW.findall(piece) for piece in re.findall(r'<section class="piece-made.*?</section>', on_cloth, re.DOTALL)
    ]
    knots = [max(_minutes(row[2]) for row in rows if row[0].startswith("Knots")) for rows in pieces]
    assert sum(knots) == _minutes(totals["Knots"][1])
    plain = re.findall(r'data-head="Hours, guessed">([^<]*)<', on_cloth)
    sections = [*(rows[-1][2] for rows in pieces), *plain]
    rounded_by = 15 * len(sections)
    assert sum(map(_minutes, sections)) == pytest.approx(_minutes(all_hours[0][1]), abs=rounded_by)


def test_where_a_space_lies_is_told_whole_in_german_too(
    owner: httpx2.Client, live: Live, chosen: dict[str, str]
) -> None:
    assert "Front, Back: from the bottom edge to Hem" in owner.get(_path(chosen), params=chosen).text
    with live.database.writing() as db:
        db.get_one(Studio, 1).language = "de"
    params = {**chosen, "cloth.gown": chosen["cloth.binding"]}
    spaces = owner.get(_path(chosen), params=params).text.split("Stunden der Abschnitte")[0]
    assert "Front, Back: vom unteren Rand bis Hem" in spaces
    assert "Front, Back: von Hem bis Ladder above the hem" in spaces
    assert re.search(r"\d mm mehr<|\d mm weniger<", spaces)
    assert not re.search(r"\d mm (?:more|less)<", spaces)


def _waiting(live: Live) -> str:
    """The number of a bib whose hem asks each time what is done with threads left over."""
    with live.database.writing() as db:
        design = a_design(db, "bib")
        design.document = re.sub(r'left_over = "\w+"\n', "", design.document)
        db.add(design)
        return str(design.id)


def test_a_section_that_waits_is_told_first_and_holds_the_making_up(
    owner: httpx2.Client, live: Live, chosen: dict[str, str]
) -> None:
    with live.database.writing() as db:
        uneven = str(a_cloth(db, "Uneven linen", warp=213, weft=207).id)
    bib = {"commission": chosen["commission"], "design": _waiting(live), "cloth.bib": uneven, "cloth.binding": uneven}
    page = owner.get(_path(chosen), params=bib).text
    waiting = re.findall(r'<li><a href="#section-([^"]+)">', page)
    assert waiting
    assert 'class="d-here-fill"' in page
    refused = owner.post(_path(chosen), data=bib)
    assert refused.status_code == 422
    assert "Some sections wait for a choice." in refused.text
    assert "Choose first." in _piece(refused.text, waiting[0])
    assert _made(live) == []
    answered = {f"left.{key}": "shorter" for key in waiting}
    assert owner.post(_path(chosen), data={**bib, **answered}).status_code == 303


def test_confirming_makes_the_garment(owner: httpx2.Client, live: Live, chosen: dict[str, str]) -> None:
    answer = owner.post(_path(chosen), data={**chosen, "name": "Ivy's gown"})
    assert answer.status_code == 303, answer.text
    (garment,) = _made(live)
    assert answer.headers["location"] == f"/garments/{garment.id}"
    assert garment.name == "Ivy's gown"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"design": ""}, "Choose a design."),
        ({"design": "99"}, "Choose a design."),
        ({"design": "x"}, "Enter a design as a number"),
        ({"cloth.gown": ""}, "Choose a cloth for the gown."),
        ({"cloth.gown": "99"}, "Choose a cloth from the shelf."),
        ({"cloth.gown": "-1"}, "must be at least 1"),
        ({"cloth.gown": "99999999999999999999"}, "must be at most"),
    ],
)
def test_wrong_choices_come_back_on_the_page(
    owner: httpx2.Client, live: Live, chosen: dict[str, str], change: dict[str, str], sentence: str
) -> None:
    answer = owner.post(_path(chosen), data={**chosen, "name": "Kept as typed", **change})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert _made(live) == []


def test_a_cloth_too_short_or_too_narrow_is_said(owner: httpx2.Client, live: Live, chosen: dict[str, str]) -> None:
    with live.database.writing() as db:
        short = a_cloth(db, "Remnant", metres=1)
        short.width_um = 400_000
        db.add(short)
        remnant = str(short.id)
    page = owner.get(_path(chosen), params={**chosen, "cloth.gown": remnant}).text
    assert "cm wide, Remnant only 40 cm." in page
    assert "1 m are on hand." in page


def test_a_design_leads_to_the_open_commissions(owner: httpx2.Client, chosen: dict[str, str]) -> None:
    page = owner.get(f"/designs/{chosen['design']}/make").text
    link = re.search(r'href="(/commissions/\d+/make\?design=\d+)"', page)
    assert link
    assert parse_qs(urlsplit(link[1]).query) == {"design": [chosen["design"]]}


def test_a_stitcher_makes_nothing(stitcher: httpx2.Client, live: Live, chosen: dict[str, str]) -> None:
    assert stitcher.get(_path(chosen)).status_code == 403
    assert stitcher.post(_path(chosen), data=chosen).status_code == 403
    assert _made(live) == []
