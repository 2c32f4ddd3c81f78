"""Every page, paper and refusal of the demo in a studio of inches and one of centimetres: no length in the other."""

from pathlib import Path

import pytest

from tests.language.units import studio_of


@pytest.mark.parametrize("unit", ["in", "cm"])
def test_every_length_of_ours_is_in_the_studios_unit(
    unit: str, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    read, strange = studio_of(tmp_path_factory.getbasetemp(), tmp_path, unit)
    assert read > 175
    assert strange == []
