"""What was typed for a part of a design and has no place in it now: its kind is another, or it mirrors another part.

The page keeps it, hidden, so that choosing as before brings it back, and names it before it is left out.
"""

from collections.abc import Iterable, Mapping

from service.web.design_fields import Field
from service.web.forms import Form

ASKED_FOR = "asked_for"
MIRROR = "mirror"
OF_A_KIND = (
    "Some of what was typed has no place in this kind of section. It is named below: choose the kind it had to have it "
    "back, or keep the section again to leave it out."
)
OF_A_MIRROR = (
    "A mirror takes everything from the other. What was typed for this one is named below: choose “by itself” to have "
    "it back, or keep it again to leave it out."
)


def typed_into(form: Form, field: Field) -> list[str]:
    """What was typed into a field or ticked in it; nothing for one left empty."""
    values = form.lists.get(field.name, []) if field.sort == "ticks" else [form.values.get(field.name, "")]
    return [value for value in values if value.strip()]


def laid_aside(form: Form, could_be: Iterable[Field], asked: Iterable[Field]) -> tuple[Field, ...]:
    """Of the fields that a part could be asked for, those that something was typed into and that are not asked now."""
    asked_now = {field.name for field in asked}
    by_name = {field.name: field for field in could_be if field.name not in asked_now}
    return tuple(field for field in by_name.values() if typed_into(form, field))


def is_said(form: Form, field: Field, usual: Mapping[str, object]) -> bool:
    """Whether what was typed into a field is more than what stands in it before anything is typed."""
    return typed_into(form, field) != [str(usual.get(field.name))]


def refuse_untold(form: Form, asked_for: str, *, anything: bool) -> None:
    """Note, at what was chosen, that keeping would leave something out of which the page sent did not tell."""
    if anything and form.raw(ASKED_FOR) not in ("", asked_for):
        if asked_for == MIRROR:
            form.fault("mirror_of", OF_A_MIRROR)
        else:
            form.fault("kind", OF_A_KIND)
