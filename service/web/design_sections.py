"""Pages of one section of a design: its kind, where it lies, its threads, how it is worked."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.designs import STRIP_KINDS
from service.records import tables
from service.records.db import Reading, Writing
from service.studio import designs
from service.studio.design_parts import Path, Table, free_key, part_at, tables_of
from service.web.deps import Id, Now, OwnerDesk, Reads, Writes
from service.web.design_changes import path_of
from service.web.design_drafts import kept, looked_at, shown
from service.web.design_fields import (
    DIRECTIONS,
    EDGES,
    KIND_HINTS,
    KINDS,
    TUCK_DIRECTIONS,
    Field,
    Group,
    Options,
    corner_groups,
    labels,
    on_panel,
    placement_fields,
    section_groups,
)
from service.web.design_forms import EXPLAINED, explained_from, fields_of, form_of, part_from
from service.web.design_left_out import MIRROR, is_said, laid_aside
from service.web.design_lengths import as_shown
from service.web.forms import Form, Typed
from service.web.words import KIND_WORDS

router = APIRouter(include_in_schema=False, prefix="/designs/{design_id}")

PAGE = "designs/section.html"
USUAL_OF_PANEL = {"kind": "hem_band", "direction": "across", "edge": "bottom", "distance_mm": "40"}
USUAL_OF_JOINED = {**USUAL_OF_PANEL, "kind": "seam"}
USUAL_OF_BAND = {"withdraw_threads": "12", "bundle_threads": "4", "stop_lines": "1", "pair_rows": "1"}
USUAL_WHEN_KEPT = {"bundle_threads": 4, "stop_lines": 1, "pair_rows": 1}

OTHER_EDGES = {
    "across": "What runs across is placed from the top or the bottom: choose one of them.",
    "down": "What runs down is placed from the left or the right: choose one of them.",
}


@dataclass(frozen=True, slots=True)
class SectionAsk:
    """A section being drawn up: its design, its panel (none for the joined garment's), its key, what is typed."""

    row: tables.Design
    table: Table
    panel: str
    key: str
    form: Form

    @property
    def path(self) -> Path:
        """Where it stands in the text."""
        like: Path = ("panels", self.panel, "sections") if self.panel else ("sections",)
        if self.key:
            return path_of(self.key)
        place = self.table["panels"][self.panel] if self.panel else self.table
        return *like, free_key(self.form.raw("name") or self.kind, tuple(place.get("sections", {})), "section")

    @property
    def kind(self) -> str:
        """Its kind; a mirror has that of what it mirrors."""
        if self.mirror_of:
            return str(dict(self._others())[self.mirror_of]["kind"])
        chosen = self.form.raw("kind")
        return chosen if chosen in dict(KINDS) else "hem_band"

    @property
    def kinds(self) -> Options:
        """The kinds to choose from."""
        return KINDS

    @property
    def kind_hint(self) -> str:
        """What its kind is, in a sentence."""
        return KIND_HINTS.get(self.kind, "")

    @property
    def is_strip(self) -> bool:
        """Whether it is a band or a tuck."""
        return self.kind in STRIP_KINDS

    @property
    def directions(self) -> Options:
        """The ways it can run, in words."""
        return DIRECTIONS if self.kind in BAND_KINDS else TUCK_DIRECTIONS

    @property
    def direction(self) -> str:
        """Which way it runs."""
        return "down" if self.form.raw("direction") == "down" else "across"

    @property
    def mirror_of(self) -> str:
        """The section that it mirrors, if any."""
        chosen = self.form.raw("mirror_of")
        return chosen if chosen in dict(self._others()) else ""

    @property
    def mirrors(self) -> Options:
        """The sections that it could mirror."""
        return tuple(
            (key, self._named(key, one))
            for key, one in self._others()
            if ("." in key) == bool(self.panel) and (key == self.mirror_of or not one.get("mirror_of"))
        )

    @property
    def panels(self) -> Options:
        """The panels that a section of the joined garment can lie on, those it lies on first and in their order."""
        if self.panel:
            return ()
        said = part_at(self.table, self.path).get("on", {}) if self.key else {}
        return tuple((key, self.table["panels"][key]["name"]) for key in dict.fromkeys((*said, *self.table["panels"])))

    @property
    def placements(self) -> Mapping[str, Group]:
        """By panel, what is asked of where it lies there; one without a key when a panel owns it."""
        if self.mirror_of:
            return {}
        fields = placement_fields(self.kind, self.direction)
        if self.panel:
            return {"": Group("Where it lies", self._with_refused_edge(fields))}
        return {key: Group(name, self._with_refused_edge(on_panel(fields, key))) for key, name in self.panels}

    @property
    def groups(self) -> tuple[Group, ...]:
        """What is asked of it, its place apart."""
        if self.mirror_of:
            return corner_groups(self.kind, self._bands())
        cloths = tuple((role, f"{role}: {cloth['name']}") for role, cloth in self.table["cloths"].items())
        return section_groups(self.kind, cloths, self._bands())

    @property
    def labels(self) -> dict[str, str]:
        """By place in the part, what a field is called."""
        own = {"name": "Name", "kind": "Kind", "direction": "Runs", "mirror_of": "Mirrors", "on": "Lies on"}
        return {**own, **labels((*self.groups, *self.placements.values()))}

    @property
    def asked_for(self) -> str:
        """What its fields depend on: its kind, or that it mirrors another."""
        return MIRROR if self.mirror_of else self.kind

    @property
    def laid_aside(self) -> tuple[Field, ...]:
        """The fields typed into that another kind is asked, or one that is no mirror."""
        asked = [*fields_of((*self.groups, *self.placements.values())), *self._runs(), *self.explaining({})]
        return laid_aside(self.form, self._could_be(), asked)

    @property
    def left_out(self) -> tuple[tuple[str, str], ...]:
        """What of it is left out when it is kept: what it is called, and the panel it was typed for."""
        usual, names = self._usual(), dict(self.panels)
        said = [field for field in self.laid_aside if is_said(self.form, field, usual)]
        of = [field.name.split(".")[1] if field.name.startswith("on.") else "" for field in said]
        return tuple(
            (field.label, names.get(panel, ""))
            for field, panel in zip(said, of, strict=True)
            if not panel or self.form.ticked(f"lies.{panel}")
        )

    def _usual(self) -> Mapping[str, object]:
        """By field, what stands in it before anything is typed or chosen."""
        edge = "top" if self.direction == "across" else "left"
        edges = {"edge": edge, **{f"on.{key}.edge": edge for key, _ in self.panels}}
        usual = {**USUAL_WHEN_KEPT, "direction": "across", **edges}
        if not self.key:
            return {**usual, **USUAL_OF_BAND, **as_shown(USUAL_OF_PANEL)}
        said = form_of(part_at(self.table, self.path)).values
        return {name: value for name, value in usual.items() if name not in said}

    def _runs(self) -> tuple[Field, ...]:
        return (Field("direction", "Runs", "choice"),) if self.is_strip and not self.mirror_of else ()

    def _could_be(self) -> Iterator[Field]:
        """Every field that a section is asked, of whatever kind it is."""
        yield Field("direction", "Runs", "choice")
        for kind, _ in KINDS:
            fields = placement_fields(kind, self.direction)
            yield from fields if self.panel else (one for key, _ in self.panels for one in on_panel(fields, key))
            yield from fields_of(section_groups(kind, (), self._bands()))
        yield from self._reasons({})

    def explaining(self, codes: Mapping[str, str]) -> tuple[Field, ...]:
        """By finding, the field for the maker's reason why it need trouble nobody; `codes` gives their sentences."""
        return () if self.mirror_of else self._reasons(codes)

    def _reasons(self, codes: Mapping[str, str]) -> tuple[Field, ...]:
        kept_codes = [name.removeprefix(EXPLAINED) for name in self.form.values if name.startswith(EXPLAINED)]
        every = dict.fromkeys((*codes, *kept_codes))
        return tuple(
            Field(f"{EXPLAINED}{code}", "Why this need trouble nobody", "line", codes.get(code, "")) for code in every
        )

    def part(self) -> Table:
        """The section as the text holds it."""
        form = self.form
        name = form.text("name", called="the name", needed=False) or KIND_WORDS[self.kind].capitalize()
        part: Table = {"name": name, "kind": self.kind}
        if self.mirror_of:
            on: Table = {key: {} for key, _ in self.panels if form.ticked(f"lies.{key}")}
            corners = part_from(form, fields_of(self.groups))
            return {**part, "mirror_of": self.mirror_of, **corners, **({"on": on} if on else {})}
        if self.is_strip:
            part["direction"] = self.direction
        part |= {
            name: value
            for name, value in part_from(form, fields_of(self.groups)).items()
            if USUAL_WHEN_KEPT.get(name) != value
        }
        why = explained_from(form)
        return {**part, **({"explained": why} if why else {}), **self._placed()}

    def _with_refused_edge(self, fields: tuple[Field, ...]) -> tuple[Field, ...]:
        """The same fields; an edge that was refused is offered too, so that it stays chosen beside its sentence."""
        refused = {field.name: self.form.raw(field.name) for field in fields if field.name in self.form.errors}
        return tuple(
            replace(field, options=(*field.options, *(edge for edge in EDGES if edge[0] == refused.get(field.name))))
            if _is_edge(field)
            else field
            for field in fields
        )

    def _refuse_edges(self) -> None:
        """Say of each edge that lies the other way than the section runs which ones are left to choose."""
        for field in fields_of(self.placements.values()):
            chosen = self.form.raw(field.name)
            if _is_edge(field) and chosen in dict(EDGES) and chosen not in dict(field.options):
                self.form.fault(field.name, OTHER_EDGES[self.direction])

    def _placed(self) -> Table:
        self._refuse_edges()
        if self.panel:
            return part_from(self.form, self.placements[""].fields)
        on: Table = {}
        for key, group in self.placements.items():
            typed = part_from(self.form, group.fields)
            if self.form.ticked(f"lies.{key}"):
                on[key] = {name.removeprefix(f"on.{key}."): value for name, value in typed.items()}
        return {"on": on} if on else {}

    def _bands(self) -> Options:
        """The bands that one could make a corner with."""
        return tuple((key, self._named(key, one)) for key, one in self._others() if one["kind"] in BAND_KINDS)

    def _others(self) -> Iterator[tuple[str, dict[str, Any]]]:
        """Every other section that the text says, by its key."""
        for panel, said in self.table["panels"].items():
            for name, one in said.get("sections", {}).items():
                if f"{panel}.{name}" != self.key:
                    yield f"{panel}.{name}", one
        for name, one in self.table.get("sections", {}).items():
            if name != self.key:
                yield name, one

    def _named(self, key: str, one: Mapping[str, Any]) -> str:
        panel = key.partition(".")[0] if "." in key else ""
        return f"{self.table['panels'][panel]['name']}: {one['name']}" if panel else str(one["name"])


def _is_edge(field: Field) -> bool:
    return field.name.rpartition(".")[2] == "edge"


def _ask(
    db: Reading | Writing, design_id: int, *, key: str = "", panel: str = "", form: Form | None = None
) -> SectionAsk:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    table = tables_of(row.document)
    panel = key.rpartition(".")[0] or panel
    if panel:
        part_at(table, ("panels", panel))
    if key:
        part_at(table, path_of(key))
    if form is not None:  # a field that was not on the page before holds what is usual
        form.values = {**form_of(USUAL_WHEN_KEPT).values, **form.values}
    return SectionAsk(row, table, panel, key, _as_kept(table, key, panel) if form is None else form)


def _as_kept(table: Table, key: str, panel: str) -> Form:
    if not key:
        return Form({**USUAL_OF_BAND, **as_shown(USUAL_OF_PANEL if panel else USUAL_OF_JOINED)})
    part = part_at(table, path_of(key))
    form = form_of({**USUAL_WHEN_KEPT, **part})
    form.values |= {f"lies.{one}": "yes" for one in part.get("on", {})}
    return form


@router.get("/add-section")
def show_new_section(desk: OwnerDesk, db: Reads, design_id: Id, panel: str = "") -> Response:
    return shown(desk, _ask(db, design_id, panel=panel), PAGE, None)


@router.post("/add-section")
def add_section(desk: OwnerDesk, form: Typed, db: Writes, at: Now, design_id: Id, panel: str = "") -> Response:
    return kept(desk, _ask(db, design_id, panel=panel, form=form), db, at, PAGE)


@router.post("/add-section/look")
def look_at_new_section(desk: OwnerDesk, form: Typed, db: Reads, design_id: Id, panel: str = "") -> Response:
    return looked_at(desk, _ask(db, design_id, panel=panel, form=form), PAGE)


@router.get("/sections/{key}")
def show_section(desk: OwnerDesk, db: Reads, design_id: Id, key: str) -> Response:
    return shown(desk, _ask(db, design_id, key=key), PAGE, None)


@router.post("/sections/{key}")
def change_section(desk: OwnerDesk, form: Typed, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    return kept(desk, _ask(db, design_id, key=key, form=form), db, at, PAGE)


@router.post("/sections/{key}/look")
def look_at_section(desk: OwnerDesk, form: Typed, db: Reads, design_id: Id, key: str) -> Response:
    return looked_at(desk, _ask(db, design_id, key=key, form=form), PAGE)
