"""Rows for tests, made by the same actions as the real ones. Moments are told in hours or days from a fixed start."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

from curelog.actions import cure, mould
from curelog.actions.cut import CutBars, cut
from curelog.actions.keeping import Told
from curelog.actions.pour import Circumstances, Filling, Weighed, pour
from curelog.models import Loaf, Lot, Mould, Person, Recipe, RecipeFat, Workshop

START = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)


def told(hours: float = 0.0, by: Person | None = None, note: str = "") -> Told:
    return Told(uuid4(), START + timedelta(hours=hours), by, note=note)


def make_recipe(
    name: str = "Lard and coconut", fats: dict[str, float] | None = None, **fields: object
) -> Recipe:
    recipe = Recipe.objects.create(name=name, **fields)
    for key, mass_g in (fats or {"lard": 700.0, "coconut": 300.0}).items():
        RecipeFat.objects.create(recipe=recipe, key=key, mass_g=mass_g)
    return recipe


def make_lot(
    code: str,
    key: str = "lard",
    name: str = "Lard",
    kind: str = "fat",
    mass_g: float = 5000,
    **fields: object,
) -> Lot:
    fields = {"made_at": START - timedelta(days=9)} | fields
    return Lot.objects.create(kind=kind, key=key, name=name, code=code, received_g=mass_g, **fields)


def make_mould() -> Mould:
    return Mould.objects.get_or_create(name="Long", length_mm=260, width_mm=85, height_mm=65)[0]


def make_loaf(
    recipe: Recipe | None = None, number: str = "26-001", hours: float = 0.0, heat: str = "oven"
) -> Loaf:
    recipe = recipe or make_recipe()
    sums = recipe.sums
    weighed = Weighed([part.mass_g for part in recipe.fats.all()], sums.naoh_g, sums.koh_g, sums.water_g)
    batch = pour(
        recipe,
        told(hours),
        number,
        weighed,
        Circumstances(heat=heat),
        [Filling(make_mould())],
        Workshop.current(),
    )
    return batch.loaves.get()


def make_cut_loaf(
    number: str = "26-001",
    hours: float = 0.0,
    weights_g: dict[int, float] | None = None,
    recipe: Recipe | None = None,
) -> Loaf:
    loaf = make_loaf(recipe, number, hours)
    mould.unmould(loaf, told(hours + 23), "firm")
    bars = CutBars(10, 85, 65, 25)
    cut(
        loaf,
        told(hours + 24),
        "clean",
        bars,
        weights_g={2: 140.0, 5: 139.0} if weights_g is None else weights_g,
    )
    return loaf


def weigh_course(loaf: Loaf, weights_g: dict[float, float], bar_number: int = 2) -> None:
    """Weights by day after the cut."""
    bar = loaf.bars.get(number=bar_number)
    first_hours = (loaf.batch.poured_at - START).total_seconds() / 3600 + 24
    for day, weight_g in weights_g.items():
        cure.weigh(loaf, told(first_hours + 24 * day), [bar], weight_g)
