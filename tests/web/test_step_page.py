"""The page of one step: counting once however often it is pressed, refusals at the field, taking back, recounting."""

import re
from dataclasses import dataclass

import httpx2
import pytest
from sqlmodel import select

from service.drawing.stitch_words import stitch_order
from service.records.tables import Cloth, Panel, Section, Step, Tally
from service.studio.standing import call_off
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live


@dataclass(frozen=True)
class Bib:
    """A bib worked up to the knots of its first ladder, all of it in Wren's hands."""

    id: int
    knots: int
    quantity: int
    steps: dict[str, int]


@pytest.fixture
def bib(live: Live) -> Bib:
    """The bib, with the numbers of its first ladder's steps by operation."""
    with live.database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        knots = step(db, garment_id, "ladder_knot")
        own = db.exec(select(Step).where(Step.section_id == knots.section_id)).all()
        steps = {row.operation: number(row) for row in own}
        return Bib(garment_id, number(knots), knots.quantity_tenths // 10, steps)


def _done(live: Live, step_id: int) -> float:
    with live.database.reading() as db:
        return db.get_one(Step, step_id).done_tenths / 10


def _key(page: str) -> str:
    found = re.search(r'name="key" value="([^"]+)"', page)
    assert found
    return found[1]


def _count(client: httpx2.Client, step_id: int, **data: str) -> httpx2.Response:
    """Count as the form does, with the page's own key unless one is given."""
    if "key" not in data:
        data["key"] = _key(client.get(f"/steps/{step_id}").text)
    return client.post(f"/steps/{step_id}/count", data=data)


def test_a_count_is_kept_and_the_page_says_what_was_counted_and_what_is_left(
    stitcher: httpx2.Client, live: Live, bib: Bib
) -> None:
    answer = _count(stitcher, bib.knots, counted="41", minutes="12,5")
    assert answer.status_code == 303, answer.text
    page = stitcher.get(answer.headers["location"]).text
    assert "Counted: 41 knots." in page
    assert re.search(
        rf"{bib.quantity - 41}<span class=\"unit\">&nbsp;knots left</span></span> .*of {bib.quantity}, ", page
    )
    assert f"41 bundles of this edge done, {bib.quantity // 2 - 41} left" in page
    with live.database.reading() as db:
        tally = db.exec(select(Tally).where(Tally.step_id == bib.knots)).one()
        assert (tally.counted_tenths, tally.seconds, tally.stitcher_id) == (410, 750, stitcher_id(db, STITCHER))
    assert "Counted: 41" not in stitcher.get(f"/steps/{bib.knots}").text


@pytest.mark.parametrize(("quick", "done"), [("1", 1), ("10", 10), ("end", None)])
def test_a_quick_amount_counts_at_once(
    stitcher: httpx2.Client, live: Live, bib: Bib, quick: str, done: int | None
) -> None:
    assert _count(stitcher, bib.knots, quick=quick, counted="3").status_code == 303
    assert _done(live, bib.knots) == (done or bib.quantity)


def test_every_page_has_a_key_of_its_own_and_a_double_tap_counts_once(
    stitcher: httpx2.Client, live: Live, bib: Bib
) -> None:
    first = stitcher.get(f"/steps/{bib.knots}").text
    assert _key(first) != _key(stitcher.get(f"/steps/{bib.knots}").text)
    for _ in range(3):
        assert _count(stitcher, bib.knots, quick="5", key=_key(first)).status_code == 303
    assert _done(live, bib.knots) == 5
    other = _count(stitcher, bib.knots, quick="10", key=_key(first))
    assert (other.status_code, _done(live, bib.knots)) == (422, 5)
    assert "That was counted by your first press." in other.text
    assert _key(other.text) != _key(first)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"counted": ""}, "Enter how much was done."),
        ({"counted": "x"}, "Enter how much was done as a number"),
        ({"counted": "0"}, "How much was done must be above 0."),
        ({"counted": "-3"}, "How much was done must be above 0."),
        ({"counted": "NaN"}, "as a number"),
        ({"counted": "inf"}, "as a number"),
        ({"counted": "1e9"}, "as a number"),
        ({"counted": "99999999"}, "must be at most 1,000,000"),
        ({"counted": "1.5"}, "Count whole knots."),
        ({"counted": "5", "minutes": "-1"}, "Minutes must be at least 0."),
        ({"counted": "5", "minutes": "soon"}, "Enter the minutes as a number"),
        ({"counted": "5", "minutes": "99999"}, "Minutes must be at most 14,400."),
        ({"counted": "5", "key": ""}, "A key has 1 to 100 characters."),
        ({"quick": "all"}, "as a number"),
    ],
    ids=str,
)
def test_wrong_input_comes_back_at_its_field_with_what_was_typed(
    stitcher: httpx2.Client, live: Live, bib: Bib, typed: dict[str, str], sentence: str
) -> None:
    answer = _count(stitcher, bib.knots, **{"key": "k", **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "There is a problem" in answer.text
    assert "<title>Error: " in answer.text
    if typed.get("counted"):
        assert f'name="counted" type="text" value="{typed["counted"]}"' in answer.text
    assert _done(live, bib.knots) == 0


def test_more_than_was_planned_asks_whether_the_cloth_had_more(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    more = str(bib.quantity + 4)
    asked = _count(stitcher, bib.knots, counted=more, minutes="9")
    assert asked.status_code == 422
    assert "Did the cloth have more threads?" in asked.text
    assert f"Yes, count {more} all the same" in asked.text
    form = re.search(r'<form method="post" action="/steps/\d+/count" class="asks".*?</form>', asked.text, re.DOTALL)
    assert form
    said = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[0]))
    assert said.keys() == {"key", "counted", "minutes", "more_on_cloth"}
    assert _done(live, bib.knots) == 0
    assert stitcher.post(f"/steps/{bib.knots}/count", data=said).status_code == 303
    assert _done(live, bib.knots) == bib.quantity + 4


def test_what_is_out_of_order_is_refused_with_its_reason_and_the_way_there(
    stitcher: httpx2.Client, owner: httpx2.Client, live: Live, bib: Bib
) -> None:
    with live.database.reading() as db:
        later = number(step(db, bib.id, "cut_out"))
        following = step(db, bib.id, "ladder_knot").id
    page = stitcher.get(f"/steps/{later}").text
    assert "Not yet." in page
    assert "Cut out only when every section of this panel is complete" in page
    assert 'action="/steps/' not in page.partition("Not yet.")[2].partition("Counted last")[0]
    assert f'<a href="/steps/{following}">First: knot the edges' in page
    refused = _count(stitcher, later, quick="1", key="k")
    assert (refused.status_code, _done(live, later)) == (422, 0)
    assert "Cut out only when every section" in refused.text
    assert "Do it all the same" not in refused.text
    assert _count(stitcher, later, quick="1", key="k2", overrule="I know").status_code == 403
    refused = _count(owner, later, quick="1")
    assert "Do it all the same, because" in refused.text
    assert _count(owner, later, quick="1", overrule="it frays").status_code == 303
    with live.database.reading() as db:
        tally = db.exec(select(Tally).where(Tally.step_id == later)).one()
        assert (tally.overruled, tally.reason) == (True, "it frays")


def test_what_cannot_be_undone_is_said_first(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    with live.database.writing() as db:
        fresh = number(a_garment(db, "bib"))
        give(db, person(db, OWNER), Giving(fresh, stitcher_id(db, STITCHER)), START)
        cut, wash = number(step(db, fresh, "cut_block")), number(step(db, fresh, "wash"))
    page = stitcher.get(f"/steps/{cut}").text
    assert page.index("This cannot be undone.") < page.index("It is done")
    assert "This cannot be undone." not in stitcher.get(f"/steps/{wash}").text
    assert "Unpicked some" not in stitcher.get(f"/steps/{bib.steps['withdraw']}").text


def test_the_page_tells_what_to_hold_to(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    with live.database.reading() as db:
        section = db.get_one(Section, db.get_one(Step, bib.knots).section_id)
        facts = [f"{section.bundle_threads} threads", f"from the {section.side_worked} side", section.work_direction]
        facts += [section.loop_direction, section.thread, "in a hoop" if section.hoop else "without a hoop"]
    page = stitcher.get(f"/steps/{bib.knots}").text
    assert [fact for fact in facts if f"<dd>{fact}</dd>" not in page] == []


def test_marking_says_which_thread_as_the_marking_sheet_does_and_leads_there(stitcher: httpx2.Client, bib: Bib) -> None:
    sheet = stitcher.get(f"/garments/{bib.id}/marking-sheet").text
    for at in ("", "/table"):
        page = stitcher.get(f"/steps/{bib.steps['mark']}{at}").text
        found = re.findall(r"on thread (\d+) from the (?:top|left) edge of the block, ([0-9.]+) mm", page)
        assert len(found) >= 2
        assert all(f">{thread} we" in sheet or f">{thread} warp" in sheet for thread, _ in found)
        assert all(f">{at_mm}<" in sheet for _, at_mm in found)
        assert f'href="/garments/{bib.id}/marking-sheet">Marking sheet</a>' in page


def test_marking_tells_of_its_own_section_alone_where_two_have_one_name(
    owner: httpx2.Client, live: Live, bib: Bib
) -> None:
    with live.database.reading() as db:
        steps = db.exec(select(Step.id).where(Step.garment_id == bib.id, Step.operation == "mark")).all()
    told = {step_id: _lines_told(owner, step_id) for step_id in steps}
    assert len(told) > 1
    sheet = owner.get(f"/garments/{bib.id}/marking-sheet").text
    with live.database.writing() as db:
        for section in db.exec(select(Section).where(Section.garment_id == bib.id)):
            section.name = "Ladder"
            db.add(section)
    assert {step_id: _lines_told(owner, step_id) for step_id in steps} == told
    drawn = re.compile(r"<(?:path|rect|line)\b[^>]*>")
    assert drawn.findall(owner.get(f"/garments/{bib.id}/marking-sheet").text) == drawn.findall(sheet)


def _lines_told(client: httpx2.Client, step_id: int | None) -> list[str]:
    return re.findall(r"<dt>(Line \d+)", client.get(f"/steps/{step_id}").text)


def test_folding_a_tuck_says_how_deep_it_is(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment_id = number(a_garment(db, "yoke_dress"))
        tuck = db.exec(select(Section).where(Section.garment_id == garment_id, Section.kind == "tuck")).first()
        assert tuck
        fold = number(db.exec(select(Step).where(Step.section_id == tuck.id, Step.operation == "baste")).one())
    page = owner.get(f"/steps/{fold}").text
    assert re.search(r"<dt>Depth of the tuck</dt>\s*<dd>10 mm</dd>", page)


def test_how_a_knot_is_made_stands_with_its_drawing(stitcher: httpx2.Client, bib: Bib) -> None:
    page = stitcher.get(f"/steps/{bib.knots}").text
    told = page.partition("How it is stitched</summary>")[2].partition("</details>")[0]
    assert 'class="d-path"' in told
    assert told.count("<li>") == len(stitch_order("ladder").steps)
    assert "How it is stitched" not in stitcher.get(f"/steps/{bib.steps['withdraw']}").text


def test_the_next_step_is_offered_when_this_one_is_done(stitcher: httpx2.Client, bib: Bib) -> None:
    page = stitcher.get(_count(stitcher, bib.knots, quick="end").headers["location"]).text
    assert re.search(r'<a class="act" href="/steps/\d+/table">Next: ', page)
    assert "Count it" not in page


def test_an_entry_is_taken_back_once(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    _count(stitcher, bib.knots, counted="10", minutes="12")
    page = stitcher.get(f"/steps/{bib.knots}").text
    assert "10 knots in 12 min" in page
    entry = re.search(r'name="entry" value="(\d+)"', page)
    assert entry
    for _ in range(2):
        answer = stitcher.post(f"/steps/{bib.knots}/take-back", data={"key": _key(page), "entry": entry[1]})
        assert answer.status_code == 303
    after = stitcher.get(answer.headers["location"]).text
    assert "Taken back: 10 knots." in after
    assert "<s>10 knots</s>, taken back later" in after
    assert "takes back 10 knots of " in after
    assert 'name="entry"' not in after
    assert _done(live, bib.knots) == 0
    again = stitcher.post(f"/steps/{bib.knots}/take-back", data={"key": "other", "entry": entry[1]})
    assert "That entry was taken back already." in again.text


@pytest.mark.parametrize("entry", ["", "x", "0", "999999", "OTHER"])
def test_only_an_entry_of_this_step_is_taken_back(stitcher: httpx2.Client, live: Live, bib: Bib, entry: str) -> None:
    with live.database.reading() as db:
        other = db.exec(select(Tally.id).where(Tally.step_id == bib.steps["withdraw"])).one()
    data = {"key": "k", "entry": entry.replace("OTHER", str(other))}
    answer = stitcher.post(f"/steps/{bib.knots}/take-back", data=data)
    assert answer.status_code == 422
    assert "There is a problem" in answer.text
    assert _done(live, bib.steps["withdraw"]) > 0


def test_at_a_scissors_step_taking_back_is_said_to_correct_the_count_not_the_cloth(
    owner: httpx2.Client, stitcher: httpx2.Client, bib: Bib
) -> None:
    words = "Taking back corrects the count, not the cloth: what is cut or drawn out stays so."
    _count(stitcher, bib.knots, counted="10")
    for at in ("", "/table"):
        assert words in owner.get(f"/steps/{bib.steps['clip']}{at}").text
        assert words not in stitcher.get(f"/steps/{bib.knots}{at}").text


def test_a_done_step_of_which_nothing_is_taken_back_asks_for_no_more_counts(stitcher: httpx2.Client, bib: Bib) -> None:
    answer = stitcher.post(f"/steps/{bib.steps['withdraw']}/take-back", data={"key": "k", "entry": "0"})
    assert (answer.status_code, "There is a problem" in answer.text) == (422, True)
    assert "Done now" not in answer.text
    assert "Count it" not in answer.text


def test_unpicking_keeps_the_time_and_wants_a_reason(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    _count(stitcher, bib.knots, counted="10", minutes="4")
    wrong = stitcher.post(f"/steps/{bib.knots}/unpick", data={"key": "k", "unpicked": "3"})
    assert (wrong.status_code, "Enter why it was unpicked." in wrong.text) == (422, True)
    too_much = stitcher.post(f"/steps/{bib.knots}/unpick", data={"key": "k", "unpicked": "11", "why": "loose"})
    assert "Only 10 are done, so no more than that can be unpicked." in too_much.text
    assert _done(live, bib.knots) == 10
    data = {"key": "k", "unpicked": "3", "unpick_minutes": "2", "why": "loose"}
    answer = stitcher.post(f"/steps/{bib.knots}/unpick", data=data)
    page = stitcher.get(answer.headers["location"]).text
    assert "Unpicked: 3 knots." in page
    assert "loose" in page
    assert _done(live, bib.knots) == 7
    withdrawn = stitcher.post(f"/steps/{bib.steps['withdraw']}/unpick", data={**data, "key": "w", "unpicked": "1"})
    assert "cannot be put back" in withdrawn.text


def test_the_cloth_is_counted_again_with_a_reason(stitcher: httpx2.Client, live: Live, bib: Bib) -> None:
    with live.database.reading() as db:
        section = db.get_one(Section, db.get_one(Step, bib.knots).section_id)
        standing = section.standing_threads
        assert standing is not None
        bundle, number_of = section.bundle_threads or 0, number(section)
    path = f"/steps/{bib.knots}/recount"
    fewer = str(standing - bundle)
    assert "Enter why it was counted again." in stitcher.post(path, data={"standing_threads": fewer}).text
    for wrong in ("x", "0", "-4", "NaN", "9999999", ""):
        answer = stitcher.post(path, data={"standing_threads": wrong, "recount_reason": "counted twice"})
        assert answer.status_code == 422
        assert "There is a problem" in answer.text
    answer = stitcher.post(path, data={"standing_threads": fewer, "recount_reason": "counted twice"})
    assert answer.status_code == 303, answer.text
    assert "Counted again: what is left follows the new count." in stitcher.get(answer.headers["location"]).text
    with live.database.reading() as db:
        assert db.get_one(Section, number_of).standing_threads == standing - bundle
        assert db.get_one(Step, bib.knots).quantity_tenths == (bib.quantity - 2) * 10


def test_what_is_not_in_her_hands_is_seen_but_not_counted(stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        gown, owner = number(a_garment(db)), person(db, OWNER)
        front = db.exec(select(Panel).where(Panel.garment_id == gown, Panel.key == "front")).one()
        give(db, owner, Giving(gown, stitcher_id(db, STITCHER), frozenset({number(front)})), START)
        mine, other = (number(step(db, gown, "cut_block", nth=nth)) for nth in (0, 1))
    assert "It is done" in stitcher.get(f"/steps/{mine}").text
    page = stitcher.get(f"/steps/{other}").text
    assert "This is not in your hands." in page
    assert "It is done" not in page
    refused = _count(stitcher, other, quick="1", key="k")
    assert (refused.status_code, _done(live, other)) == (403, 0)


def test_a_step_of_other_hands_or_none_is_not_found(
    second: httpx2.Client, owner: httpx2.Client, live: Live, bib: Bib
) -> None:
    assert second.get(f"/steps/{bib.knots}").status_code == 404
    assert _count(second, bib.knots, quick="1", key="k").status_code == 404
    for path in ("/steps/999999", "/steps/0", "/steps/x"):
        assert owner.get(path).status_code == 404
    assert _count(owner, 999999, quick="1", key="k").status_code == 404
    assert owner.get(f"/steps/{bib.knots}?said=99999999999999").status_code == 200
    assert _done(live, bib.knots) == 0


def test_nothing_is_counted_on_a_garment_called_off(owner: httpx2.Client, live: Live, bib: Bib) -> None:
    with live.database.writing() as db:
        call_off(db, bib.id, "the day is off", 1, START)
    assert "This garment is called off, so nothing is counted on it." in owner.get(f"/steps/{bib.knots}").text
    refused = _count(owner, bib.knots, quick="1", key="k")
    assert (refused.status_code, _done(live, bib.knots)) == (422, 0)
    assert "Let the owner take it up again" in refused.text


def test_a_page_that_asks_for_the_step_gets_it_alone(stitcher: httpx2.Client, bib: Bib) -> None:
    headers = {"HX-Request": "true", "HX-Target": "step"}
    wrong = stitcher.post(f"/steps/{bib.knots}/count", data={"key": "k", "counted": "x"}, headers=headers)
    assert (wrong.status_code, wrong.text.lstrip()[:14]) == (422, '<div id="step"')
    right = stitcher.post(f"/steps/{bib.knots}/count", data={"key": "k", "counted": "2"}, headers=headers)
    part = stitcher.get(right.headers["location"], headers=headers).text
    assert part.lstrip().startswith('<div id="step" class="at-the-table" data-said="Counted: 2 knots.">')
    told = re.search(r'<p class="told">.*?</p>', part, re.DOTALL)
    assert told
    assert "Counted: 2 knots." in told[0]
    assert told.start() < part.index('id="count"')


def test_not_yet_leads_to_what_holds_this_step_up(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        gown = number(a_garment(db))
        second_block, wash = step(db, gown, "cut_block", nth=1), step(db, gown, "wash", nth=1)
        assert second_block.panel_id == wash.panel_id
        there, here = number(second_block), number(wash)
    page = owner.get(f"/steps/{here}").text
    assert "Cut the block off the cloth before anything else on this panel." in page
    assert f'<a href="/steps/{there}">First: cut the block, ' in page


def test_unfinished_withdrawing_leads_to_the_knots_and_says_what_usually_comes_first(
    owner: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        bib = number(a_garment(db, "bib"))
        work_on(db, person(db, OWNER), bib, lambda row: row.operation == "mark")
        knots = step(db, bib, "ladder_knot")
        mine = db.exec(select(Step).where(Step.section_id == knots.section_id)).all()
        steps = {row.operation: row for row in mine}
        withdraw, mark = number(steps["withdraw"]), number(steps["mark"])
        for row in mine:
            if row.operation in {"edge_stitch", "clip"}:
                count(db, person(db, OWNER), row, row.quantity_tenths / 10)
        following = number(knots)
        of = f"{steps['mark'].quantity_tenths / 10:g}"
    page = owner.get(f"/steps/{withdraw}").text
    assert f'<p class="quiet">Usually first: <a href="/steps/{mark}">mark</a> (0 of {of} cm done)</p>' in page
    assert f'<a href="/steps/{following}">After this: knot the edges, ' in page
    assert "Usually first" not in owner.get(f"/steps/{mark}").text


def test_cutting_a_block_says_its_size_its_direction_and_its_cloth_before_the_form(
    owner: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        cut = step(db, number(a_garment(db, "bib")), "cut_block")
        panel = db.get_one(Panel, cut.panel_id)
        cloth = db.get_one(Cloth, panel.cloth_id).name
        width, height = panel.cut_width_um / 1000, panel.cut_height_um / 1000
        path = f"/steps/{number(cut)}"
    page = owner.get(path).text
    size = f"{width / 10:.4g} cm across × {height / 10:.4g} cm along the warp ({width:.0f} × {height:.0f} mm)"
    assert f"<dt>Block to cut</dt> <dd>{size}</dd>" in page
    assert f"<dt>From</dt> <dd>{cloth}</dd>" in page
    assert page.index("Block to cut") < page.index("It is done")
    assert 'class="d-block"' in page


def test_passing_over_the_order_without_a_reason_is_said_at_the_reason(
    owner: httpx2.Client, live: Live, bib: Bib
) -> None:
    with live.database.reading() as db:
        later = number(step(db, bib.id, "cut_out"))
    assert re.search(r'name="overrule"[^>]* required', owner.get(f"/steps/{later}").text)
    refused = _count(owner, later, quick="1", overrule=" ")
    assert refused.status_code == 422
    assert '<a href="#f-overrule">Write why you pass over the order of work.</a>' in refused.text
    assert _done(live, later) == 0


def test_unpicking_is_offered_only_where_something_can_be_unpicked(owner: httpx2.Client, live: Live, bib: Bib) -> None:
    with live.database.writing() as db:
        knots = step(db, bib.id, "ladder_knot")
        count(db, person(db, OWNER), knots, 3)
        names = ("cut_block", "wash", "press", "trace", "mark", "clip", "withdraw", "edge_stitch", "ladder_knot")
        done = {
            row.operation: number(row)
            for row in db.exec(select(Step).where(Step.garment_id == bib.id)).all()[::-1]
            if row.operation in names and row.done_tenths
        }
    offered = {name for name, at in done.items() if "Unpicked some" in owner.get(f"/steps/{at}").text}
    assert {"cut_block", "wash", "mark", "withdraw"} <= done.keys()
    assert offered == done.keys() & {"edge_stitch", "ladder_knot"}
