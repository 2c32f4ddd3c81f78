"""Answers of the reckoning written out in full, and questions with one thing changed, so that a kept text can hold both."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import date, timedelta
from itertools import groupby, islice
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from service.reckoning.asked import Wrong

Question = tuple[Callable[[Any], object], Any]  # what reckons, and what is asked of it
Questions = dict[str, Question]


def said(value: object) -> str:
    """A value in one line: figures to seven digits, records by their fields, runs of the same thing counted."""
    if isinstance(value, float):
        return f"{value:.7g}"
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{said(key)}: {said(one)}' for key, one in value.items())}}}"
    if isinstance(value, set | frozenset):
        return said(tuple(sorted(value)))
    if isinstance(value, tuple | list):
        runs = [(len(list(run)), text) for text, run in groupby(map(said, value))]
        return f"({', '.join(text if many == 1 else f'{many} x {text}' for many, text in runs)})"
    if is_dataclass(value):
        return " ".join([type(value).__name__, *(f"{name}={text}" for name, text in parts(value).items())])
    return str(value)


def parts(value: object) -> dict[str, str]:
    """What a record says, field by field; anything else that has no names in it is its own only part."""
    if isinstance(value, dict):
        return {str(name): said(one) for name, one in value.items()}
    if not is_dataclass(value):
        return {"": said(value)}
    return {field.name: said(getattr(value, field.name)) for field in fields(value)}


def told(question: Question) -> dict[str, str]:
    """The answer by its parts, or the refusal."""
    reckon, ask = question
    try:
        return parts(reckon(_or_raise(ask)))
    except Wrong as wrong:
        return {"refused": f"{wrong.field}: {wrong.sentence}"}


def _or_raise(ask: Any) -> Any:
    if isinstance(ask, Wrong):
        raise ask
    return ask


def in_full(name: str, question: Question) -> list[str]:
    """A question and its answer part by part; what is nothing, or only the question again, is passed over."""
    asked = said(question[1])
    return [
        f"# {name}: {asked}",
        *(f"{part} = {text}" for part, text in told(question).items() if text not in {"()", asked}),
    ]


def with_one_thing_changed(name: str, question: Question, every: int = 1) -> list[str]:
    """For each thing in a question changed, or each so-and-so-manyth, what of the answer is no longer the same."""
    plain, lines = told(question), [f"# {name}"]
    for what, ask in islice(changed(question[1]), 0, None, every):
        other = told((question[0], ask))
        if "refused" in other:
            lines.append(f"{what}: refused at {other['refused']}")
        elif differs := [f"{part} = {_short(text)}" for part, text in other.items() if text != plain.get(part)]:
            lines.append(f"{what}: {'; '.join(differs)}")
    return lines


def changed(ask: Any) -> Iterator[tuple[str, Any]]:
    """The question with one thing in it changed, and what that was."""
    if isinstance(ask, tuple) and not hasattr(ask, "_fields"):
        for at, one in enumerate(ask[:3]):
            for other in _instead(one, type(one)):
                yield f"{at} {said(other)}", _in_place(ask, at, other)
            for what, other in changed(one):
                yield f"{at}.{what}", _in_place(ask, at, other)
    elif is_dataclass(ask) and not isinstance(ask, type):
        hints = get_type_hints(type(ask))
        for field in (field for field in fields(ask) if field.init):
            one = getattr(ask, field.name)
            for other in _instead(one, hints[field.name]):
                yield _held(f"{field.name} {said(other)}", ask, field.name, other)
            for what, other in changed(one):
                yield _held(f"{field.name}.{what}", ask, field.name, other)


def _held(what: str, ask: Any, name: str, other: object) -> tuple[str, Any]:
    if isinstance(other, Wrong):
        return what, other
    try:
        return what, replace(ask, **{name: other})
    except Wrong as wrong:
        return what, wrong


def _in_place(ask: tuple[Any, ...], at: int, other: object) -> object:
    return other if isinstance(other, Wrong) else (*ask[:at], other, *ask[at + 1 :])


def _instead(one: object, kind: Any) -> Iterator[object]:
    """Other values of the same kind: each other word, a flag turned, a figure somewhat and much larger, less, none."""
    if get_origin(kind) in {Union, UnionType}:
        if one is not None:
            yield None
        kind = next(each for each in get_args(kind) if each is not type(None))
    if get_origin(kind) is Literal:
        yield from (word for word in get_args(kind) if word != one)
    elif isinstance(one, bool):
        yield not one
    elif isinstance(one, int):
        yield from (one + 1, 3 * one, 0)
    elif isinstance(one, float) or (one is None and kind in {float, int}):
        yield from (1.25 * (one or 4.0), 3.0 * (one or 4.0), 0.0)
    elif isinstance(one, date):
        yield from (one + timedelta(1), one + timedelta(200))
    elif isinstance(one, tuple) and one and not (len(one) == 2 and isinstance(one[0], int | float)):
        yield ()
        yield one[:-1]
        yield (*one, one[0])


def _short(text: str) -> str:
    return text if len(text) <= 160 else f"{text[:120]} … {len(text)} letters, {sum(map(ord, text))} in all"


def each(name: str, reckon: Callable[..., object], *asked: tuple[Any, ...]) -> Questions:
    """A question for each of these arguments."""
    return {f"{name} {place}": ((lambda one: reckon(*one)), one) for place, one in enumerate(asked, start=1)}
