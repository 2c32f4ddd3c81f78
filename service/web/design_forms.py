"""Forms of designs: what was typed becomes a part of the text, and a fault in the text comes back to its field."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated, Any

from fastapi import Depends, Request
from starlette.datastructures import UploadFile

from service.languages.spoken import said
from service.reckoning.designs import Faults
from service.studio.design_parts import Path, Table, place_in_words
from service.web import design_lengths
from service.web.design_fields import Field, Group
from service.web.forms import Form

MOST_LETTERS = 20_000
MOST_BYTES = 800_000
FURTHEST_MM = 10_000
WHOLE_CHOICES = ("stop_lines", "pair_rows")
EXPLAINED = "explained."


def fields_of(groups: Iterable[Group]) -> tuple[Field, ...]:
    """All fields of these groups."""
    return tuple(field for group in groups for field in group.fields)


def form_of(part: Mapping[str, Any]) -> Form:
    """A part of the text as a form shows it, tables in it under their dotted names."""
    values: dict[str, str] = {}
    lists: dict[str, Sequence[str]] = {}
    for name, value in _flat(part):
        if isinstance(value, list):
            lists[name] = [str(one) for one in value]
            values[name] = "\n".join(str(one) for one in value)
        else:
            values[name] = _typed(name, value)
    return Form(values, lists)


def _flat(part: Mapping[str, Any], before: str = "") -> Iterable[tuple[str, Any]]:
    for name, value in part.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{name}.")
        else:
            yield f"{before}{name}", value


def _typed(name: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, int | float):
        return f"{design_lengths.from_mm(value) if design_lengths.is_length(name) else value:.10g}"
    return design_lengths.text_shown(str(value)) if design_lengths.is_written(name) else str(value)


def part_from(form: Form, fields: Iterable[Field]) -> Table:
    """What was typed into these fields, as a table of the text; empty fields are left out."""
    read = {field.name: _value(form, field) for field in fields}
    return {
        name: value
        for name, value in read.items()
        if value is not None and value is not False and value not in ("", [])
    }


def _value(form: Form, field: Field) -> object:
    label = said(field.label)
    called = label if label != field.label else label[:1].lower() + label[1:]
    if field.sort == "whole":
        return form.whole(field.name, called=called, needed=False)
    if field.sort == "number":
        number = form.decimal(field.name, called=called, least=-FURTHEST_MM, most=FURTHEST_MM, needed=False)
        if number is None:
            return None
        return plain_number(
            design_lengths.to_mm(float(number)) if design_lengths.is_length(field.name) else float(number)
        )
    if field.sort == "tick":
        return form.ticked(field.name)
    if field.sort == "ticks":
        return [one for one in form.lists.get(field.name, []) if one]
    if field.sort == "choice":
        chosen = form.choice(field.name, [value for value, _ in field.options], called=called, needed=field.needed)
        return int(chosen) if chosen and field.name in WHOLE_CHOICES else chosen
    text = form.text(field.name, called=called, most=MOST_LETTERS, needed=field.needed)
    text = design_lengths.text_kept(text) if design_lengths.is_written(field.name) else text
    lines = [line.strip() for line in text.splitlines()]
    return [line for line in lines if line] if field.sort == "lines" else "\n".join(lines)


def plain_number(value: float) -> float:
    """A number without an idle fraction, as the text holds it."""
    return int(value) if value == int(value) else value


def explained_from(form: Form) -> dict[str, str]:
    """Why findings need trouble nobody, by the finding's code."""
    typed = {name.removeprefix(EXPLAINED): form.raw(name) for name in form.values if name.startswith(EXPLAINED)}
    return {code: why for code, why in typed.items() if why}


def tell_faults(form: Form, faults: Faults, path: Path, labels: Mapping[str, str], table: Table) -> None:
    """Note each fault at its field, if it lies in this part; else for the whole form, with its place in words."""
    here = ".".join(path) + "."
    for wrong in faults.wrongs:
        name = wrong.field.removeprefix(here)
        if wrong.field.startswith(here) and name in labels:
            form.fault(name, f"{said(labels[name])}: {said(wrong.sentence)}.")
        else:
            form.fault("", f"{place_in_words(table, wrong.field)}: {said(wrong.sentence)}.")


async def read_brought(request: Request) -> Form:
    """A design's text, brought as a file or pasted; a file goes before what was pasted."""
    async with request.form(max_fields=20, max_files=1) as sent:
        form = Form({name: value for name, value in sent.multi_items() if isinstance(value, str)})
        brought = sent.get("file")
        content = b"" if not isinstance(brought, UploadFile) else await brought.read(MOST_BYTES)
    try:
        form.values["text"] = content.decode() or form.values.get("text", "")
    except UnicodeDecodeError:
        form.fault("file", "This file is not readable text. Choose a design’s text file; its name ends in .toml.")
    return form


Brought = Annotated[Form, Depends(read_brought)]
