"""The forms that a page holds, read from its markup: where each is sent, and its fields as they stand."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

TYPED = frozenset({"text", "email", "tel", "search", "number", "date", "time", "url"})
CHOSEN = frozenset({"checkbox", "radio"})


@dataclass
class Field:
    """One field: its kind, what stands in it, what may be chosen."""

    name: str
    kind: str
    value: str = ""
    offered: list[str] = field(default_factory=list)


@dataclass
class PageForm:
    """A form that writes: its address and its fields, in their order."""

    action: str
    fields: list[Field] = field(default_factory=list)
    takes_files: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its fields."""
        return tuple(dict.fromkeys(each.name for each in self.fields))

    def values(self) -> dict[str, str]:
        """What a browser would send of it now, the last where several have one name."""
        return {name: values[-1] for name, values in self.as_sent().items()}

    def as_sent(self) -> dict[str, list[str]]:
        """The same, with every value of a name that several boxes have."""
        sent: dict[str, list[str]] = {}
        for each in self.fields:
            if each.name and (each.kind not in CHOSEN or each.value != ""):
                sent.setdefault(each.name, []).append(each.value)
        return sent


class _Reader(HTMLParser):
    def __init__(self, here: str) -> None:
        super().__init__()
        self.here, self.found = here, list[PageForm]()
        self.form: PageForm | None = None
        self.area: Field | None = None
        self.select: Field | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form" and said.get("method", "").lower() == "post":
            self.form = PageForm(said.get("action") or self.here, takes_files="multipart" in said.get("enctype", ""))
            self.found.append(self.form)
        if self.form is None:
            return
        if tag == "input":
            self._input(said)
        elif tag == "textarea":
            self.area = self._add(Field(said.get("name", ""), "textarea"))
        elif tag == "select":
            self.select = self._add(Field(said.get("name", ""), "select"))
        elif tag == "option" and self.select is not None:
            self.select.offered.append(said.get("value", ""))
            if "selected" in said or len(self.select.offered) == 1:
                self.select.value = said.get("value", "")

    def _input(self, said: dict[str, str]) -> None:
        kind, value = "hidden" if "hidden" in said else said.get("type", "text"), said.get("value", "")
        if kind in {"submit", "button", "image"} or "readonly" in said or "disabled" in said:
            return
        if kind not in CHOSEN:
            self._add(Field(said.get("name", ""), kind, value))
            return
        assert self.form is not None
        known = next((each for each in self.form.fields if each.name == said["name"] and kind == "radio"), None)
        chosen = known or self._add(Field(said["name"], kind))
        chosen.offered.append(value or "on")
        chosen.value = (value or "on") if "checked" in said else chosen.value

    def _add(self, new: Field) -> Field:
        assert self.form is not None
        self.form.fields.append(new)
        return new

    def handle_data(self, data: str) -> None:
        if self.area is not None:
            self.area.value += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.form = None
        elif tag == "textarea" and self.area is not None:
            self.area.value = self.area.value.removeprefix("\n")
            self.area = None
        elif tag == "select":
            self.select = None


def forms_in(page: str, here: str) -> list[PageForm]:
    """The forms of a page at an address that write something."""
    reader = _Reader(here)
    reader.feed(page)
    return reader.found


def form_to(page: str, action: str) -> dict[str, list[str]]:
    """What a browser would send of the form with that address, nothing touched."""
    (form,) = (form for form in forms_in(page, action) if form.action == action)
    return form.as_sent()
