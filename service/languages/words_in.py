"""Which constants in a template are for people, and which expressions may show a sentence of the program."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

from jinja2 import nodes

from service.languages.places import has_words, is_typed
from service.languages.sentences_in import Lookup, Message, is_read, place_of

NOT_WORDS = frozenset(
    """
    form name type inputmode autocomplete href id also width rows shape key area block studio path action way
    unit_key numeric whole required big said_only places list kept session sessions account person here numbered
    field group may_open alone tokens here_id base first last copy mirror each piece part steps now now_id
    """.split()  # noqa: SIM905 (a long list is read more easily as words)
)
"""Parameters of macros that hold no words for people."""
WORDLESS = frozenset({"hidden", "bundle"})
"""Macros that are given no words for people."""
PAIRS, OPTIONS, HEADS = frozenset({"pairs"}), frozenset({"options", "days"}), frozenset({"heads"})
FIGURES = frozenset(
    """
    tidy measure amount cloth_length over_length count_number signed_percent mm depth fine tenths thousandths money
    hundredths quoted_hours percent day short_day day_at_home at_home clock typed_number tojson urlencode e
    escape length count int float round hours_typed month
    """.split()  # noqa: SIM905 (a long list is read more easily as words)
)
"""Filters that write figures, days or markup: nothing is left to be said in another language."""
CHOSEN = frozenset({"select", "reject"})
"""Filters that leave out some of a list."""
THROUGH = frozenset({"figures_said", "trim", "lower", "replace"})
ONE_OF = frozenset({"first", "last"})
"""Filters that take one of a list, which is said by itself."""
SAID, EACH, CHOICES, LEDGER_HEADS = "said", "each_said", "options_said", "heads_said"


def wrapped(node: nodes.Expr, by: str) -> nodes.Expr:
    """The expression given to one of the filters that say it."""
    return nodes.Filter(node, by, [], [], None, None, lineno=node.lineno)


def looks_read(text: str) -> bool:
    """Whether a constant in a list of the template's own is for people: keys are single words in small letters."""
    return has_words(text) and (text[:1].isupper() or " " in text.strip())


class Words:
    """The expressions of one template."""

    def __init__(self, look_up: Lookup, macros: Mapping[str, tuple[str, ...]]) -> None:
        self.look_up = look_up
        self.macros = macros
        self.given: frozenset[str] = frozenset()

    @contextmanager
    def with_parameters(self, parameters: list[nodes.Name]) -> Iterator[None]:
        """What a macro was given was said where it was called."""
        before = self.given
        self.given = before | {each.name for each in parameters}
        yield
        self.given = before

    @contextmanager
    def going_through(self, target: nodes.Node, gone_through: nodes.Node) -> Iterator[None]:
        """The parts of what a macro was given were said too; those of anything else were not."""
        before = self.given
        names = {each.name for each in [target, *target.find_all(nodes.Name)] if isinstance(each, nodes.Name)}
        is_given = isinstance(gone_through, nodes.Name) and gone_through.name in before
        self.given = before | names if is_given else before - names
        yield
        self.given = before

    def shown(self, node: nodes.Expr) -> nodes.Expr:
        """An expression that stands where people read."""
        if isinstance(node, nodes.Const):
            return self._constant(node)
        if isinstance(node, nodes.CondExpr):
            node.expr1 = self.shown(node.expr1)
            node.expr2 = self.shown(node.expr2) if node.expr2 is not None else None
            return node
        if isinstance(node, nodes.Concat):
            return self._joined(node)
        if isinstance(node, nodes.Or | nodes.And):
            node.left, node.right = self.shown(node.left), self.shown(node.right)
            return node
        if isinstance(node, nodes.List | nodes.Tuple):
            node.items = [self.shown(item) for item in node.items]
            return node
        if isinstance(node, nodes.Add):
            node.left, node.right = self.shown(node.left), self.shown(node.right)
            return node
        if isinstance(node, nodes.Call):
            return self.call(node, is_shown=True)
        if isinstance(node, nodes.Filter):
            return self._filtered(node)
        if isinstance(node, nodes.Getitem) and isinstance(node.node, nodes.Dict):
            for pair in node.node.items:
                pair.value = self.shown(pair.value)
            return node
        if isinstance(node, nodes.Name | nodes.Getattr | nodes.Getitem):
            return node if self._is_given(node) or is_typed(place_of(node)) else wrapped(node, SAID)
        return node

    def in_markup(self, node: nodes.Expr) -> nodes.Expr:
        """An expression in a tag: only what it gives to a macro may be read."""
        return self.call(node) if isinstance(node, nodes.Call) else node

    def _is_given(self, node: nodes.Expr) -> bool:
        while isinstance(node, nodes.Getitem):
            node = node.node
        return isinstance(node, nodes.Name) and node.name in self.given

    def _constant(self, node: nodes.Const) -> nodes.Expr:
        if not isinstance(node.value, str) or not has_words(node.value):
            return node
        translation = self.look_up(node.value.strip())
        if translation is None:
            return node
        return nodes.Const(node.value.replace(node.value.strip(), translation), lineno=node.lineno)

    def _joined(self, node: nodes.Concat) -> nodes.Expr:
        parts = [
            nodes.TemplateData(each.value, lineno=each.lineno)
            if isinstance(each, nodes.Const) and isinstance(each.value, str)
            else each
            for each in node.nodes
        ]
        translation = None
        if is_read(parts):
            message = Message(parts)
            translation = self.look_up(message.bare)
        if translation is None:
            node.nodes = [each if isinstance(each, nodes.Const) else self.shown(each) for each in node.nodes]
            return node
        node.nodes = [
            nodes.Const(each.data, lineno=node.lineno) if isinstance(each, nodes.TemplateData) else each
            for each in message.rebuilt(translation, self.shown)
        ]
        return node

    def _filtered(self, node: nodes.Filter) -> nodes.Expr:
        if node.node is None or node.name in FIGURES:
            return node
        if node.name in THROUGH:
            node.node = self.shown(node.node)
            return node
        if node.name in {"default", "d"}:
            node.node, node.args = self.shown(node.node), [self.shown(each) for each in node.args]
            return node
        if node.name == "join":
            node.node = self._each(node.node)
            return node
        if node.name in ONE_OF:
            return node if self._is_given(node.node) or is_typed(place_of(node.node)) else wrapped(node, SAID)
        is_bare = isinstance(node.node, nodes.Name | nodes.Getattr)
        if node.name == "capitalize" and is_bare and (self._is_given(node.node) or is_typed(place_of(node.node))):
            return node
        return wrapped(node, SAID)

    def _each(self, node: nodes.Expr) -> nodes.Expr:
        """A list that is joined: one written in the template is said part by part."""
        if isinstance(node, nodes.Filter) and node.name in CHOSEN and node.node is not None:
            node.node = self._each(node.node)
            return node
        if isinstance(node, nodes.List):
            node.items = [self.shown(item) for item in node.items]
            return node
        return node if is_typed(place_of(node)) else wrapped(node, EACH)

    def call(self, node: nodes.Call, *, is_shown: bool = False) -> nodes.Expr:
        """A call: what a macro is given is said by its parameter's name; what a function returns is said."""
        called = node.node
        name = called.attr if isinstance(called, nodes.Getattr) else getattr(called, "name", "")
        whole = name
        if isinstance(called, nodes.Getattr):
            whole = f"{called.node.name}.{name}" if isinstance(called.node, nodes.Name) else ""
        if whole in self.macros and name in WORDLESS:
            return node
        if whole in self.macros:
            parameters = self.macros[whole]
            said = [self._argument(word, each) for word, each in zip(parameters, node.args, strict=False)]
            node.args = [*said, *node.args[len(said) :]]
            for keyword in node.kwargs:
                keyword.value = self._argument(keyword.key, keyword.value)
            if node.dyn_args is not None:
                node.dyn_args = wrapped(node.dyn_args, EACH)
            return node
        if name in {"super", "caller", "static"} or not is_shown:
            return node
        if name == "get" and isinstance(called, nodes.Getattr):
            if len(node.args) > 1:
                node.args[1] = self.shown(node.args[1])
            return node if is_typed(place_of(called.node)) else wrapped(node, SAID)
        return wrapped(node, SAID)

    def _argument(self, parameter: str, node: nodes.Expr) -> nodes.Expr:
        if parameter in NOT_WORDS:
            return node
        if parameter in OPTIONS:
            return self._several(node, lambda item: self._without(item, 0), CHOICES)
        if parameter in HEADS:
            return self._several(node, lambda item: self._without(item, 1), LEDGER_HEADS)
        if parameter in PAIRS:
            return self._several(node, self.shown, EACH)
        return self.shown(node)

    def _without(self, item: nodes.Expr, left_out: int) -> nodes.Expr:
        if not isinstance(item, nodes.Tuple):
            return self.shown(item)
        item.items = [each if at == left_out else self.shown(each) for at, each in enumerate(item.items)]
        return item

    def _several(self, node: nodes.Expr, one: Callable[[nodes.Expr], nodes.Expr], by: str) -> nodes.Expr:
        """A list written in the template, item by item; one that comes from elsewhere as a whole."""
        if isinstance(node, nodes.List):
            node.items = [one(item) for item in node.items]
        elif isinstance(node, nodes.Add):
            node.left, node.right = self._several(node.left, one, by), self._several(node.right, one, by)
        elif isinstance(node, nodes.CondExpr):
            node.expr1 = self._several(node.expr1, one, by)
            node.expr2 = self._several(node.expr2, one, by) if node.expr2 is not None else None
        elif isinstance(node, nodes.Name | nodes.Getattr | nodes.Getitem | nodes.Filter | nodes.Call):
            return node if self._is_given(node) else wrapped(node, by)
        return node

    def default(self, macro: nodes.Macro, at: int, node: nodes.Expr) -> nodes.Expr:
        """What a macro takes where it is given nothing."""
        parameter = macro.args[len(macro.args) - len(macro.defaults) + at]
        return self._argument(parameter.name, node)

    def listed(self, node: nodes.Expr) -> nodes.Expr:
        """What a template keeps or goes through: its own words are translated, its keys and all else stay."""
        if isinstance(node, nodes.Const):
            return self._constant(node) if isinstance(node.value, str) and looks_read(node.value) else node
        if isinstance(node, nodes.Tuple):
            node.items = [
                each if at == 0 and self._is_key(node) else self.listed(each) for at, each in enumerate(node.items)
            ]
        elif isinstance(node, nodes.List):
            node.items = [self.listed(each) for each in node.items]
        elif isinstance(node, nodes.Dict):
            for pair in node.items:
                pair.value = self.listed(pair.value)
        elif isinstance(node, nodes.CondExpr):
            node.expr1 = self.listed(node.expr1)
            node.expr2 = self.listed(node.expr2) if node.expr2 is not None else None
        elif isinstance(node, nodes.Add):
            node.left, node.right = self.listed(node.left), self.listed(node.right)
        elif isinstance(node, nodes.Concat):
            is_sentence = any(isinstance(each, nodes.Const) and looks_read(str(each.value)) for each in node.nodes)
            return self._joined(node) if is_sentence else node
        elif isinstance(node, nodes.Call):
            return self.call(node)
        return node

    @staticmethod
    def _is_key(pair: nodes.Tuple) -> bool:
        """Whether the first of a pair is a key: small letters before words for people."""
        words = [each.value for each in pair.items if isinstance(each, nodes.Const) and isinstance(each.value, str)]
        first = pair.items[0]
        return (
            isinstance(first, nodes.Const)
            and first.value in words[:1]
            and len(words) > 1
            and not str(first.value)[:1].isupper()
        )
