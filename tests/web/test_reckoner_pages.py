"""The reckoner's pages for making, over HTTP: answers in words, wrong input at its field, a garment's own numbers, keeping."""

import html
import re
from collections.abc import Iterator
from contextlib import closing

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Garment, KeptResult
from service.web.reckoner_keeping import PAGES
from tests.serving import OWNER, SECOND, Live
from tests.web.usual_questions import FIT, TUCKS, USUAL


@pytest.fixture(scope="module")
def owner(with_a_gown: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in once."""
    with closing(with_a_gown.signed_in(OWNER)) as client:
        yield client


@pytest.fixture(scope="module")
def gown(with_a_gown: Live) -> int:
    """The number of the gown being made."""
    with with_a_gown.database.reading() as db:
        number = db.exec(select(Garment.id)).one()
    assert number is not None
    return number


def words_of(page: str) -> str:
    """The page's main part without its markup."""
    main = page.partition('<main id="main"')[2].partition("</main>")[0]
    main = re.sub(r"<(svg|title|desc)\b.*?</\1>", "", main, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main))).strip()


def asked(owner: httpx2.Client, name: str, status: int = 200, /, **more: str) -> str:
    page = owner.get(f"/reckoner/{name}", params={**USUAL[name], **more})
    assert page.status_code == status, page.text
    return page.text


def fault_of(page: str, field: str) -> str:
    found = re.search(rf'id="e-{field}"><span class="unseen">Error: </span>(.*?)</p>', page)
    assert found is not None, words_of(page)
    return html.unescape(found.group(1))


def kept(with_a_gown: Live) -> list[KeptResult]:
    with with_a_gown.database.reading() as db:
        return list(db.exec(select(KeptResult)))


@pytest.mark.parametrize("name", USUAL)
def test_a_question_not_asked_yet_has_no_fault_and_no_answer(owner: httpx2.Client, name: str) -> None:
    page = owner.get(f"/reckoner/{name}")
    assert page.status_code == 200
    assert 'id="answer"' not in page.text
    assert 'class="error-summary"' not in page.text
    assert f"<h1>{PAGES[name].words}</h1>" in page.text


@pytest.mark.parametrize("name", USUAL)
def test_an_answer_is_drawn_and_told_in_words(owner: httpx2.Client, name: str) -> None:
    page = asked(owner, name)
    assert 'id="answer"' in page
    assert ("<svg" in page.partition('class="answer"')[2]) is (name not in {"thread", "growth"})
    assert "<script" not in page.partition("<main")[2]


@pytest.mark.parametrize("name", USUAL)
@pytest.mark.parametrize("typed", ["-1", "NaN", "words", "1e400", "9" * 400])
def test_no_field_of_any_page_takes_nonsense(owner: httpx2.Client, name: str, typed: str) -> None:
    for field, usual in USUAL[name].items():
        if re.fullmatch(r"[\d.]+", usual):
            page = asked(owner, name, 422, **{field: typed})
            assert fault_of(page, field)
            assert 'id="answer"' not in page


def test_a_stranger_is_sent_to_sign_in(with_a_gown: Live) -> None:
    with closing(with_a_gown.visitor()) as visitor:
        assert visitor.get("/reckoner/tucks", params=TUCKS).status_code == 303


def test_tucks_tell_the_block_and_every_line_by_thread(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "tucks"))
    assert "Cut the block 34.4 cm wide: 16 tucks take up 6.4 cm." in page
    assert "Fold, tuck 9 200 " not in page
    assert "Knotted line, tuck 9 16 8 mm Fold, tuck 9 20 10 mm Knotted line, tuck 9 24 12 mm" in page
    assert "trace neck and shoulder only as a guide" in page
    assert "Baldt, Clothing for Women, 1916" in page


def test_tucks_deeper_than_half_the_spacing_are_told_at_the_depth(owner: httpx2.Client) -> None:
    page = asked(owner, "tucks", 422, depth="9")
    assert fault_of(page, "depth") == "This must be at most half the spacing (16 mm), not 9."


def test_a_gowns_own_tucks_are_filled_in_and_answered(owner: httpx2.Client, gown: int) -> None:
    page = owner.get("/reckoner/tucks", params={"garment": gown}).text
    words = words_of(page)
    assert "Filled in from" in words
    assert "Skirt front: 2 tucks 6 mm deep" in words
    assert "2 tucks take up 2.4 cm" in words
    assert f'href="/garments/{gown}/reckoned"' in page
    other = words_of(owner.get("/reckoner/tucks", params={"garment": gown, "of": 2}).text)
    assert "Filled in from Christening gown with bands round the skirt: Skirt front: 1 tuck 12 mm deep" in other


def test_another_ones_garment_is_not_filled_in(with_a_gown: Live, gown: int) -> None:
    with closing(with_a_gown.signed_in(SECOND)) as client:
        assert client.get("/reckoner/tucks", params={"garment": gown}).status_code == 404
        assert client.get(f"/garments/{gown}/reckoned").status_code == 404
        body = {**TUCKS, "garment": str(gown)}
        assert client.post("/reckoner/tucks/keep", data=body).status_code == 404


def test_growth_tucks_tell_how_much_longer_to_cut_and_what_each_lets_down(owner: httpx2.Client) -> None:
    # Baldt, 1916, ch. XXII: a tuck takes twice its depth; 5 cm by tucks of at most 1 cm are three of 17 threads.
    page = words_of(asked(owner, "growth"))
    assert "3 tucks of 17 threads: cut the skirt 5.1 cm longer." in page
    assert "Let out one by one, it hangs lower by 1.7 cm, 3.4 cm, 5.1 cm" in page
    assert "Seam, tuck 1 120 60 mm" in page


def test_a_fold_that_would_hang_past_the_hem_is_told_at_its_field(owner: httpx2.Client) -> None:
    assert "must be at least a tuck's depth" in fault_of(asked(owner, "growth", 422, above_hem="0.5"), "above_hem")


def test_bias_tells_the_cut_and_whether_the_piece_is_enough(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "bias"))
    assert "Cut the strips 36 mm wide: this piece gives" in page  # six finished widths, common practice
    assert "and the edge takes 100 cm" in page
    assert "One join takes 17.96 mm" in page  # 2 x √2 x 6.35, derived
    assert "Or as one continuous strip Cut a square of" in page
    assert "each ear stands 6.35 mm beyond it" in page


def test_bias_without_a_piece_tells_the_least_cloth(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "bias", cloth_height=""))
    assert re.search(r"from [\d.]+ cm of this cloth along the warp at least\.", page)


def test_a_piece_too_small_says_how_much_to_cut(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "bias", cloth_height="2"))
    assert "this piece gives only" in page
    assert "and the edge needs 1000 mm: cut" in page


def test_strips_shorter_than_worth_using_are_left_out(owner: httpx2.Client) -> None:
    def strips(page: str) -> int:
        return int(re.findall(r"Strips of this piece (\d+),", words_of(page))[0])

    assert strips(asked(owner, "bias", shortest="50")) < strips(asked(owner, "bias"))


def test_a_gowns_bindings_are_filled_in_but_for_a_cloth_that_no_panel_is_cut_from(
    owner: httpx2.Client, gown: int
) -> None:
    page = owner.get("/reckoner/bias", params={"garment": gown})
    assert page.status_code == 200
    words = words_of(page.text)
    assert "all 2 bindings of this width" in words
    assert "Fill in the width of the cloth that the binding is cut from." in words
    assert 'id="answer"' not in page.text
    assert 'name="finished" type="text" value="4"' in page.text
    # both cuffs take 36.8 cm of the run; the centre front lies 8.2 cm further on, the middle of the neck's front
    assert 'name="clear_at" type="text" value="45"' in page.text


def test_cloth_tells_what_to_buy_and_other_widths_beside_it(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "cloth", other_widths="110 30"))
    assert "Buy 0.8 m: the blocks take 73.7 cm." in page  # 70 / 0.95, up to the next 10 cm
    assert "110 cm To buy" not in page
    assert re.search(r"110 cm 0\.8 m 73\.7 cm", page)
    assert "30 cm Too narrow" in page


def test_half_blocks_are_cut_on_the_fold(owner: httpx2.Client) -> None:
    more = {"half-1": "yes", "copies-1": "1", "width-1": "45", "shrink_warp": "0"}
    assert "tick that the cloth is folded" in words_of(asked(owner, "cloth", **more))
    assert "the blocks take 70 cm" in words_of(asked(owner, "cloth", folded="yes", **more))


def test_a_block_wider_than_the_cloth_is_told_at_its_own_row(owner: httpx2.Client) -> None:
    page = asked(owner, "cloth", 422, **{"name-2": "back", "width-2": "95", "height-2": "70"})
    assert "wide as cut, but only 900.0 mm of the cloth can be used" in fault_of(page, "width-2")


def test_too_many_blocks_are_refused_in_a_sentence(owner: httpx2.Client) -> None:
    rows = {
        f"{part}-{at}": value
        for at in range(1, 4)
        for part, value in [("width", "4"), ("height", "7"), ("copies", "400")]
    }
    page = asked(owner, "cloth", 422, **rows)
    assert "at most 500 blocks can be laid at once" in words_of(page)


def test_a_gowns_blocks_are_filled_in_and_laid_out(owner: httpx2.Client, gown: int) -> None:
    page = owner.get("/reckoner/cloth", params={"garment": gown}).text
    assert 'name="name-1" type="text" value="Bodice front"' in page
    assert 'name="height-2" type="text" value="90.74"' in page
    # 86 cm; two tucks of 11 threads and one of 23, at 19 to the cm, take up twice that.
    assert re.search(r"Buy [\d.]+ m: the blocks take", words_of(page))


def test_fit_says_what_is_likely_for_cutting_and_nothing_of_health(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "fit"))
    # WHO tables and van Buuren 2023, Table 2: 62.0 cm at day 91 carried to day 274, worked by hand.
    assert "Likely 70 to 74 cm on the day; cut to allow for 69 to 75 cm." in page
    assert "Please measure again 3 to 4 weeks before the day." in page
    assert "Length 72 cm 69.8 to 74.3 cm 69.1 to 75 cm" in page
    assert "74 for the middle, 80 for the upper end of what is likely" in page
    assert "In some countries babies run about 1 cm longer or shorter" in page
    assert not re.search(r"\b(normal|percentile|behind|healthy|feed)", page)


def test_fit_says_when_a_garment_is_too_small(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "fit", made_for="68"))
    assert "Choose first. Made for a child of up to 68.0 cm" in page
    assert "It will probably be too small: choose a larger size." in page


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"on": "2025-12-31"}, "on", "This must not come before the child is born."),
        ({"on": "2028-01-02"}, "on", "the tables end at 730, so measure the child instead."),
        ({"length": "6.2"}, "length", "please take this reading again"),
        ({"length_on": "2026-12-01"}, "length_on", "must lie between the birth and the day"),
        ({"length_on": ""}, "length_on", "Enter the day of the reading."),
        ({"weeks": "31"}, "weeks", "measure near the day"),
        ({"due": "yes"}, "length", "a baby not born yet has not been measured"),
        ({"sex": "other"}, "sex", "Choose girl or boy."),
    ],
)
def test_what_no_child_can_be_is_told_at_its_field(
    owner: httpx2.Client, typed: dict[str, str], field: str, sentence: str
) -> None:
    assert sentence in fault_of(asked(owner, "fit", 422, **typed), field)


def test_thread_tells_skeins_needlefuls_and_guesses(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "thread"))
    # "Needles and Brushes", 1880s, p. 180: about twice the width of the work.
    assert "1 skein: 0.6 m in 1 needleful." in page
    page = words_of(asked(owner, "thread", **{"operation-1": "hem_knot", "quantity-1": "100", "width-1": ""}))
    assert re.search(r"knot the hem edge 100 knots 1 m a guess", page)
    assert "Guesses, not measured: hem knot." in page


def test_thread_is_corrected_by_what_was_really_used(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "thread", reckoned_last="6", used_last="7.5"))
    assert "1 skein: 0.75 m in 1 needleful." in page
    assert "Learned: corrected to 125 % of what is reckoned" in page
    assert re.search(r"12 knots 0.75 m learned", page)
    assert "Fill in both" in fault_of(asked(owner, "thread", 422, used_last="7"), "used_last")


def test_a_gowns_sewing_is_filled_in_thread_by_thread(owner: httpx2.Client, gown: int) -> None:
    page = owner.get("/reckoner/thread", params={"garment": gown}).text
    words = words_of(page)
    assert "Lace cotton No 100" in words
    assert "Fill in how long a skein of it is." in words
    assert 'value="tuck_knot" selected' in page or 'value="ladder_knot" selected' in page
    assert 'id="answer"' not in page


def test_yarn_tells_weight_cover_and_the_burn_test(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "yarn", warp_number="20"))
    assert "About 78 g per square metre" in page  # (20 + 19) x 20 / 10, by the rule
    assert "in the US it must be tested for burning before sale (16 CFR 1610)" in page
    assert "metric, Nm 50 50" in page
    assert "This is a reminder, not legal advice or a safety certificate." in page
    heavy = words_of(asked(owner, "yarn", warp_number="30"))
    assert "tested for burning" not in heavy


def test_yarn_from_the_weight_alone_tells_the_average(owner: httpx2.Client) -> None:
    page = words_of(asked(owner, "yarn", warp_number="", weft_count="20", weight="100"))
    assert "The yarns of this cloth average 25 tex, crimp counted in." in page
    assert "Enter the number of the warp yarn, or the weight" in fault_of(
        asked(owner, "yarn", 422, warp_number=""), "warp_number"
    )


@pytest.mark.parametrize("garment", ["0", "999", "first", "-1", "9" * 30, "²"])
def test_an_unknown_garment_is_told_so(owner: httpx2.Client, garment: str) -> None:
    page = owner.get("/reckoner/tucks", params={"garment": garment})
    assert page.status_code == 404
    assert "There is no such garment." in page.text


def test_a_childs_measures_are_not_kept_with_a_garment(owner: httpx2.Client, gown: int) -> None:
    assert "/reckoner/fit/keep" not in asked(owner, "fit", garment=str(gown))
    assert owner.post("/reckoner/fit/keep", data={**FIT, "garment": str(gown)}).status_code == 404


@pytest.mark.parametrize("name", [name for name in USUAL if name != "fit"])
def test_an_answer_is_kept_with_the_garment_and_can_be_asked_again(
    with_a_gown: Live, owner: httpx2.Client, gown: int, name: str
) -> None:
    page = asked(owner, name, garment=str(gown))
    form = page.partition(f'action="/reckoner/{name}/keep"')[2].partition("</form>")[0]
    hidden = {
        html.unescape(field): html.unescape(value)
        for field, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form)
    }
    before = len(kept(with_a_gown))
    answer = owner.post(f"/reckoner/{name}/keep", data=hidden)
    assert answer.status_code == 303, answer.text
    assert len(kept(with_a_gown)) == before + 1
    told = html.unescape(re.findall(r'id="answer">(.*?)</p>', page)[0])
    shown = owner.get(answer.headers["location"]).text
    assert told in html.unescape(shown)
    again = html.unescape(
        re.findall(
            rf'href="(/reckoner/{name}\?[^"]*garment=[^"]*&[^"]*|/reckoner/{name}\?[^"]*&amp;garment=\d+)"', shown
        )[0]
    )
    assert told in html.unescape(owner.get(again).text)


@pytest.mark.parametrize(
    ("name", "body", "status"),
    [
        pytest.param("tucks", {**TUCKS, "depth": "90"}, 422, id="an answer that cannot be"),
        pytest.param("tucks", {}, 422, id="nothing asked"),
        pytest.param("spells", TUCKS, 404, id="an unknown question"),
    ],
)
def test_what_cannot_be_answered_is_not_kept(
    with_a_gown: Live, owner: httpx2.Client, gown: int, name: str, body: dict[str, str], status: int
) -> None:
    before = len(kept(with_a_gown))
    answer = owner.post(f"/reckoner/{name}/keep", data={**body, "garment": str(gown)})
    assert answer.status_code == status
    assert len(kept(with_a_gown)) == before


def test_only_the_pages_own_fields_are_kept(with_a_gown: Live, owner: httpx2.Client, gown: int) -> None:
    owner.post("/reckoner/tucks/keep", data={**TUCKS, "garment": str(gown), "diary": "a secret"})
    assert "a secret" not in kept(with_a_gown)[-1].asked


def test_the_garments_page_shows_what_is_kept_and_leads_to_its_questions(owner: httpx2.Client, gown: int) -> None:
    owner.post("/reckoner/tucks/keep", data={**TUCKS, "garment": str(gown)})
    page = owner.get(f"/garments/{gown}").text
    assert f'href="/garments/{gown}/marking-sheet"' in page
    assert f'href="/garments/{gown}/reckoned"' in page
    assert "Cut the block 34.4 cm wide: 16 tucks take up 6.4 cm." in words_of(page)


def test_joins_of_bias_keep_clear_of_every_place_named(owner: httpx2.Client) -> None:
    page = asked(owner, "bias", edge="200", clear_at="50; 150", clear="40")
    drawn = re.search(
        r"<desc[^>]*>(\d+) joins along 2000 mm, at ([\d., ]+) mm\.\n40 mm to each side of 500, 1500 mm", page
    )
    assert drawn is not None
    joins = [float(at) for at in drawn[2].split(",")]
    assert len(joins) == int(drawn[1])
    assert all(abs(at - place) >= 40 for at in joins for place in (500, 1500))
    assert "A join comes within" not in page


@pytest.mark.parametrize(("typed", "sentence"), [("50; middle", "number"), ("201", "must be at most"), ("-1", "")])
def test_a_place_to_keep_clear_that_is_none_is_told_at_its_field(
    owner: httpx2.Client, typed: str, sentence: str
) -> None:
    page = asked(owner, "bias", 422, edge="200", clear_at=typed)
    assert sentence in fault_of(page, "clear_at")
    assert f'value="{typed}"' in page
