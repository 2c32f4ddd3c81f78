"""Templates in another language: what is parsed is rewritten before it is compiled, so that a page costs no more.

Text becomes its translation. An expression that may show a sentence of the program is given to `said`. Constants for
people are translated where they stand as such: as an argument, one of two choices, a word of a list that is gone
through; never where they are compared, looked up or sent.
"""

import re
from collections.abc import Callable, Iterator, Mapping

from jinja2 import Environment, nodes

from service.languages.runs import Said, Scan, Tag
from service.languages.sentences_in import Lookup, Message, Part, Within, is_read, nested
from service.languages.words_in import Words


class Rewriter:
    """Rewrites one parsed template; `look_up` gives the translation of a message, or nothing."""

    def __init__(self, look_up: Lookup, macros: Mapping[str, tuple[str, ...]]) -> None:
        self.look_up = look_up
        self.words = Words(look_up, macros)

    def template(self, tree: nodes.Template) -> None:
        """Rewrite it where it stands."""
        self._statements(tree.body, Scan())

    def _statements(self, body: list[nodes.Node], scan: Scan) -> None:
        for node in body:
            self._statement(node, scan)

    def _statement(self, node: nodes.Node, scan: Scan) -> None:
        words = self.words
        if isinstance(node, nodes.Output):
            node.nodes = self._output(node.nodes, scan)
        elif isinstance(node, nodes.If):
            other = [scan.here() for _ in (*node.elif_, node.else_)]
            self._statements(node.body, scan)
            for branch, begun in zip((*(each.body for each in node.elif_), node.else_), other, strict=True):
                self._statements(branch, begun)
        elif isinstance(node, nodes.For):
            node.iter = words.listed(node.iter) if isinstance(node.iter, nodes.Expr) else node.iter
            with words.going_through(node.target, node.iter):
                self._statements(node.body, scan)
            self._statements(node.else_, scan)
        elif isinstance(node, nodes.Macro):
            node.defaults = [words.default(node, at, each) for at, each in enumerate(node.defaults)]
            with words.with_parameters(node.args):
                self._statements(node.body, Scan())
        elif isinstance(node, nodes.CallBlock):
            words.call(node.call)
            self._statements(node.body, Scan())
        elif isinstance(node, nodes.Assign) and isinstance(node.node, nodes.Expr):
            node.node = words.listed(node.node)
        elif isinstance(node, nodes.AssignBlock | nodes.Block | nodes.With | nodes.FilterBlock | nodes.Scope):
            inside = scan if isinstance(node, nodes.Block | nodes.With | nodes.Scope) else Scan()
            self._statements(node.body, inside)

    def _output(self, output: list[nodes.Expr], scan: Scan) -> list[nodes.Expr]:
        made: list[nodes.Expr] = []
        atoms: list[nodes.Expr | Tag] = []
        is_text = scan.where == "text"
        for atom in scan.atoms(output):
            if isinstance(atom, tuple):
                inside, name, kind = atom
                atoms.append(Tag([each for piece in inside for each in self._in_tag(piece)], name, kind))
            else:
                atoms.append(atom)
        if not is_text and not any(isinstance(atom, Tag) for atom in atoms):
            return [each for atom in atoms for each in ([atom] if isinstance(atom, nodes.Expr) else atom.inside)]
        for run in nested(atoms):
            made += run.inside if isinstance(run, Tag) else self._run(run)
        return made

    def _in_tag(self, piece: nodes.Expr | Said) -> list[nodes.Expr]:
        if isinstance(piece, Said):
            return (
                self._read(list(piece.inside))
                if is_read(piece.inside)
                else [each if isinstance(each, nodes.TemplateData) else self.words.shown(each) for each in piece.inside]
            )
        return [piece if isinstance(piece, nodes.TemplateData) else self.words.in_markup(piece)]

    def _run(self, parts: list[Part]) -> list[nodes.Expr]:
        """What is read in one go, said; tags that only stand beside each other are read one by one."""
        if is_read(parts):
            return self._read(parts)
        made: list[nodes.Expr] = []
        for part in parts:
            if isinstance(part, Within):
                made += [*part.opened.inside, *self._run(part.inside), *part.closed.inside]
            else:
                made.append(part if isinstance(part, nodes.TemplateData) else self.words.shown(part))
        return made

    def _read(self, parts: list[Part]) -> list[nodes.Expr]:
        message = Message(parts)
        translation = self.look_up(message.bare)
        if translation is None:
            return self._as_it_is(parts)
        return message.rebuilt(translation, self.words.shown)

    def _as_it_is(self, parts: list[Part]) -> list[nodes.Expr]:
        made: list[nodes.Expr] = []
        for part in parts:
            if isinstance(part, Within):
                made += [*part.opened.inside, *self._as_it_is(part.inside), *part.closed.inside]
            else:
                made.append(part if isinstance(part, nodes.TemplateData) else self.words.shown(part))
        return made


Macros = Mapping[str, tuple[str, ...]]
TAKEN = re.compile(r"\{%-?\s*from\s+\"([^\"]+)\"\s+import\s+([\w\s,]+?)-?%\}")
IMPORTED = re.compile(r"\{%-?\s*import\s+\"([^\"]+)\"\s+as\s+(\w+)")
MACRO = re.compile(r"\{%-?\s*macro\s+(\w+)\((.*?)\)\s*-?%\}", re.DOTALL)
_PARAMETER = re.compile(r"(\w+)\s*(?:=\s*(?:\"[^\"]*\"|'[^']*'|[^,]*))?\s*(?:,|$)")


def macros_in(source: str) -> Macros:
    """The parameters of every macro of a template by its name."""
    return {name: tuple(_PARAMETER.findall(parameters)) for name, parameters in MACRO.findall(source)}


def macros_for(source: str, library: Mapping[str, Macros]) -> dict[str, tuple[str, ...]]:
    """The macros that a template may call, as it calls them: its own, those it takes from others, those everywhere."""
    found = {f"m.{name}": parameters for name, parameters in library.get("macros.html", {}).items()}
    for template, names in TAKEN.findall(source):
        known = library.get(template, {})
        found |= {name: known[name] for name in re.findall(r"\w+", names) if name in known}
    for template, alias in IMPORTED.findall(source):
        found |= {f"{alias}.{name}": parameters for name, parameters in library.get(template, {}).items()}
    return {**found, **macros_in(source)}


class Speaking(Environment):
    """An environment whose templates are rewritten into one language when they are compiled."""

    look_up: Callable[[str, str], str | None]
    library: Mapping[str, Macros]

    def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
        tree: nodes.Template = super()._parse(source, name, filename)
        macros = macros_for(source, self.library)
        Rewriter(lambda message: self.look_up(name or "", message), macros).template(tree)
        tree.set_environment(self)
        for node in _every(tree):
            if getattr(node, "lineno", None) is None:
                node.lineno = 1
        return tree


def _every(node: nodes.Node) -> Iterator[nodes.Node]:
    yield node
    for each in node.iter_child_nodes():
        yield from _every(each)
