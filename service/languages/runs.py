"""The text of a page in a template, cut into what is read in one go: from one block of markup to the next.

A scan goes through a template in the order in which it is written and knows whether it stands in text, in a tag or in
the value of an attribute, also where the template's own statements cut through a tag.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from jinja2 import nodes

INLINE = frozenset(
    """
    a strong em b i span code abbr time sub sup small s kbd q var cite bdi mark data del ins
    """.split()  # noqa: SIM905 (a long list is read more easily as words)
)
"""Markup that stands in a sentence; every other tag ends it."""
SAID = frozenset({"aria-label", "title", "placeholder", "alt", "data-head", "data-said", "label", "summary"})
"""Attributes that are read or heard by people."""
RAW = frozenset({"script", "style"})

OPENING = re.compile(r"<!--.*?-->|<!|</?[a-zA-Z]", re.DOTALL)
ATTRIBUTE = re.compile(r"(?P<end>/?>)|(?P<name>[^\s=>\"'/]+)\s*=\s*(?P<quote>[\"'])|[\"']")
TAG_NAME = re.compile(r"[a-zA-Z][a-zA-Z0-9-]*")
Kind = Literal["open", "close", "block"]


@dataclass(slots=True)
class Tag:
    """A tag with all that stands in it."""

    inside: list[nodes.Expr]
    name: str
    kind: Kind


@dataclass(slots=True)
class Said:
    """The value of an attribute that people read: text and expressions."""

    inside: list[nodes.Expr]


Atom = nodes.Expr | Tag
Piece = nodes.Expr | Said


@dataclass
class Scan:
    """Where in the markup a template stands."""

    where: Literal["text", "tag", "value", "raw"] = "text"
    name: str = ""
    closes: bool = False
    attribute: str = ""
    quote: str = ""
    is_whole: bool = True
    tag: list[Piece] = field(default_factory=list)
    value: list[nodes.Expr] = field(default_factory=list)

    @property
    def is_said(self) -> bool:
        """Whether the value of this attribute is for people."""
        return self.where == "value" and self.attribute in SAID

    def here(self) -> "Scan":
        """The same place, to go on from in another branch."""
        return Scan(self.where, self.name, self.closes, self.attribute, self.quote, is_whole=False)

    def atoms(self, output: list[nodes.Expr]) -> Iterator[nodes.Expr | tuple[list[Piece], str, Kind]]:
        """Text, expressions and tags of one piece of output; a tag cut by a statement counts as a block."""
        self.tag, self.value, self.is_whole = [], [], self.where == "text"
        for node in output:
            if isinstance(node, nodes.TemplateData):
                yield from self._text(node)
            elif self.where in {"text", "raw"}:
                yield node
            elif self.where == "value":
                self.value.append(node)
            else:
                self.tag.append(node)
        if self.where in {"tag", "value"}:
            self._end_value()
            yield self.tag, self.name, "block"
            self.tag = []

    def _end_value(self) -> None:
        if self.value:
            self.tag += [Said(self.value)] if self.is_said else self.value
            self.value = []

    def _text(self, node: nodes.TemplateData) -> Iterator[nodes.Expr | tuple[list[Piece], str, Kind]]:
        data, at = node.data, 0

        def piece(text: str) -> nodes.TemplateData:
            return nodes.TemplateData(text, lineno=node.lineno)

        while at < len(data):
            if self.where == "text":
                found = OPENING.search(data, at)
                start = found.start() if found else len(data)
                if start > at:
                    yield piece(data[at:start])
                if not found:
                    return
                at = found.end()
                if found[0].startswith("<!--"):
                    yield [piece(found[0])], "", "block"
                    continue
                self._begin(data, found)
                named = TAG_NAME.match(data, found.end() - 1)
                at = named.end() if named else at
                self.tag.append(piece(data[start:at]))
            elif self.where == "raw":
                end = data.find(f"</{self.name}", at)
                if end < 0:
                    yield [piece(data[at:])], "", "block"
                    return
                yield [piece(data[at:end])], "", "block"
                self.where, at = "text", end
            elif self.where == "value":
                end = data.find(self.quote, at)
                stop = len(data) if end < 0 else end
                if stop > at:
                    self.value.append(piece(data[at:stop]))
                at = stop
                if end >= 0:
                    self._end_value()
                    self.where = "tag"
                    self.tag.append(piece(self.quote))
                    at += 1
            else:
                found = ATTRIBUTE.search(data, at)
                stop = found.end() if found else len(data)
                self.tag.append(piece(data[at:stop]))
                at = stop
                if found and found["name"]:
                    self.where, self.attribute, self.quote = "value", found["name"].lower(), found["quote"]
                elif found and found["end"]:
                    yield self._ended(is_empty=found["end"] == "/>")

    def _begin(self, data: str, found: re.Match[str]) -> None:
        named = TAG_NAME.match(data, found.end() - 1)
        self.where, self.tag, self.is_whole = "tag", [], True
        self.closes = found[0].startswith("</")
        self.name = named[0].lower() if named and found[0] != "<!" else ""

    def _ended(self, *, is_empty: bool) -> tuple[list[Piece], str, Kind]:
        kind: Kind = "block"
        if self.is_whole and self.name in INLINE and not is_empty:
            kind = "close" if self.closes else "open"
        tag, self.tag = self.tag, []
        self.where = "raw" if self.name in RAW and not self.closes else "text"
        return tag, self.name, kind
