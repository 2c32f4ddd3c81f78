"""The reckoner's pages for making: shown by name, their answers kept with a garment, the garment's own list of both."""

from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import NotFound, Unreadable
from service.records.queries.kept import kept_of
from service.studio.kept import Keeping, keep_result
from service.web import (
    reckoner_bias,
    reckoner_cloth,
    reckoner_fit,
    reckoner_growth,
    reckoner_thread,
    reckoner_tucks,
    reckoner_yarn,
)
from service.web.deps import Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Typed
from service.web.reckoner import QUESTIONS, filled_in
from service.web.reckoner_making import Page, show, source_of

router = APIRouter(include_in_schema=False)
PAGES = {
    page.name: page
    for page in (
        reckoner_tucks.PAGE,
        reckoner_growth.PAGE,
        reckoner_bias.PAGE,
        reckoner_cloth.PAGE,
        reckoner_fit.PAGE,
        reckoner_thread.PAGE,
        reckoner_yarn.PAGE,
    )
}
WORDS = {question.href.rpartition("/")[2]: question.words for question in QUESTIONS}


def _add(page: Page) -> None:
    """One address a page, so that no other question of the reckoner is shadowed."""

    def show_question(desk: SignedInDesk, person: SignedIn, db: Reads) -> Response:
        return show(desk, person, db, page)

    router.add_api_route(f"/reckoner/{page.name}", show_question)


for each in PAGES.values():
    _add(each)


@router.get("/garments/{garment_id}/reckoned")
def show_reckoned(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    assert desk.studio
    source = source_of(db, person, str(garment_id), desk.studio)
    assert source
    return desk.page(
        "reckoner/reckoned.html",
        "reckoner",
        garment=source.garment,
        kept=kept_of(db, garment_id),
        pages=tuple(PAGES.values()),
        words=WORDS,
    )


@router.post("/reckoner/{name}/keep")
def keep_answer(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, name: str) -> Response:
    assert desk.studio
    page = PAGES.get(name)
    source = source_of(db, person, form.raw("garment"), desk.studio)
    if page is None or not page.is_kept or source is None or source.garment.id is None:
        raise NotFound("There is no such question to keep, or no such garment to keep it with.")
    asked = page.asked_in(form.values)
    again = filled_in(page.usual(desk.studio), asked)
    found = page.answer(again, desk.studio)
    if found is None or again.wrong:
        raise Unreadable(again.errors or {"": "Nothing was asked: reckon first, then keep the answer."})
    keep_result(db, Keeping(source.garment.id, name, asked, found.told, found.figures), person.id, at)
    return desk.go(f"/garments/{source.garment.id}/reckoned?{urlencode({'kept': name})}#kept")
