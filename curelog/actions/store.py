"""What the workshop has on its shelves: own fats and moulds. Retired, they stay with what was made of them."""

from django.db import transaction

from curelog.domain.batch import BatchError
from curelog.models import Mould, OwnFat, Recipe

VALUES = ("saponification_value", "iodine_value", "is_wax", "fatty_acids")


class CannotChange(Exception):
    """The words say why. Nothing was changed."""


@transaction.atomic
def keep_own_fat(fat: OwnFat) -> None:
    """Raises CannotChange when a recipe rests on the values as they were."""
    before = OwnFat.objects.filter(pk=fat.pk).first()
    fat.save()
    if before and any(getattr(before, name) != getattr(fat, name) for name in VALUES):
        for recipe in (
            Recipe.objects.filter(fats__own=fat).distinct().prefetch_related("fats__own", "additives")
        ):
            _check_still_holds(recipe)


def _check_still_holds(recipe: Recipe) -> None:
    if recipe.is_poured:
        raise CannotChange(f"{recipe} was poured with these values. Add the new lot as a fat of its own.")
    try:
        recipe.mixture.work_out()
    except BatchError as error:
        raise CannotChange(f"{recipe} could then not be worked out: {error.words}.") from error


def keep_mould(mould: Mould) -> None:
    mould.save()


def retire(item: OwnFat | Mould, retired: bool) -> None:
    """Takes it off the lists to choose from, or brings it back."""
    item.is_retired = retired
    item.save(update_fields=["is_retired"])
