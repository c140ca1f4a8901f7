"""What a drying forecast is asked and told: bars, weighings, the room, past loaves. Day 0 is the cut."""

from dataclasses import dataclass
from typing import Literal

GelSeen = Literal["none", "partial", "full"]


@dataclass(frozen=True, slots=True)
class BarSize:
    """Inner measure of a bar as noted at the cut; makers often round to 5 mm."""

    length_mm: float
    width_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class Weighing:
    day: float
    weight_g: float


@dataclass(frozen=True, slots=True)
class TrayWeighing:
    """Several bars on the scale together: one fact about the sum of the named bars."""

    day: float
    weight_g: float
    bars: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HandlingStep:
    """A loss that is not drying. `loss_g` None: it happened, nobody weighed it."""

    day: float
    kind: str = "planed"
    loss_g: float | None = None


@dataclass(frozen=True, slots=True)
class DryingRecipe:
    """`water_share`: water poured / total mass poured.

    `oil`, a fat or the maker's name of a mix, tells past loaves of the same recipe from others. Superfat and gel
    are taken down but change nothing yet: their effect on drying was not to be told from the maker's.
    """

    water_share: float
    oil: str | None = None
    superfat: float | None = None
    gel: GelSeen | bool | None = None
    days_pour_to_cut: float = 1.0
    fragrance_share: float = 0.0


@dataclass(frozen=True, slots=True)
class RoomDay:
    """One day of the room: `rh` in per cent."""

    day: float
    rh: float
    temp_c: float


@dataclass(frozen=True, slots=True)
class BarSeries:
    bar_id: str
    size: BarSize | None
    weighings: tuple[Weighing, ...] = ()
    steps: tuple[HandlingStep, ...] = ()


@dataclass(frozen=True, slots=True)
class PastBar:
    """A bar of an earlier loaf, with what was known of it by now.

    `climate_mean`: (rh in per cent, temp_c) over its days so far. `cut_days_earlier`: days from its cut to the
    cut of the loaf asked about; None is guessed from its last weighing.
    """

    bar_id: str
    loaf: str
    recipe: DryingRecipe
    size: BarSize | None
    resolution_g: float = 1.0
    weighings: tuple[Weighing, ...] = ()
    climate_mean: tuple[float | None, float | None] | None = None
    cut_days_earlier: float | None = None
    steps: tuple[HandlingStep, ...] = ()


@dataclass(frozen=True, slots=True)
class SettledRule:
    """Settled: the first day t >= `days` on which no more than `pct` % of W(t) was lost over the last `days`."""

    pct: float = 4.0
    days: float = 28.0


@dataclass(frozen=True, slots=True)
class DryingQuestion:
    """`target` None asks for the mean of the bars. `resolution_g` is the step of the scale. Weights are wanted up to
    `reach_day`, where settling does not ask for later ones."""

    now_day: float
    recipe: DryingRecipe
    bars: tuple[BarSeries, ...]
    target: str | None = None
    trays: tuple[TrayWeighing, ...] = ()
    climate: tuple[RoomDay, ...] = ()
    room_usual: tuple[float | None, float | None] | None = None
    history: tuple[PastBar, ...] = ()
    resolution_g: float = 1.0
    rule: SettledRule = SettledRule()
    reach_day: float = 0.0


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A weighing that does not fit the others; `bar_id` names the bars on the tray, joined by +, for a tray."""

    bar_id: str
    day: float
    weight_g: float
    likely_g: float
    question: str


@dataclass(frozen=True, slots=True)
class RestsOn:
    weighings: int
    past_loaves: int


@dataclass(frozen=True, slots=True)
class NoForecast:
    reason: str
    remedy: str
