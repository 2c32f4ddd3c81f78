"""Every kind of band is known wherever kinds are told apart: a new one fails here by the name of the place that lacks it."""

from collections import Counter
from collections.abc import Container, Mapping
from pathlib import Path
from types import MappingProxyType

import pytest

from service.drawing.rows import rows_of
from service.drawing.stitch_words import BAND_WORDS
from service.reckoning.band_findings import NOT_EVEN
from service.reckoning.band_kinds import BAND_KINDS, BandKind, bundles_come_in, knots_of
from service.reckoning.gates import KNOTS
from service.reckoning.guess_text import read_guesses
from service.reckoning.operations import OPERATIONS
from service.reckoning.rescue import KNOTS_A_BUNDLE
from service.reckoning.stopping import BandInHand, rows_in_order
from service.reckoning.thread_rates import THREAD_RATES
from service.records.tables.garments import SECTION_KINDS
from service.web.design_fields import KIND_HINTS
from service.web.handover_words import COUNTED_ONES
from service.web.words import KIND_WORDS, OPERATION_WORDS

BUNDLES = 12  # even, and whole in threes and fours
STARTING = Path(__file__).resolve().parents[2] / "seed_data" / "guesses" / "starting.toml"

OF_KINDS: Mapping[str, Container[str]] = MappingProxyType(
    {
        "SECTION_KINDS in records/tables/garments.py": SECTION_KINDS,
        "KIND_WORDS in web/words.py": KIND_WORDS,
        "KIND_HINTS in web/design_fields.py": KIND_HINTS,
        "KNOTS_A_BUNDLE in reckoning/rescue.py": KNOTS_A_BUNDLE,
        "BAND_WORDS in drawing/stitch_words.py": BAND_WORDS,
    }
)
OF_KNOTS: Mapping[str, Container[str]] = MappingProxyType(
    {
        "OPERATIONS in reckoning/operations.py": OPERATIONS,
        "KNOTS in reckoning/gates.py": KNOTS,
        "THREAD_RATES in reckoning/thread_rates.py": THREAD_RATES,
        "OPERATION_WORDS in web/words.py": OPERATION_WORDS,
        "COUNTED_ONES in web/handover_words.py": COUNTED_ONES,
        "seed_data/guesses/starting.toml": read_guesses(STARTING.read_text(encoding="utf-8")),
    }
)


def _knots(kind: BandKind, pair_rows: int) -> dict[str, float]:
    return {each.operation: each.quantity for each in knots_of(kind, BUNDLES, closed_round=False, pair_rows=pair_rows)}


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_a_kind_stands_in_every_table_of_kinds(kind: BandKind) -> None:
    assert [place for place, known in OF_KINDS.items() if kind not in known] == []


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_what_is_said_of_a_number_of_bundles_that_it_does_not_go_by(kind: BandKind) -> None:
    """`NOT_EVEN` in reckoning/band_findings.py holds just those that want more than whole bundles."""
    wants = max(bundles_come_in(kind, closed_round=closed) for closed in (False, True)) > 1
    assert (kind in NOT_EVEN) == wants


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_its_knots_stand_in_every_table_of_operations(kind: BandKind) -> None:
    lacking = {knot: [place for place, known in OF_KNOTS.items() if knot not in known] for knot in _knots(kind, 2)}
    assert {knot: places for knot, places in lacking.items() if places} == {}


@pytest.mark.parametrize("pair_rows", [1, 2])
@pytest.mark.parametrize("kind", BAND_KINDS)
def test_it_is_reckoned_drawn_and_handed_over_in_the_same_rows(kind: BandKind, pair_rows: int) -> None:
    """`knots_of` in reckoning/band_kinds.py, `rows_of` in drawing/rows.py, `rows_in_order` in reckoning/stopping.py."""
    sizes, reckoned = (4,) * BUNDLES, _knots(kind, pair_rows)
    drawn = Counter[str]()
    for row in rows_of(kind, sizes, pair_rows=pair_rows):
        drawn[row.operation] += row.knots
    band = BandInHand(kind, sizes, withdrawn_threads=8, pair_rows=pair_rows)
    handed = {knot: sum(len(row.threads) for row in rows_in_order(band, knot)) for knot in reckoned}
    assert dict(drawn) == reckoned
    assert handed == reckoned
