"""A batch as it was weighed in, worked out: for its content and for its ingredient list."""

from curelog.domain import batch as sums
from curelog.domain.acids import KOH_G_PER_MOL, NAOH_G_PER_MOL
from curelog.domain.ingredients import Poured
from curelog.domain.mixture import superfat_as_weighed
from curelog.domain.recipe import HIGHEST_SUPERFAT
from curelog.models.loaves import Batch
from curelog.models.recipes import AdditiveRole


def poured_of(batch: Batch) -> Poured | None:
    """None when the masses make no soap that can be worked out, a pour without fats say."""
    portions = [sums.FatPortion(part.fat, part.weighed_g) for part in batch.fats.all()]
    additives = [(str(a.role), a.name, a.weighed_g, a.water_share) for a in batch.additives.all()]
    parts = [sums.Additive(name, mass_g, water) for _, name, mass_g, water in additives]
    try:
        alkali = _alkali_as_weighed(batch)
        # More alkali than the fats take up would leave a superfat below nought; all fat then turns to soap.
        share = superfat_as_weighed(portions, batch.naoh_g, batch.koh_g, alkali).share
        superfat = min(max(share, 0.0), HIGHEST_SUPERFAT)
        worked = sums.work_out(portions, superfat, alkali, sums.Water("g", batch.water_g), parts)
    except (sums.BatchError, ZeroDivisionError):
        return None
    return Poured(
        portions,
        batch.naoh_g,
        batch.koh_g,
        batch.water_g,
        additives,
        worked,
        superfat,
        alkali.naoh_share,
    )


def fragrance_g(batch: Batch) -> float:
    return batch.role_g(AdditiveRole.FRAGRANCE)


def _alkali_as_weighed(batch: Batch) -> sums.Alkali:
    pure = sums.Alkali()
    known = batch.recipe.alkali if batch.recipe else pure
    naoh_mol = batch.naoh_g * known.naoh_purity / NAOH_G_PER_MOL
    koh_mol = batch.koh_g * known.koh_purity / KOH_G_PER_MOL
    naoh_share = naoh_mol / (naoh_mol + koh_mol)
    return sums.Alkali(naoh_share, 1 - naoh_share, known.naoh_purity, known.koh_purity)
