"""Alterations: the difference on the work left, what is never given back, and garments made after the yes."""

import pytest
from sqlmodel import select

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.hours import Line
from service.reckoning.quoting import hours_changed, with_more
from service.records.db import Database
from service.records.tables import Quote, QuoteGarment, Studio
from service.studio.alterations import (
    change_work,
    draw_alteration_up,
    reckon_alteration_again,
    unworked,
    works_in,
)
from service.studio.money_owed import owed_for
from service.studio.promising import accept, send, take_back
from service.studio.quote_lines import FreeLine, add_line
from service.studio.quote_sums import as_ms, lines_in
from service.studio.rates import stretches_left
from tests.building import a_garment
from tests.counting import number, person, work_on
from tests.quoting import LATER, a_draft, a_sent_quote, an_agreed_garment, foresight, yes_to
from tests.serving import OWNER


def test_an_alteration_is_the_difference_on_the_work_left_and_adds_to_what_is_owed(database: Database) -> None:
    with database.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        piece = number(garment)
        owed = owed_for(db, garment.commission_id).owed_minor
        assert owed == quote.total_minor
        change = draw_alteration_up(db, garment.commission_id, foresight(), owner, LATER)
        change_work(db, number(change), piece, ("embroider", 20), foresight(), LATER)
        left = stretches_left(db, [piece])
        more = with_more(left[piece], [Line("embroider", 2.0, 19.5)])
        hours = hours_changed(foresight().learned.drawn, left, {piece: more}, 2 / 3)
        assert (change.likely_ms, change.quoted_ms) == (as_ms(hours.before), as_ms(hours.after))
        add_line(db, number(change), FreeLine("Silk for two motifs", 380))
        lines = {line.key: line.amount_minor for line in lines_in(db, number(change))}
        worked = round((change.quoted_ms - change.likely_ms) / 36_000 * 36.5)
        assert lines["work"] == worked
        assert lines["margin"] == round((worked + 380) * 0.15)
        assert lines["fee"] == 1500
        assert change.price_minor == lines["work"] + 380 + lines["margin"] + 1500
        assert (
            sum(db.exec(select(QuoteGarment.price_minor).where(QuoteGarment.quote_id == change.id)))
            == change.price_minor
        )
        send(db, number(change), 1, owner, LATER)
        accept(db, number(change), yes_to(change), LATER)
        assert owed_for(db, garment.commission_id).owed_minor == owed + change.total_minor


def test_work_that_falls_away_is_given_back_as_far_as_it_was_not_worked(quotable: Database) -> None:
    with quotable.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        work_on(db, owner, number(garment), lambda row: row.operation == "ladder_knot")
        change = draw_alteration_up(db, garment.commission_id, foresight(), owner, LATER)
        change_work(db, number(change), number(garment), ("", -10), foresight(), LATER)
        add_line(db, number(change), FreeLine("Cloth not cut", -1_000_000))
        db.refresh(garment)
        open_part = unworked(db, garment.commission_id)
        assert open_part == pytest.approx(quote.price_minor * garment.left_ms / garment.planned_ms, abs=1)
        assert 0 < open_part < quote.price_minor
        assert change.price_minor == -open_part
        assert next(line.amount_minor for line in lines_in(db, number(change)) if line.kind == "held") > 0
        assert change.quoted_ms == 0
        send(db, number(change), 1, owner, LATER)
        accept(db, number(change), yes_to(change), LATER)
        owed = owed_for(db, garment.commission_id)
        assert owed.owed_minor == quote.total_minor + change.total_minor
        assert sum(due.open_minor for due in owed.dues) == owed.owed_minor


def test_a_garment_made_after_the_yes_stands_in_the_alteration_with_all_its_work(quotable: Database) -> None:
    with quotable.writing() as db:
        owner = person(db, OWNER)
        garment, _ = an_agreed_garment(db)
        bib = a_garment(db, "bib")
        bib.commission_id = garment.commission_id
        db.flush()
        change = draw_alteration_up(db, garment.commission_id, foresight(), owner, LATER)
        assert [(work.garment_id, work.operation) for work in works_in(db, number(change))] == [(number(bib), "")]
        assert {line.kind for line in lines_in(db, number(change))} >= {"work", "cloth", "thread"}
        assert draw_alteration_up(db, garment.commission_id, foresight(), owner, LATER).id == change.id
        before = change.total_minor
        change_work(db, number(change), number(bib), ("", 0), foresight(), LATER)
        assert change.total_minor < before
        with pytest.raises(Conflict, match="changes nothing yet"):
            send(db, number(change), 1, owner, LATER)
        reckon_alteration_again(db, number(change), foresight(), LATER)
        assert works_in(db, number(change)) == []


def test_what_cannot_be_altered_is_told(quotable: Database) -> None:
    with quotable.writing() as db:
        owner = person(db, OWNER)
        waiting, asked = a_sent_quote(db)
        with pytest.raises(Conflict, match="Nothing is agreed yet"):
            draw_alteration_up(db, waiting.commission_id, foresight(), owner, LATER)
        accept(db, number(asked), yes_to(asked), LATER)
        change = draw_alteration_up(db, waiting.commission_id, foresight(), owner, LATER)
        with pytest.raises(Unreadable, match="more are taken away than are left"):
            change_work(db, number(change), number(waiting), ("ladder_knot", -10_000_000), foresight(), LATER)
        with pytest.raises(NotFound, match="no such garment"):
            change_work(db, number(change), 999, ("ladder_knot", 10), foresight(), LATER)
        _, draft = a_draft(db)
        with pytest.raises(Conflict, match="Only an alteration changes the work"):
            change_work(db, number(draft), number(waiting), ("ladder_knot", 10), foresight(), LATER)


def test_what_was_agreed_in_one_currency_is_not_altered_in_another(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, _ = an_agreed_garment(db)
        db.exec(select(Studio)).one().currency = "EUR"
        with pytest.raises(Conflict, match="agreed in GBP, and the studio now reckons in EUR"):
            draw_alteration_up(db, garment.commission_id, foresight(), person(db, OWNER), LATER)


def test_the_quote_stays_while_an_alteration_of_it_is_agreed(quotable: Database) -> None:
    with quotable.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        change = draw_alteration_up(db, garment.commission_id, foresight(), owner, LATER)
        change_work(db, number(change), number(garment), ("embroider", 10), foresight(), LATER)
        send(db, number(change), 1, owner, LATER)
        accept(db, number(change), yes_to(change), LATER)
        with pytest.raises(Conflict, match="An alteration of this quote is accepted"):
            take_back(db, number(quote), "too dear", owner, LATER)
        take_back(db, number(change), "too dear", owner, LATER)
        take_back(db, number(quote), "too dear", owner, LATER)
        assert set(db.exec(select(Quote.state))) == {"taken back"}
