"""The starting guesses as a readable text: one table an operation, each figure with where it comes from."""

import tomllib
from collections.abc import Mapping
from typing import Any

from service.reckoning.asked import Wrong, above_zero
from service.reckoning.guesses import MOST_GUESS_SECONDS, Guesses
from service.reckoning.operations import OPERATIONS, Operation


def read_guesses(text: str) -> Guesses:
    """Return the seconds of one unit of every operation.

    The unit and the fineness belong to the operation and are only repeated for whoever reads the text; the seconds
    are its own. Raises Wrong, naming the operation, for one that is missing, unknown, without a source or not as it
    is counted.
    """
    try:
        said = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Wrong("guesses", f"cannot be read: {error}") from None
    unknown = sorted(set(said) - set(OPERATIONS))
    if unknown:
        raise Wrong(unknown[0], "is no operation")
    return {name: _seconds(operation, said.get(name)) for name, operation in OPERATIONS.items()}


def _seconds(operation: Operation, said: Any) -> float:
    if not isinstance(said, Mapping):
        raise Wrong(operation.name, "has no guess")
    counted = (said.get("unit"), said.get("fineness"), said.get("exposure", 0))
    if counted != (operation.unit, operation.fineness_of, operation.exposure):
        raise Wrong(operation.name, f"is counted by the {operation.unit}, its fineness as the operation has it")
    if not said.get("source"):
        raise Wrong(operation.name, "does not say where its guess comes from")
    seconds = said.get("seconds")
    if isinstance(seconds, bool) or not isinstance(seconds, int | float):
        raise Wrong(operation.name, "needs its seconds as a number")
    return above_zero(operation.name, seconds, MOST_GUESS_SECONDS)
