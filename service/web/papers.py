"""A garment's papers: which there are, the care card that goes home with it, and the words of its label."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from service.errors import NotFound
from service.languages.spoken import said
from service.papers.paper import Paper, Part
from service.reckoning.cautions import REMINDER, WEARERS, Wearer, care_for, cautions_for
from service.records.db import Reading, Writing
from service.records.queries.cloth import last_swatch
from service.records.queries.garments import Parts, parts_of
from service.records.queries.standing import is_seen_by
from service.records.tables import Cloth, ClothSwatch, Commission, Garment
from service.studio.cloth_swatches import test_from
from service.studio.fibres import fibres_of, fibres_told
from service.studio.maker import maker_of
from service.studio.sign_in import Person
from service.studio.worn import worn_of
from service.web import manner
from service.web.deps import Desk, Id, Reads, SignedIn, SignedInDesk
from service.web.paper_pages import print_paper, show_paper
from service.web.words import day, signed_percent

router = APIRouter(include_in_schema=False, prefix="/garments")
For = Annotated[str, Query(alias="for", max_length=20)]
TOLD_OF = {"under three": "For a child under three", "older child": "For an older child", "adult": "For an adult"}
AGE_UNKNOWN = "(the age is not written down, so the youngest is thought of)"
LABEL_RULES = (
    (
        "A permanent mark with maker, place, date and number is asked for in the US (CPSIA, tracking label), and the "
        "maker's name, postal and electronic address with a number in the EU (Regulation (EU) 2023/988)."
    ),
    (
        "The fibre is named by percent of weight, the largest first (16 CFR 303; Regulation (EU) 1007/2011); say pure "
        "or all only of a single fibre."
    ),
    "Sew it where it does not scratch, with no loose end inside (common practice, no source).",
)
KEEPING = (
    (
        "Keep it flat or rolled in white tissue without acid, out of the light, washed and without starch: starch and "
        "damp draw insects and leave marks."
    ),
    "Iron drawn thread work from the wrong side on a soft cloth, so that the knots are not crushed.",
    "Never pull or cut a thread that hangs loose: have it fastened off.",
)
KEEPING_SOURCE = "What the card says of keeping is common practice, no source."
NOT_TRIED = (
    "No washing was tried on this cloth yet. Wash a swatch before you state how: 16 CFR 423 asks for a method that is "
    "known to be safe."
)
ASK_FIRST = "How it is washed was not tried on its cloth: ask us before you wash it."
WATCH = (
    "These are reminders, not a promise of safety: a child is watched while it wears this. The rules of where you live "
    "go before them."
)


@router.get("/{garment_id}/papers")
def show_papers(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    garment = seen_garment(db, person, garment_id)
    parts = parts_of(db, garment_id)
    panels = {panel.id: panel.name for panel in parts.panels}
    return desk.page("papers/papers.html", "table", garment=garment, sections=parts.sections, panels=panels)


@router.get("/{garment_id}/care-card")
def showcare_card(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id, wearer: For = "") -> Response:
    garment = seen_garment(db, person, garment_id)
    card = care_card(desk, db, garment, _named(wearer))
    paper = replace(card, parts=(*card.parts, *_for_the_maker(db, garment, _named(wearer))))
    here = f"/garments/{garment_id}/care-card" + (f"?for={wearer.replace(' ', '+')}" if wearer else "")
    return show_paper(desk, paper, here, (f"/garments/{garment_id}/papers", f"Papers of {garment.name}"))


@router.get("/{garment_id}/care-card.pdf")
def printcare_card(
    desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id, wearer: For = "", paper: str = "a4"
) -> Response:
    garment = seen_garment(db, person, garment_id)
    return print_paper(care_card(desk, db, garment, _named(wearer)), paper, f"care-card-{garment_id}")


@router.get("/{garment_id}/label")
def show_label(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    garment = seen_garment(db, person, garment_id)
    back = (f"/garments/{garment_id}/papers", f"Papers of {garment.name}")
    return show_paper(desk, _label(desk, db, garment), f"/garments/{garment_id}/label", back)


@router.get("/{garment_id}/label.pdf")
def print_label(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id, paper: str = "a4") -> Response:
    garment = seen_garment(db, person, garment_id)
    return print_paper(_label(desk, db, garment), paper, f"label-{garment_id}")


def seen_garment(db: Reading | Writing, person: Person, garment_id: int) -> Garment:
    """The garment, or a refusal when it is unknown or nothing of it is in a stitcher's hands."""
    garment = db.get(Garment, garment_id)
    if garment is None or not (person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)):
        raise NotFound("There is no such garment among those you may see.")
    return garment


def cloths_of(db: Reading | Writing, parts: Parts) -> list[Cloth]:
    """The cloths that a garment's panels are cut from, in the order of its panels."""
    return [db.get_one(Cloth, number) for number in dict.fromkeys(panel.cloth_id for panel in parts.panels)]


def number_of(garment: Garment) -> str:
    """The number that labels, cards and files know this one garment by."""
    return said(f"No. {garment.id}")


def cautions_part(db: Reading | Writing, garment: Garment, parts: Parts, wearer: Wearer | None) -> Part:
    """The cautions of a garment with their sources."""
    worn = worn_of(db, garment, parts.panels, parts.sections, wearer)
    points = tuple(f"{manner.figures_said(said(one.text))} ({said(one.source)})" for one in cautions_for(worn))
    text = () if points else ("Nothing of this garment calls for one of the cautions that this book knows.",)
    is_guessed = wearer is None and db.get_one(Commission, garment.commission_id).child_born is None
    whom = said(TOLD_OF[worn.wearer])
    return Part(f"{whom} {said(AGE_UNKNOWN)}" if is_guessed else whom, text, points=points)


def _named(wearer: str) -> Wearer | None:
    known = next((one for one in WEARERS if one == wearer), None)
    if wearer and known is None:
        raise NotFound(f"A garment is for one of {', '.join(WEARERS)}.")
    return known


def care_card(desk: Desk, db: Reading | Writing, garment: Garment, wearer: Wearer | None) -> Paper:
    """The card that goes home with a garment: it speaks to whoever wears or washes it, and names only the maker."""
    assert desk.studio
    parts = parts_of(db, garment.id or 0)
    cloths = cloths_of(db, parts)
    fibres = fibres_of(db, [cloth.id or 0 for cloth in cloths])
    made_of = {cloth.id: fibres_told(fibres[cloth.id or 0], cloth) for cloth in cloths}
    washed = (_washed(made_of[cloth.id], last_swatch(db, cloth.id or 0)) for cloth in cloths)
    worn = worn_of(db, garment, parts.panels, parts.sections, wearer)
    return Paper(
        title=f"Care card: {garment.name}",
        studio=desk.studio.name,
        told=f"{number_of(garment)}, made by {desk.studio.name}{_place(db)}{_made(garment)}.",
        parts=(
            Part("What it is made of", facts=tuple(("Cloth", told) for told in dict.fromkeys(made_of.values()))),
            Part("Washing", tuple(dict.fromkeys(washed))),
            Part("Ironing and keeping", points=KEEPING),
            Part("Wearing", points=care_for(worn)),
        ),
        foot=WATCH,
    )


def _for_the_maker(db: Reading | Writing, garment: Garment, wearer: Wearer | None) -> Iterator[Part]:
    """What stands beside the card and is not on it: what its maker sees to first, with the sources."""
    parts = parts_of(db, garment.id or 0)
    untried = [cloth.name for cloth in cloths_of(db, parts) if not last_swatch(db, cloth.id or 0)]
    yield Part("For the maker, not on the card", (*(f"{name}: {said(NOT_TRIED)}" for name in untried), KEEPING_SOURCE))
    yield cautions_part(db, garment, parts, wearer)
    yield Part(text=(REMINDER,))


def _washed(made_of: str, swatch: list[ClothSwatch]) -> str:
    """How a cloth was washed when it was tried, told by what it is made of."""
    if not swatch:
        return ASK_FIRST
    test, wash_note = test_from(swatch), swatch[0].washed
    warp, weft = signed_percent(test.warp_change_percent), signed_percent(test.weft_change_percent)
    fibre, washed_on = said(made_of), day(swatch[0].measured_at)
    return (
        f"{fibre}: a swatch was washed on {washed_on}: {wash_note}. It changed by {warp} along the warp and {weft} "
        "along the weft."
        if wash_note
        else f"{fibre}: a swatch was washed on {washed_on} as the garment will be. It changed by {warp} along the "
        f"warp and {weft} along the weft."
    )


def _label(desk: Desk, db: Reading | Writing, garment: Garment) -> Paper:
    assert desk.studio
    parts = parts_of(db, garment.id or 0)
    cloths = cloths_of(db, parts)
    fibres = fibres_of(db, [cloth.id or 0 for cloth in cloths])
    maker = maker_of(db)
    made = f"Made in {maker.place}, " if maker.place else ""
    month = _month(_ready(garment))
    lines = (
        desk.studio.name,
        *(line for line in maker.postal_address.splitlines() if line.strip()),
        *((maker.electronic_address,) if maker.electronic_address else ()),
        f"{made}{month}",
        number_of(garment),
        *dict.fromkeys(fibres_told(fibres[cloth.id or 0], cloth) for cloth in cloths),
        *((f"{said('Size')} {garment.size}",) if garment.size else ()),
    )
    missing = (
        () if maker.place else ("The place is not written down yet: the owner adds it under Settings, the maker.",)
    )
    unstated = tuple(
        f"The fibres of {cloth.name} are not stated by percent." for cloth in cloths if not fibres[cloth.id or 0]
    )
    return Paper(
        title=f"Label: {garment.name}",
        studio=desk.studio.name,
        told="The words to sew in: maker, place, month and number, so that the piece can always be told from others.",
        parts=(
            Part(boxed=lines),
            Part("Before it is sewn in", points=(*missing, *unstated, *LABEL_RULES)),
        ),
        foot=REMINDER,
    )


def _place(db: Reading | Writing) -> str:
    place = maker_of(db).place
    return f" in {place}" if place else ""


def _made(garment: Garment) -> str:
    return f", {_month(garment.finished_at.date())}" if garment.finished_at else ""


def _ready(garment: Garment) -> date:
    return garment.finished_at.date() if garment.finished_at else garment.wanted_on


def _month(day_: date) -> str:
    return manner.month_said(day_)
