"""What could be promised for a sum by a day: the page, against the price that a quote of the same piece comes to."""

import html
import re
from datetime import UTC, date, datetime, timedelta

import httpx2
import pytest

from service.reckoning.blocks import Block
from service.reckoning.price import PriceAsk, reckon_price
from service.reckoning.quoting import hours_to_quote
from service.reckoning.shrink import to_cut_um
from service.records.db import Database
from service.records.tables import Charges, Stitcher
from service.studio import for_a_sum
from service.studio.charges import chance_of
from service.studio.for_a_sum import Known, SumAsk, ways_for
from service.studio.foresight import Foresight
from service.studio.rates import Learning, stretches_left
from tests.building import a_cloth, a_design, a_garment
from tests.counting import number, stitcher_id
from tests.serving import STITCHER, Live

PATH = "/reckoner/promise"
SOON = (datetime.now(UTC) + timedelta(days=300)).date()


@pytest.fixture
def ready(live: Live) -> Live:
    """A studio with two designs, a cloth, its charges, and a stitcher with two hours a day."""
    with live.database.writing() as db:
        a_cloth(db)
        for key in ("bib", "bonnet"):
            a_design(db, key)
        db.add(Charges(hour_rate_minor=2400, overhead_minor_per_hour=300, margin_hundredths=1000, price_step_minor=500))
        hers = db.get_one(Stitcher, stitcher_id(db, STITCHER))
        for day in ("mon", "tue", "wed", "thu", "fri"):
            setattr(hers, f"minutes_{day}", 120)
        db.add(hers)
    return live


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def known_of(database: Database) -> tuple[Learning, Foresight]:
    learning = Learning()
    return learning, Foresight(learning)


def test_a_large_sum_leaves_nothing_out_a_smaller_one_bands_a_tiny_one_has_no_way(
    owner: httpx2.Client, ready: Live
) -> None:
    large = words(owner.get(PATH, params={"sum": "3000", "by": SOON.isoformat()}).text)
    assert "For £3,000.00 by" in large
    assert re.search(r"Bib Fine linen nothing Wren Hallam £[\d.,]+ \d+ % ", large), large
    price = re.search(r"Bonnet Fine linen nothing Wren Hallam £([\d.,]+)", large)
    assert price
    less = f"{float(price[1].replace(',', '')) - 60:.2f}"
    smaller = words(owner.get(PATH, params={"sum": less, "by": SOON.isoformat()}).text)
    assert re.search(r"Bonnet Fine linen (Ladder|Serpentine)", smaller), smaller
    tiny = words(owner.get(PATH, params={"sum": "5", "by": SOON.isoformat()}).text)
    assert re.search(r"Nothing comes to so little\. The least that any of them comes to, .+ is £\d+", tiny)
    assert ready


def test_the_price_is_that_of_a_quote_of_the_same_piece(ready: Live) -> None:
    learning, foresight = known_of(ready.database)
    today = date.today()  # noqa: DTZ011 (only a day to plan from)
    with ready.database.reading() as db:
        known = Known(learning.exact(db), 1.0, foresight, foresight.exact(db, today))
        answer = ways_for(db, SumAsk(300_000, SOON), known)
        again = ways_for(db, SumAsk(300_000, SOON), known)
        assert [(way.choice.name, way.left_out.total, way.days) for way in answer.ways] == [
            (way.choice.name, way.left_out.total, way.days) for way in again.ways
        ]
    (bib,) = [way for way in answer.ways if way.choice.name.startswith("Bib")]
    with ready.database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
        charges, hers = db.get_one(Charges, 1), str(stitcher_id(db, STITCHER))
        work = [stretch._replace(stitcher=hers) for stretch in stretches_left(db, [garment_id])[garment_id]]
        hours = hours_to_quote(learning.exact(db).drawn, {garment_id: work}, chance_of(charges))
        price = reckon_price(PriceAsk(hours.likely, hours.quoted, 2400, 300, bib.choice.cloth_minor, 10, 500)).price
    assert abs(price - bib.left_out.total) <= 1000  # lines set up panel by panel, and another draw of the noise


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"by": SOON.isoformat()}, "Enter the sum."),
        ({"sum": "0", "by": SOON.isoformat()}, "The sum must be above nothing."),
        ({"sum": "much", "by": SOON.isoformat()}, "Enter the sum as a number"),
        ({"sum": "100"}, "Enter the day it is wanted."),
        ({"sum": "100", "by": "2001-01-01"}, "The day it is wanted must not lie before today"),
        ({"sum": "100", "by": SOON.isoformat(), "design": "999"}, "Choose a design."),
        ({"sum": "100", "by": SOON.isoformat(), "stitcher": "x"}, "Choose who makes it."),
        ({"sum": "100", "by": SOON.isoformat(), "other": "-1"}, "What else it is made of must be at least 0."),
    ],
)
def test_what_cannot_be_asked_is_said_at_its_field(
    owner: httpx2.Client, ready: Live, said: dict[str, str], sentence: str
) -> None:
    answer = owner.get(PATH, params=said)
    assert answer.status_code == 422
    assert sentence in html.unescape(answer.text)
    assert ready


def test_without_charges_it_leads_to_them_and_without_cloth_it_says_so(owner: httpx2.Client, live: Live) -> None:
    asked = {"sum": "100", "by": SOON.isoformat()}
    assert 'href="/settings/charges"' in owner.get(PATH, params=asked).text
    with live.database.writing() as db:
        db.add(Charges(hour_rate_minor=2400))
    assert (
        "it takes a design, a cloth counted both ways, and a stitcher with hours" in owner.get(PATH, params=asked).text
    )


def test_prices_are_the_owners(stitcher: httpx2.Client, owner: httpx2.Client) -> None:
    assert stitcher.get(PATH).status_code == 403
    assert PATH not in stitcher.get("/reckoner").text
    assert PATH in owner.get("/reckoner").text


def test_a_block_too_wide_for_the_cloth_is_priced_with_what_it_shrinks_all_the_same() -> None:
    laid = for_a_sum._length_um((Block("front", 400, 520),), 1_400_000, (3.0, 0.0))
    assert laid == to_cut_um(520_000, 300)
    assert for_a_sum._length_um((Block("front", 400, 520),), 300_000, (3.0, 0.0)) == laid
