"""The page that finds anything in the book by name, number or word."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from service.records.folding import fold
from service.records.queries.finding import MOST, Found, Seeker, found_by
from service.studio.sign_in import Person
from service.web.deps import Reads, SignedInDesk
from service.web.reckoner import QUESTIONS

router = APIRouter(include_in_schema=False, prefix="/find")
LONGEST = 200
KINDS = {
    "garments": ("Garments", "/garments/{}"),
    "commissions": ("Commissions", "/commissions/{}"),
    "clients": ("Clients", "/clients/{}"),
    "quotes": ("Quotes", "/quotes/{}"),
    "sections": ("Bands, tucks and seams of pieces being made", "/garments/{}"),
    "designs": ("Designs", "/designs/{}"),
    "cloths": ("Cloth", "/cloth/{}"),
    "supplies": ("Supplies", "/supplies/{}"),
    "stitchers": ("Stitchers", "/stitchers/{}"),
}
PAGES = (
    ("/settings/charges", "What the studio charges", "hourly rate, margin, tax, deposit"),
    ("/settings", "Settings", "units, currency, time zone, numbers"),
    ("/settings/keeping", "How long client data is kept", "erase, privacy"),
    ("/settings/messages", "Words to clients", "messages, letters"),
    ("/settings/maker", "The maker, as labels and files name you", "address, label"),
    ("/settings/guesses", "How long one takes, guessed", "pace, seconds"),
    ("/settings/backups", "Backups, and taking everything out", "export, copy, csv"),
    ("/books", "Books", "hours, pay, spreadsheet, csv, export"),
)


@dataclass(frozen=True, slots=True)
class Line:
    """One thing found, with its address."""

    href: str
    words: str
    about: str


@dataclass(frozen=True, slots=True)
class Group:
    """Things of one kind; `more` says that there are others."""

    heading: str
    lines: list[Line]
    more: bool = False


@router.get("")
def find_anything(desk: SignedInDesk, db: Reads, q: Annotated[str, Query()] = "") -> Response:
    person = desk.person
    assert person is not None
    words = q[:LONGEST].replace("\x00", "")
    found = found_by(db, words, Seeker(person.is_owner, person.stitcher_id or 0))
    groups = [_group(kind, lines) for kind, lines in found.items()]
    if pages := _pages(words, person):
        groups.append(Group("Pages", pages))
    count = sum(len(group.lines) for group in groups)
    return desk.page("find.html", "find", block="found", q=words, groups=groups, count=count)


def _group(kind: str, found: Iterable[Found]) -> Group:
    heading, address = KINDS[kind]
    lines = [
        Line(address.format(each.id), each.name, ", ".join(filter(None, (each.part_of, each.about)))) for each in found
    ]
    return Group(heading, lines[:MOST], len(lines) > MOST)


def _pages(words: str, person: Person) -> list[Line]:
    """Pages whose name or purpose holds the words."""
    wanted = fold(words.strip())
    if not wanted:
        return []
    asked = [(each.href, each.words, each.needs) for each in QUESTIONS if person.is_owner or not each.is_the_owners]
    pages = [*(PAGES if person.is_owner else ()), *asked]
    return [Line(href, name, "") for href, name, about in pages if wanted in (fold(f"{name} {about}") or "")]
