"""Which two pictures stand side by side: the table that the phone's copy of the rule is held to as well."""

import json
from pathlib import Path

import pytest

from curelog.models import Photo
from curelog.models.faces import Strip, pair

TABLE = json.loads((Path(__file__).parents[1] / "data" / "face_pairs.json").read_text())


@pytest.mark.parametrize("told", TABLE)
def test_pictures_are_paired_as_told(told: dict[str, list[str]]) -> None:
    strips = [Strip(None, "face", tuple(Photo(pk=key) for key in keys)) for keys in told["strips"]]
    found = pair(strips, told["first"], told["second"])
    assert found
    assert [photo.pk for photo in (found.first, found.second) if photo] == told["pair"]
