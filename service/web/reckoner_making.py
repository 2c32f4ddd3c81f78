"""What the reckoner's pages for making share: numbers filled in from a garment, the answer told, drawn and kept."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

from fastapi.responses import Response

from service.errors import NotFound
from service.reckoning.design_text import design_on_record, read_design
from service.reckoning.designs import Design, SectionDesign
from service.reckoning.findings import Finding
from service.reckoning.mirrors import drawn_up, sections_drawn_up
from service.records.db import Reading, Writing
from service.records.queries.garments import Parts, parts_of
from service.records.queries.standing import is_seen_by
from service.records.tables import Cloth, Garment, Studio
from service.studio.sign_in import Person
from service.web.deps import Desk
from service.web.forms import UM_PER, Form
from service.web.reckoner import QUESTIONS, filled_in

FINE_UNIT = {"cm": "mm", "in": "in"}
LONG_UNIT = {"cm": "m", "in": "yd"}


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer: in a sentence and in figures, what a person should know, drawings, and what one page alone shows."""

    told: str
    figures: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
    drawings: tuple[str, ...] = ()
    more: Any = None


@dataclass(frozen=True, slots=True)
class Filling:
    """The fields that one part of a garment fills in; `words` names that part, `left_out` tells what they leave out."""

    words: str
    fields: Mapping[str, str]
    left_out: str = ""


@dataclass(frozen=True)
class Source:
    """A garment to fill numbers in from: its parts, its sections as drawn up, and its cloths by number."""

    garment: Garment
    parts: Parts
    cloths: Mapping[int, Cloth]
    studio: Studio

    @cached_property
    def drawn(self) -> Mapping[str, SectionDesign]:
        """The sections as drawn up, mirrors filled in, by key."""
        return sections_drawn_up(design_on_record(self.garment.document))

    @cached_property
    def design(self) -> Design:
        """The design as the garment has it, mirrors filled in."""
        return drawn_up(read_design(self.garment.document))


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the reckoner: its fields and what is usual in them, what a garment fills in, how it is answered.

    `fields` are the names the answer depends on; rows carry their number after a hyphen. `learned` fills in what the
    studio's own records teach of the chosen part of a garment, or of all its work.
    """

    name: str
    fields: frozenset[str]
    usual: Callable[[Studio], Mapping[str, str]]
    answer: Callable[[Form, Studio], Answer | None]
    fill: Callable[[Source], tuple[Filling, ...]] | None = None
    context: Mapping[str, Any] = field(default_factory=dict)
    is_kept: bool = True
    learned: Callable[[Reading, Studio, Source | None, int], Mapping[str, str]] | None = None

    @property
    def words(self) -> str:
        """The question that it answers."""
        return next(question.words for question in QUESTIONS if question.href == f"/reckoner/{self.name}")

    def asked_in(self, values: Mapping[str, str]) -> dict[str, str]:
        """Those of the values that its answer depends on and that say something."""
        return {name: value for name, value in values.items() if value.strip() and self.depends_on(name)}

    def depends_on(self, name: str) -> bool:
        """Whether its answer depends on this field, of a row or by itself."""
        return re.sub(r"-\d{1,3}$", "", name) in self.fields


def show(desk: Desk, person: Person, db: Reading, page: Page) -> Response:
    """The page as its address asks it: with the answer, or with a sentence at each field that cannot be taken."""
    assert desk.studio
    query = desk.request.query_params
    source = source_of(db, person, query.get("garment", ""), desk.studio)
    fillings = page.fill(source) if source and page.fill else ()
    filled = _chosen(fillings, query.get("of", ""))
    at = fillings.index(filled) if filled else 0
    said = {name: value for name, value in query.items() if page.depends_on(name)}
    known = page.learned(db, desk.studio, source, at) if page.learned and not said else {}
    form = filled_in({**page.usual(desk.studio), **known, **(filled.fields if filled and not said else {})}, said)
    found = page.answer(form, desk.studio) if said or filled else None
    if form.wrong and not said:  # the garment does not say all that is needed
        form.errors.clear()
    return desk.page(
        f"reckoner/{page.name}.html",
        "reckoner",
        status=422 if form.wrong else 200,
        page=page,
        form=form,
        found=None if form.wrong else found,
        garment=source.garment if source else None,
        fillings=fillings,
        filled=filled,
        of=query.get("of", ""),
        kept_fields=page.asked_in(form.values),
        fine_unit=FINE_UNIT[desk.studio.length_unit],
        long_unit=LONG_UNIT[desk.studio.length_unit],
        **page.context,
    )


def source_of(db: Reading | Writing, person: Person, typed: str, studio: Studio) -> Source | None:
    """The garment named in the address, if this person may see it; none where none is named."""
    if not typed:
        return None
    garment = db.get(Garment, int(typed)) if typed.isascii() and typed.isdigit() and len(typed) < 10 else None
    if garment is None or garment.id is None:
        raise NotFound("There is no such garment.")
    if not person.is_owner and not is_seen_by(db, garment.id, person.stitcher_id):
        raise NotFound("There is no such garment in your hands.")
    parts = parts_of(db, garment.id)
    cloths = {number: db.get_one(Cloth, number) for number in {panel.cloth_id for panel in parts.panels}}
    return Source(garment, parts, cloths, studio)


def mm_of(
    form: Form, field_name: str, unit: str, *, called: str, needed: bool = True, above: bool = True
) -> float | None:
    """A length as typed, in mm."""
    um = form.length_um(field_name, unit, called=called, needed=needed, above=above)
    return None if um is None else um / 1000


def as_typed(length_mm: float, unit: str, places: int = 4) -> str:
    """A length in mm as it would be typed in that unit.

    >>> as_typed(9.144, "mm"), as_typed(700, "cm"), as_typed(6.35, "in")
    ('9.144', '70', '0.25')
    """
    return plain(length_mm * 1000 / UM_PER[unit], places)


def plain(value: float, places: int = 4) -> str:
    """A number as it would be typed.

    >>> plain(12.0), plain(0.12345678)
    ('12', '0.1235')
    """
    return f"{value:.{places}f}".rstrip("0").rstrip(".")


def rows_of(form: Form, names: tuple[str, ...], most: int, spare: int = 2) -> tuple[int, ...]:
    """The numbers of a form's rows: those filled in and a few more to fill, at most so many."""
    filled = [at for at in range(1, most + 1) if any(form.raw(f"{name}-{at}") for name in names)]
    return tuple(range(1, min(most, max([*filled, 1]) + spare) + 1))


def filled_rows(form: Form, names: tuple[str, ...], most: int) -> list[int]:
    """The numbers of the rows in which anything was typed."""
    return [at for at in range(1, most + 1) if any(form.raw(f"{name}-{at}") for name in names)]


def cloth_panels(source: Source) -> list[tuple[Cloth, list[Any]]]:
    """The garment's cloths with the panels cut from each, in the panels' order."""
    found: dict[int, list[Any]] = {}
    for panel in source.parts.panels:
        found.setdefault(panel.cloth_id, []).append(panel)
    return [(source.cloths[number], panels) for number, panels in found.items()]


def system_across(direction: str | None) -> Literal["warp", "weft"]:
    """The system whose threads run along a strip: weft along one across the cloth, warp along one down it."""
    return "warp" if direction == "down" else "weft"


def _chosen(fillings: tuple[Filling, ...], of: str) -> Filling | None:
    if of.isascii() and of.isdigit() and 1 <= int(of[:4]) <= len(fillings):
        return fillings[int(of[:4]) - 1]
    return fillings[0] if fillings else None
