"""What is seen and done while the loaf is in one piece."""

from curelog.actions.keeping import Told, keep
from curelog.models import FirmnessCheck, GelSeen, Loaf, Unmoulding


def see_gel(loaf: Loaf, told: Told, extent: str) -> GelSeen:
    return keep(GelSeen(loaf=loaf, extent=extent, **told.fields), "gel")


def check_firmness(loaf: Loaf, told: Told, feel: str) -> FirmnessCheck:
    return keep(FirmnessCheck(loaf=loaf, feel=feel, **told.fields), "firmness")


def unmould(loaf: Loaf, told: Told, feel: str = "") -> Unmoulding:
    return keep(Unmoulding(loaf=loaf, feel=feel, **told.fields), "unmould")
