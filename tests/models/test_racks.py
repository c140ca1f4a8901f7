"""What lies on each place: bars that are still there, and samples kept back."""

import pytest

from curelog.actions.place import add_place, move
from curelog.actions.release import Counts, Promise, leave, release
from curelog.models.racks import racks
from tests.factories import make_cut_loaf, told

pytestmark = pytest.mark.django_db
DAYS = 24


def test_bars_that_left_are_not_there_and_a_place_of_samples_is_not_free() -> None:
    rack, tin, attic = add_place("Rack"), add_place("Tin"), add_place("Attic")
    whole, sold = make_cut_loaf("26-001"), make_cut_loaf("26-002")
    for loaf in (whole, sold):
        move(loaf, told(2 * DAYS), rack)
    leave(whole, told(3 * DAYS), "tests", 1)
    release(sold, told(40 * DAYS), Counts(9, 1, tin), Promise())
    leave(sold, told(41 * DAYS), "sold", 4, "Fair")
    found = {each.place: (len(each.records), each.bars, each.samples) for each in racks()}
    assert found == {rack: (2, 9 + 5, 0), tin: (0, 0, 1), attic: (0, 0, 0)}
