"""What is read in one go, as one message: text, expressions as named places, tags in it as numbered signs."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from jinja2 import nodes

from service.languages.places import MARK, SPACE, has_words, numbered
from service.languages.runs import Tag

Lookup = Callable[[str], str | None]


@dataclass(slots=True)
class Within:
    """An inline tag with what it encloses."""

    opened: Tag
    inside: list["Part"]
    closed: Tag


Part = nodes.Expr | Within


def place_of(node: nodes.Node) -> str:
    """What a place is called that is filled by this expression: by what it is of, as far as that is named."""
    if isinstance(node, nodes.Name):
        return node.name.strip("_").lower() or "it"
    if isinstance(node, nodes.Getattr):
        return f"{node.node.name}_{node.attr}" if isinstance(node.node, nodes.Name) else str(node.attr)
    if isinstance(node, nodes.Filter) and node.node is not None:
        base = place_of(node.node)
        return f"{base}_{node.name}" if node.name in {"length", "count"} else base
    if isinstance(node, nodes.Call):
        return place_of(node.args[0]) if node.args and not isinstance(node.args[0], nodes.Const) else "it"
    if isinstance(node, nodes.CondExpr | nodes.Getitem):
        return place_of(node.expr1 if isinstance(node, nodes.CondExpr) else node.node)
    if isinstance(node, nodes.BinExpr):
        return place_of(node.left)
    return "it"


def nested(atoms: Sequence[nodes.Expr | Tag]) -> Iterator[list[Part] | Tag]:
    """What is read in one go, its inline tags matched; a tag that ends or cuts it stands between."""
    run: list[Part] = []
    still_open: list[tuple[Tag, list[Part]]] = []

    def broken() -> Iterator[list[Part] | Tag]:
        """Tags that were opened and are not closed in time end what is read as a block does."""
        nonlocal run
        for opened, before in still_open:
            yield before
            yield opened
        yield run
        still_open.clear()
        run = []

    for atom in atoms:
        if not isinstance(atom, Tag):
            run.append(atom)
        elif atom.kind == "open":
            still_open.append((atom, run))
            run = []
        elif atom.kind == "close" and still_open and still_open[-1][0].name == atom.name:
            opened, before = still_open.pop()
            run = [*before, Within(opened, run, atom)]
        else:
            yield from broken()
            yield atom
    yield from broken()


class Message:
    """One message: how it is written in a catalogue, and what its places and signs stand for."""

    def __init__(self, parts: Sequence[Part]) -> None:
        self.places: dict[str, nodes.Expr] = {}
        self.signs: dict[str, Within] = {}
        self._taken: Counter[str] = Counter()
        self.written = "".join(self._write(parts))

    def _write(self, parts: Sequence[Part]) -> Iterator[str]:
        for part in parts:
            if isinstance(part, nodes.TemplateData):
                yield SPACE.sub(" ", part.data)
            elif isinstance(part, Within):
                number = str(len(self.signs) + 1)
                self.signs[number] = part
                yield f"<{number}>"
                yield from self._write(part.inside)
                yield f"</{number}>"
            else:
                name = numbered(place_of(part), self._taken)
                self.places[name] = part
                yield f"{{{name}}}"

    @property
    def bare(self) -> str:
        """As it stands in the catalogue: without the space around it."""
        return self.written.strip()

    def rebuilt(self, translation: str, shown: Callable[[nodes.Expr], nodes.Expr]) -> list[nodes.Expr]:
        """The translation, with the expressions and tags where it wants them."""
        before = " " if self.written[:1] == " " else ""
        after = " " if self.written[-1:] == " " else ""
        made: list[nodes.Expr] = []
        at = 0
        text = f"{before}{translation}{after}"
        for mark in MARK.finditer(text):
            if mark.start() > at:
                made.append(nodes.TemplateData(text[at : mark.start()]))
            at = mark.end()
            if mark["place"]:
                made.append(shown(self.places[mark["place"]]))
            else:
                within = self.signs[mark["opened"] or mark["closed"]]
                made += (within.opened if mark["opened"] else within.closed).inside
        if at < len(text):
            made.append(nodes.TemplateData(text[at:]))
        return made


def is_read(parts: Sequence[Part]) -> bool:
    """Whether there are words between the expressions and tags, not only in them."""
    return any(isinstance(part, nodes.TemplateData) and has_words(part.data) for part in parts)
