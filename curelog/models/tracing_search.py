"""Where a tracing begins: with a code from a sack, a number from a bar, or a name from the stall."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Max, Q, QuerySet, Sum

from curelog.models.loaves import Batch, BatchAdditive, BatchFat
from curelog.models.lots import Lot
from curelog.models.record import standing
from curelog.models.sale import Leaving

MOST_SHOWN = 30


@dataclass(frozen=True)
class Found:
    """`written` are batches that name the code where no lot of it was entered; `sold` are those of a buyer."""

    lots: QuerySet[Lot]
    batches: QuerySet[Batch]
    written: QuerySet[Batch]
    buyers: list[Any]
    sold: QuerySet[Batch]

    @property
    def is_empty(self) -> bool:
        return not (self.lots or self.batches or self.written or self.buyers)


def search(words: str) -> Found:
    leavings = standing(Leaving).filter(to_whom__icontains=words)
    buyers = leavings.order_by().values("to_whom").annotate(bars=Sum("bar_count"), last=Max("happened_at"))
    sold = Batch.objects.filter(pk__in=leavings.order_by().values("loaf__batch"))
    return Found(
        Lot.objects.filter(
            Q(code__icontains=words) | Q(name__icontains=words) | Q(supplier__icontains=words)
        )[:MOST_SHOWN],
        Batch.objects.filter(Q(number__icontains=words) | Q(name__icontains=words))[:MOST_SHOWN],
        written(words)[:MOST_SHOWN],
        list(buyers.order_by("-last")[:MOST_SHOWN]),
        sold[:MOST_SHOWN],
    )


def written(words: str) -> QuerySet[Batch]:
    fats = BatchFat.objects.filter(from_lot=None, lot__icontains=words).order_by().values("batch")
    extras = BatchAdditive.objects.filter(from_lot=None, lot__icontains=words).order_by().values("batch")
    lye = Q(lye_from=None, lye_lot__icontains=words) | Q(koh_from=None, koh_lot__icontains=words)
    return Batch.objects.filter(Q(pk__in=fats) | Q(pk__in=extras) | lye)
