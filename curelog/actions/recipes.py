"""Writing recipes down. One that has been poured is never changed: an edit makes the next version."""

from dataclasses import asdict, dataclass
from uuid import UUID

from django.db import transaction

from curelog.models import LimitOf, Person, Recipe, RecipeAdditive, RecipeFat


@dataclass(frozen=True)
class FatAmount:
    """A fat of the table by its key, or one of the maker's own."""

    key: str
    own_id: int | None
    mass_g: float


@dataclass(frozen=True)
class AdditiveShare:
    name: str
    role: str
    share_of_fats: float
    water_share: float
    limit_share: float | None = None
    limit_of: str = LimitOf.FINISHED
    allergens: str = ""


@dataclass(frozen=True)
class RecipeDraft:
    """Everything a recipe says, as the columns of Recipe."""

    name: str
    kind: str
    superfat: float
    naoh_share: float
    naoh_purity: float
    koh_purity: float
    water_mode: str
    water_value: float
    least_cure_days: int
    settled_pct: float | None
    settled_days: int | None
    bar_thickness_mm: float
    note: str
    fats: tuple[FatAmount, ...]
    additives: tuple[AdditiveShare, ...]

    @property
    def columns(self) -> dict[str, object]:
        return {
            name: getattr(self, name)
            for name in self.__dataclass_fields__
            if name not in ("fats", "additives")
        }

    @classmethod
    def of(cls, recipe: Recipe) -> "RecipeDraft":
        names = [name for name in cls.__dataclass_fields__ if name not in ("fats", "additives")]
        fats = tuple(FatAmount(part.key, part.own_id, part.mass_g) for part in recipe.fats.all())
        additives = tuple(
            AdditiveShare(*(getattr(part, name) for name in AdditiveShare.__dataclass_fields__))
            for part in recipe.additives.all()
        )
        return cls(**{name: getattr(recipe, name) for name in names}, fats=fats, additives=additives)


@transaction.atomic
def write_recipe(draft: RecipeDraft, by: Person | None, family: UUID, basis: Recipe | None = None) -> Recipe:
    """A new recipe, or an edit of `basis`. `family` is made with the form: sent twice, it makes one recipe."""
    versions = Recipe.objects.select_for_update().filter(family=basis.family if basis else family)
    latest = versions.order_by("version").last()
    if latest is None:
        return _store(Recipe(family=family, made_by=by), draft)
    basis = basis or latest
    if not basis.is_poured:
        return _store(basis, draft)
    if RecipeDraft.of(latest) == draft:
        return latest
    versions.update(is_current=False)
    return _store(Recipe(family=latest.family, version=latest.version + 1, made_by=by), draft)


def _store(recipe: Recipe, draft: RecipeDraft) -> Recipe:
    for name, value in draft.columns.items():
        setattr(recipe, name, value)
    recipe.save()
    recipe.fats.all().delete()
    recipe.additives.all().delete()
    RecipeFat.objects.bulk_create(RecipeFat(recipe=recipe, **asdict(fat)) for fat in draft.fats)
    RecipeAdditive.objects.bulk_create(
        RecipeAdditive(recipe=recipe, **asdict(extra)) for extra in draft.additives
    )
    return recipe


def note_assessor(recipe: Recipe, reference: str) -> None:
    """It is about this very version, also when it comes after the first pour; the next version begins without."""
    recipe.assessor_reference = reference
    recipe.save(update_fields=["assessor_reference"])
