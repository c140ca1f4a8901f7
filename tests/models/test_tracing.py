"""From a lot to the buyers and back, through premixes, stock lye, trimmings and rebatch."""

from datetime import timedelta

import pytest

from curelog.actions.cure import finish
from curelog.actions.cut import CutBars, cut
from curelog.actions.lots import PartTaken, keep_lot
from curelog.actions.place import add_place
from curelog.actions.pour import Circumstances, Filling, Weighed, pour
from curelog.actions.release import Counts, Promise, leave, release
from curelog.actions.withdraw import withdraw
from curelog.models import Lot
from curelog.models.sources import sources_of
from curelog.models.tracing import NOBODY, trace_batch, trace_lot
from curelog.models.tracing_search import search
from tests.factories import START, make_lot, make_recipe, told

pytestmark = pytest.mark.django_db
DAYS = 24


@pytest.fixture
def recipe(workshop):
    made = make_recipe()
    made.additives.create(name="Confetti", share_of_fats=0.05)
    return type(made).objects.get(pk=made.pk)


@pytest.fixture
def pot(recipe, workshop):
    def poured(number, hours=0.0, **lots):
        weighed = Weighed([700.0, 300.0], 135.0, 0.0, 275.0, [50.0], **lots)
        return pour(recipe, told(hours), number, weighed, Circumstances("none"), [Filling(None)], workshop)

    return poured


def sell(batch, bars=10, retained=1, **to):
    """To whom, and how many bars."""
    loaf, start = batch.loaves.get(), (batch.poured_at - START) / timedelta(hours=1)
    cut(loaf, told(start + 24), "clean", CutBars(bars, 85, 65, 25))
    release(loaf, told(start + 40 * DAYS), Counts(bars - retained, retained, add_place("Shelf 2")), Promise())
    for day, (name, count) in enumerate(to.items(), start=41):
        leave(loaf, told(start + day * DAYS), "sold", count, name)
    return loaf


def numbers(trace):
    return [batch.number for batch in trace.batches]


def test_a_lot_leads_to_its_batches_and_buyers(pot):
    lard, other = make_lot("L1"), make_lot("L2")
    first, second = pot("26-001", fat_from=[lard, None]), pot("26-002", 5, fat_from=[lard, None])
    pot("26-003", fat_from=[other, None])
    sell(first, market=4, shop=2)
    sell(second, market=3)
    trace = trace_lot(lard)
    assert numbers(trace) == ["26-002", "26-001"]
    assert [(buyer.to_whom, buyer.bar_count, buyer.numbers) for buyer in trace.buyers] == [
        ("market", 7, ("26-002", "26-001")),
        ("shop", 2, ("26-001",)),
    ]
    assert (trace.bars_gone, trace.bars_here) == (9, 9 + 9 - 9)
    found = trace.batches[1]
    assert (found.bars, found.here, found.retained, found.kept_at) == (10, 3, 1, {"Shelf 2": None})


def test_every_way_into_the_pot_is_traced(pot):
    fat, scent = make_lot("L1"), make_lot("C1", "", "Confetti", "additive")
    naoh, koh = (make_lot(key, key, key, "alkali") for key in ("naoh", "koh"))
    batch = pot("26-001", fat_from=[fat, None], additive_from=[scent], lye_from=naoh, koh_from=koh)
    for lot in (fat, scent, naoh, koh):
        assert numbers(trace_lot(lot)) == [batch.number]


def test_bars_not_released_and_not_cut(pot):
    lard = make_lot("L1")
    curing = pot("26-001", fat_from=[lard, None])
    pot("26-002", 5, fat_from=[lard, None])
    loaf = curing.loaves.get()
    cut(loaf, told(24), "clean", CutBars(10, 85, 65, 25))
    leave(loaf, told(30 * DAYS), "tests", 2)
    in_mould, racked = trace_lot(lard).batches
    assert (in_mould.bars, in_mould.here) == (None, None)
    assert (racked.bars, racked.here) == (10, 8)
    assert trace_lot(lard).buyers == []
    release(loaf, told(40 * DAYS), Counts(8, 0), Promise())
    leave(loaf, told(41 * DAYS), "given", 3)
    racked = trace_lot(lard).batches[1]
    assert (racked.bars, racked.here) == (8, 5), "those used up before the release are not taken off twice"
    assert [(buyer.to_whom, buyer.bar_count) for buyer in trace_lot(lard).buyers] == [(NOBODY, 3)]


def test_what_was_withdrawn_did_not_leave(pot):
    lard = make_lot("L1")
    loaf = sell(pot("26-001", fat_from=[lard, None]), market=4)
    withdraw(loaf.leaving_set.get(), told(50 * DAYS), "another loaf")
    assert trace_lot(lard).buyers == []
    assert trace_lot(lard).batches[0].here == 9


def test_through_a_premix_and_trimmings_into_a_later_batch(pot):
    """Lard -> premix -> batch 1 -> its trimmings -> batch 2; both must be found from the lard, and all from batch 2."""
    lard, coconut = make_lot("L1"), make_lot("C1", "coconut", "Coconut oil")
    parts = [PartTaken(lard, 2800.0), PartTaken(coconut, 1200.0)]
    mix = keep_lot(Lot(kind="mix", name="Base", code="M1", received_g=4000), parts)
    first = pot("26-001", fat_from=[mix, mix])
    ends = keep_lot(Lot(kind="soap", name="Ends", code="T1", received_g=90), [PartTaken(first, 90.0)])
    second = pot("26-002", 5, additive_from=[ends])
    assert numbers(trace_lot(lard)) == ["26-002", "26-001"]
    assert [str(lot) for lot in trace_lot(lard).made] == ["Base M1", "Ends T1"]
    assert numbers(trace_batch(first)) == ["26-002", "26-001"]
    back = [(source.depth, source.name, source.lot or source.batch) for source in sources_of(second)]
    assert back == [
        (0, "Lard", None),
        (0, "Coconut oil", None),
        (0, "Sodium hydroxide", None),
        (0, "Confetti", ends),
        (1, "Soap of batch 26-001", first),
        (2, "Lard", mix),
        (3, "Lard", lard),
        (2, "Coconut oil", mix),
        (3, "Coconut oil", coconut),
        (2, "Sodium hydroxide", None),
        (2, "Confetti", None),
    ]
    back = [(source.depth, source.lot, source.mass_g) for source in sources_of(first)]
    assert back[:4] == [(0, mix, 700), (1, lard, 700), (0, mix, 300), (1, coconut, 300)]


def test_stock_lye_is_traced_in_the_mass_that_was_taken(pot):
    """135 g of alkali are 270 g of a lye of 50 %, and 135 g of what it was made of."""
    dry = make_lot("N1", "naoh", "Sodium hydroxide", "alkali", 1000)
    lye = Lot(kind="lye", key="naoh", name="Stock lye", code="S1", received_g=1000, strength=0.5)
    keep_lot(lye, [PartTaken(dry, 500.0)])
    back = [(source.depth, source.lot, source.mass_g) for source in sources_of(pot("26-001", lye_from=lye))]
    assert back[2:4] == [(0, lye, 270.0), (1, dry, 135.0)]


def test_a_ring_of_lots_ends(pot):
    one, two = make_lot("A", "", "Ends", "soap"), make_lot("B", "", "Ends", "soap")
    keep_lot(one, [PartTaken(two, 5.0)])
    keep_lot(two, [PartTaken(one, 5.0)])
    batch = pot("26-001", additive_from=[one])
    assert numbers(trace_lot(two)) == ["26-001"]
    assert len(sources_of(batch)) < 10


def test_the_questions_asked_do_not_grow_with_the_batches(pot, django_assert_num_queries):
    lard = make_lot("L1")
    for number in range(2):
        sell(pot(f"26-00{number}", fat_from=[lard, None]), market=1)
    with django_assert_num_queries(7):
        trace_lot(lard)
    for number in range(2, 8):
        sell(pot(f"26-00{number}", fat_from=[lard, None]), market=1, shop=2)
    with django_assert_num_queries(7):
        assert len(trace_lot(lard).batches) == 8


def test_a_code_a_number_or_a_buyer_is_found(pot):
    lard = make_lot("LX77")
    sell(pot("26-001", fat_from=[lard, None]), winter=4)
    pot("26-002", fat_lots=["qq-8", ""])
    assert list(search("x7").lots) == [lard]
    assert [batch.number for batch in search("-001").batches] == ["26-001"]
    assert [batch.number for batch in search("QQ-8").written] == ["26-002"]
    assert not search("LX77").written, "it belongs to its lot"
    found = search("WINT")
    assert [(buyer["to_whom"], buyer["bars"]) for buyer in found.buyers] == [("winter", 4)]
    assert [batch.number for batch in found.sold] == ["26-001"]
    assert search("nothing").is_empty


def test_what_was_left_of_a_finished_loaf_is_somewhere(pot):
    """Ten bars, one kept back, four noted as sold, the rest gone without a word; of another loaf all thrown away."""
    lard = make_lot("L1")
    sold, thrown = pot("26-001", fat_from=[lard, None]), pot("26-002", 5, fat_from=[lard, None])
    finish(sell(sold, Fair=4), told(60 * DAYS), "gone")
    finish(sell(thrown), told(60 * DAYS), "thrown")
    found = trace_lot(lard)
    assert {buyer.to_whom: buyer.bar_count for buyer in found.buyers} == {"Fair": 4, NOBODY: 5}
    assert [batch.here for batch in found.batches] == [0, 0]
