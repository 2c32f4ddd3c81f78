"""The sentences for people in the sources of the program, read by `ast`: literals, and patterns with named places."""

import ast
import itertools
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

from sqlmodel import SQLModel

from service.languages.places import LETTERS, MARK, numbered
from service.web.changes_words import columns_words
from tests.language.said_or_not import (
    FOLDERS,
    IGNORED,
    MOST_VARIANTS,
    NOT_READ,
    NOT_SAID_CALLS,
    NOT_SAID_KEYWORDS,
    SAID_KEYWORDS,
    SHAPELESS,
    SHOWN_WORDS,
    SQL,
    WORDED,
)

CAPITAL = re.compile(r"^[A-Z][a-z’']+$")
TABLE = re.compile(r"^_?[A-Z][A-Z0-9_]+$")
Piece = str | ast.expr


def messages(folder: Path) -> Iterator[tuple[str, str]]:
    """Every message of the program with the module that it stands in."""
    for part in FOLDERS:
        for path in sorted((folder / part).rglob("*.py")):
            module = path.relative_to(folder).as_posix()
            if not NOT_READ.search(module):
                for message in dict.fromkeys(
                    Reader(path.read_text(encoding="utf-8"), worded=bool(WORDED.match(module))).found
                ):
                    yield message, module
    for message in SHOWN_WORDS:
        yield message, "shown words"
    for message in columns_words(column.name for table in SQLModel.metadata.sorted_tables for column in table.columns):
        yield message, "field names"
    for module in ("errors.py", "app.py"):
        for message in dict.fromkeys(Reader((folder / module).read_text(encoding="utf-8")).found):
            yield message, module


class Reader(ast.NodeVisitor):
    """Goes through one module; `found` are its messages."""

    def __init__(self, source: str, *, worded: bool = False) -> None:
        self.worded = worded
        self.found: list[str] = []
        self.chosen: dict[str, ast.expr] = {}
        self.in_table = False
        self.returns_words = False
        self.visit(ast.parse(source))

    def visit_Module(self, node: ast.Module) -> None:
        self._body(node.body)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        self._body(node.body)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        before, self.chosen = self.chosen, {**self.chosen, **_chosen_in(node)}
        returned, self.returns_words = self.returns_words, bool(node.returns and "str" in ast.unparse(node.returns))
        for argument, default in zip(node.args.kwonlyargs, node.args.kw_defaults, strict=True):
            if argument.arg in SAID_KEYWORDS and default is not None:
                self._shown(default, single=False)
        self._body(node.body)
        self.chosen, self.returns_words = before, returned

    def visit_AsyncFunctionDef(self, node: ast.AsyncFunctionDef) -> None:
        self._body(node.body)

    def _body(self, body: Iterable[ast.stmt]) -> None:
        for statement in body:
            if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
                continue
            self.visit(statement)

    def visit_Assign(self, node: ast.Assign) -> None:
        self._assigned(node.targets[0], node.value)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self._assigned(node.target, node.value)

    def _assigned(self, target: ast.expr, value: ast.expr) -> None:
        name = target.id if isinstance(target, ast.Name) else ""
        if name == "__all__" or (name in self.chosen and _is_choice(value)):
            return
        before, self.in_table = self.in_table, self.in_table or bool(TABLE.match(name))
        self.visit(value)
        self.in_table = before

    def visit_Name(self, node: ast.Name) -> None:
        if node.id in self.chosen:
            self._shown(self.chosen[node.id], single=False)

    def visit_Return(self, node: ast.Return) -> None:
        if node.value is not None:
            self._shown(node.value, single=self.returns_words)

    def visit_Constant(self, node: ast.Constant) -> None:
        self._shown(node, single=self.in_table)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        self._shown(node, single=False)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self.visit(node.test)
        for branch in (node.body, node.orelse):
            self._shown(branch, single=self.in_table or self.returns_words)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if isinstance(node.op, ast.Add) and any(_is_text(side) for side in _summed(node)):
            self._shown(node, single=False)
        else:
            self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        for side in (node.left, *node.comparators):
            if isinstance(side, ast.Call):
                self.visit(side)

    def visit_Subscript(self, node: ast.Subscript) -> None:
        self.visit(node.value)

    def visit_Dict(self, node: ast.Dict) -> None:
        for value in node.values:
            self.visit(value)

    def visit_Call(self, node: ast.Call) -> None:
        called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if isinstance(node.func, ast.Attribute) and not isinstance(node.func.value, ast.Constant):
            self.visit(node.func.value)
        for argument in node.args:
            if called not in NOT_SAID_CALLS or not _is_text(argument):
                self.visit(argument)
        for keyword in node.keywords:
            if keyword.arg in SAID_KEYWORDS:
                worded, self.worded = self.worded, True
                self._shown(keyword.value, single=True)
                self.worded = worded
            elif keyword.arg not in NOT_SAID_KEYWORDS or not _is_text(keyword.value):
                self.visit(keyword.value)

    def visit_arguments(self, node: ast.arguments) -> None:
        del node

    def _shown(self, node: ast.expr, *, single: bool) -> None:
        """Take a literal, a pattern or a choice of them as what it says; go through anything else."""
        if isinstance(node, ast.Constant):
            if isinstance(node.value, str):
                self._take([node.value], single=single)
        elif isinstance(node, ast.JoinedStr) or (
            isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add) and any(map(_is_text, _summed(node)))
        ):
            for pieces in itertools.islice(self._variants(node), MOST_VARIANTS):
                self._take(pieces, single=single)
            self._within(node)
        elif isinstance(node, ast.IfExp):
            self.visit(node.test)
            self._shown(node.body, single=single)
            self._shown(node.orelse, single=single)
        elif isinstance(node, ast.Tuple | ast.List):
            for each in node.elts:
                self._shown(each, single=self.in_table)
        elif isinstance(node, ast.Name) and node.id in self.chosen:
            self._shown(self.chosen[node.id], single=single)
        else:
            self.visit(node)

    def _within(self, node: ast.expr) -> None:
        """What fills a place may hold sentences of its own, unless it was taken up into the pattern."""
        for side in _summed(node):
            if isinstance(side, ast.JoinedStr):
                for value in side.values:
                    if isinstance(value, ast.FormattedValue) and not self._is_taken_up(value.value):
                        self._shown(value.value, single=True)
            elif not _is_text(side) and not self._is_taken_up(side):
                self.visit(side)

    def _is_taken_up(self, node: ast.expr) -> bool:
        return _is_choice(node) or (isinstance(node, ast.Name) and node.id in self.chosen)

    def _take(self, pieces: Iterable[Piece], *, single: bool) -> None:
        taken = Counter[str]()
        message = ""
        for piece in pieces:
            if isinstance(piece, str):
                if set(MARK.sub("", piece)) & set("{}"):
                    return
                message += piece
            else:
                message += f"{{{numbered(place_of(piece), taken)}}}"
        message = message.strip()
        if message not in IGNORED and is_sentence(message, single=single and self.worded):
            self.found.append(message)

    def _variants(self, node: ast.expr) -> Iterator[list[Piece]]:
        """Every way in which a pattern comes out whose choices are between literals."""
        for chosen in itertools.product(*(list(self._choices(part)) for part in _parts(node))):
            yield [piece for pieces in chosen for piece in pieces]

    def _choices(self, part: Piece) -> Iterator[list[Piece]]:
        if isinstance(part, str):
            yield [part]
            return
        if isinstance(part, ast.Name) and part.id in self.chosen:
            part = self.chosen[part.id]
        if _is_choice(part):
            yield from self._branches(part)
        else:
            yield [part]

    def _branches(self, node: ast.expr) -> Iterator[list[Piece]]:
        if isinstance(node, ast.IfExp):
            yield from self._branches(node.body)
            yield from self._branches(node.orelse)
        elif _is_text(node):
            yield from self._variants(node)
        else:
            yield [node]


def _chosen_in(function: ast.FunctionDef) -> dict[str, ast.expr]:
    """The names of a function that are given a choice between literals, once."""
    given: dict[str, list[ast.expr | None]] = {}
    for node in ast.walk(function):
        targets = node.targets if isinstance(node, ast.Assign) else []
        if isinstance(node, ast.AugAssign | ast.For | ast.comprehension):
            given.setdefault(ast.unparse(node.target), []).append(None)
        for target in targets:
            if isinstance(target, ast.Name):
                given.setdefault(target.id, []).append(node.value if isinstance(node, ast.Assign) else None)
            elif isinstance(target, ast.Tuple) and isinstance(node, ast.Assign):
                values = node.value
                for at, each in enumerate(target.elts):
                    value = values.elts[at] if isinstance(values, ast.Tuple) and len(values.elts) > at else None
                    given.setdefault(ast.unparse(each), []).append(value)
    return {
        name: values[0]
        for name, values in given.items()
        if len(values) == 1 and values[0] is not None and _is_choice(values[0])
    }


def _is_choice(node: ast.expr) -> bool:
    """Whether it is one literal or another."""
    return isinstance(node, ast.IfExp) and all(_is_text(side) or _is_choice(side) for side in (node.body, node.orelse))


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _summed(node: ast.expr) -> list[ast.expr]:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return [*_summed(node.left), *_summed(node.right)]
    return [node]


def _parts(node: ast.expr) -> Iterator[Piece]:
    for side in _summed(node):
        if isinstance(side, ast.Constant):
            yield str(side.value)
        elif isinstance(side, ast.JoinedStr):
            for value in side.values:
                yield str(value.value) if isinstance(value, ast.Constant) else value.value  # type: ignore[attr-defined]
        else:
            yield side


def place_of(node: ast.expr) -> str:
    """What the place is called that this expression fills.

    >>> [place_of(ast.parse(text, mode="eval").body) for text in ("width_mm", "section.name", "operation(step.kind)", "a / b")]
    ['width_mm', 'section_name', 'operation', 'a']
    """
    if isinstance(node, ast.Name):
        return node.id.strip("_").lower() or "it"
    if isinstance(node, ast.Attribute):
        return f"{node.value.id}_{node.attr}".lower() if isinstance(node.value, ast.Name) else node.attr.lower()
    if isinstance(node, ast.Call):
        if isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Constant):
            return place_of(node.args[0])  # ", ".join(names)
        if isinstance(node.func, ast.Attribute) and node.func.attr in {
            "capitalize",
            "lower",
            "upper",
            "get",
            "strip",
            "date",
        }:
            return place_of(node.func.value)
        return place_of(node.func)
    if isinstance(node, ast.BinOp):
        return place_of(node.left)
    if isinstance(node, ast.Subscript):
        return place_of(node.value)
    if isinstance(node, ast.IfExp):
        return place_of(node.body)
    if isinstance(node, ast.GeneratorExp | ast.ListComp):
        return place_of(node.elt)
    return "it"


def is_sentence(message: str, *, single: bool) -> bool:
    """Whether a literal is for people by its shape.

    >>> [is_sentence(text, single=False) for text in ("Choose {called}.", "hem band", "hem_band", "/cloth/{id}", "Width", "wash")]
    [True, True, False, False, True, False]
    """
    bare = MARK.sub("", message)
    if len(LETTERS.findall(bare)) < 2 or SHAPELESS.search(bare) or SQL.search(message):
        return False
    words = re.findall(r"[^\W\d_]{2,}", bare)
    if not words:
        return False
    if MARK.search(message):
        return " " in message
    if len(message.split()) > 1 or CAPITAL.match(message):
        return True
    return single and bool(re.fullmatch(r"[A-Za-z’'-]{2,}", message))
