"""A plan for a market day: which recipes to pour, when, into what, and what clashes. Nothing is kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from curelog.domain import cutting, drying, planning
from curelog.domain.lifecycle import CutTimes
from curelog.domain.planning import Chance, Course, PlannedPour, PourBy
from curelog.domain.pour_time import TIME_TO_CUT, CutSpan, better_pour_time
from curelog.domain.quantiles import Quantiles
from curelog.domain.quiet import at_clock
from curelog.domain.review import told_settled
from curelog.models import evidence
from curelog.models.loaves import Batch, Heat
from curelog.models.mould_fit import MouldFit, mould_fit
from curelog.models.outlook import experience, once
from curelog.models.recipes import AdditiveRole, Recipe
from curelog.models.workshop import Mould, Workshop

# Nobody begins earlier without a reason: common practice, no source.
DAY_BEGINS = time(9, 0)
HALF_HOUR = timedelta(minutes=30)
# Most makers keep one bar of each loaf back: common practice, no source.
RETAINED_PER_LOAF = 1


@dataclass(frozen=True)
class Wish:
    recipe: Recipe
    bars: int


@dataclass(frozen=True)
class NoPlan:
    wish: Wish
    reason: str


@dataclass(frozen=True)
class PourDay:
    """`is_awake`: the cut window opens outside the quiet hours."""

    pour: PlannedPour
    chance: Chance
    is_awake: bool


@dataclass(frozen=True)
class RecipePlan:
    wish: Wish
    fits: tuple[MouldFit, ...]
    heat: str
    bars_per_batch: int
    course: Course
    pour_by: PourBy
    pours: tuple[PourDay, ...]
    ready_likely: date
    ready_safe: date

    @property
    def batches(self) -> int:
        return len(self.pours)

    @property
    def spare_bars(self) -> int:
        return self.batches * self.bars_per_batch - self.wish.bars

    @property
    def heat_words(self) -> str:
        return Heat(self.heat).label.lower()

    @property
    def chance(self) -> Chance:
        """Of the last batch, that is of the whole."""
        return self.pours[-1].chance


@dataclass(frozen=True)
class MarketPlan:
    day: date
    plans: tuple[RecipePlan, ...]
    refused: tuple[NoPlan, ...]
    clashes: tuple[planning.Clash, ...]


def market_plan(wishes: Sequence[Wish], day: date, workshop: Workshop, now: datetime) -> MarketPlan:
    planner = Planner(workshop, now, day)
    found = [planner.plan(wish) for wish in wishes]
    plans = tuple(plan for plan in found if isinstance(plan, RecipePlan))
    pours = [each.pour for plan in plans for each in plan.pours]
    refused = tuple(plan for plan in found if isinstance(plan, NoPlan))
    return MarketPlan(day, plans, refused, tuple(planning.clashes(pours)))


def last_batch(recipe: Recipe) -> Batch | None:
    """Of any version: its moulds and its heat are the usual ones."""
    poured = Batch.objects.filter(recipe__family=recipe.family).order_by("-poured_at")
    return poured.prefetch_related("loaves").first()


class Planner:
    """What all recipes of a plan share."""

    def __init__(self, workshop: Workshop, now: datetime, day: date) -> None:
        self.workshop, self.now, self.day = workshop, now, day
        self.today = workshop.local(now).date()
        self.moulds = list(Mould.objects.filter(is_retired=False))
        self.experience = experience(workshop, now)

    def plan(self, wish: Wish) -> RecipePlan | NoPlan:
        recipe = wish.recipe
        last = last_batch(recipe)
        fits = self.usual_fits(recipe, last)
        # The retained samples are not for sale.
        bars = sum(fit.bars - RETAINED_PER_LOAF for fit in fits)
        if bars < 1:
            return NoPlan(wish, "No mould of yours takes this batch, so its bars cannot be counted.")
        heat = last.heat if last else Heat.NONE
        window = self.window(recipe, heat, recipe.sums.batch_g / len(fits))
        settled = self.settled(recipe, fits[0].mould, window)
        if settled is None:
            return NoPlan(wish, "Nothing can be said about its drying. Look at the recipe's water.")
        return self.pours(wish, fits, heat, bars, window, settled)

    def usual_fits(self, recipe: Recipe, last: Batch | None) -> tuple[MouldFit, ...]:
        """The moulds of its last batch, else the one that it fills best."""
        fits = [
            mould_fit(mould, recipe.mixture, recipe.sums, recipe.bar_thickness_mm) for mould in self.moulds
        ]
        used = {loaf.mould_id for loaf in last.loaves.all()} if last else set()
        usual = tuple(fit for fit in fits if fit.mould.pk in used)
        holding = sorted((fit for fit in fits if not fit.overflows), key=lambda fit: -fit.filled)
        return usual or tuple(holding[:1])

    def window(self, recipe: Recipe, heat: str, loaf_g: float) -> cutting.CutWindow:
        facts = evidence.recipe_pour_facts(recipe, heat, self.workshop.room_c, loaf_g)
        return once(cutting.cut_window, facts, (), self.experience.cuts_before(self.now))

    def settled(self, recipe: Recipe, mould: Mould, window: cutting.CutWindow) -> Quantiles | None:
        """Days after the cut, from the recipe alone and from what earlier loaves told."""
        size = bar_size(recipe, mould)
        fragrance_g = recipe.role_on_fats(AdditiveRole.FRAGRANCE) * recipe.sums.fats_g
        question = drying.DryingQuestion(
            now_day=0.0,
            recipe=drying.DryingRecipe(
                water_share=recipe.sums.water_share,
                oil=recipe.fat_shares[0][0].fat.key,
                superfat=recipe.superfat,
                days_pour_to_cut=window.opens.p50 / 24,
                fragrance_share=fragrance_g / recipe.sums.batch_g,
            ),
            bars=(drying.BarSeries("1", size),),
            room_usual=self.experience.room.usual(self.now),
            history=self.past_bars(),
            rule=drying.SettledRule(
                recipe.settled_pct or self.workshop.settled_pct,
                recipe.settled_days or self.workshop.settled_days,
            ),
        )
        return once(told_settled, question)

    def past_bars(self) -> tuple[drying.PastBar, ...]:
        # By the day: else the same question would be a new one every second.
        known = evidence.start_of_day(self.now, self.workshop)
        bars = (evidence.as_known(bar, at, known, known) for at, _, bar in self.experience.bars if at < known)
        return tuple(bar for bar in bars if evidence.tells_of_drying(bar))[-evidence.PAST_BARS :]

    def pours(
        self,
        wish: Wish,
        fits: tuple[MouldFit, ...],
        heat: str,
        bars: int,
        window: cutting.CutWindow,
        settled: Quantiles,
    ) -> RecipePlan:
        times = CutTimes.of(self.now, window)
        span = CutSpan(
            evidence.hours_after(self.now, times.cut_from), evidence.hours_after(self.now, times.cut_by)
        )
        course = Course(span, settled.p50, settled.p90, wish.recipe.least_cure_days)
        by = planning.pour_by(self.day, course)
        batches = planning.batches_for(wish.bars, bars)
        days = planning.pour_days(by.safe, batches, course.mould_days, self.today)
        moulds = tuple(fit.mould.name for fit in fits)
        pours: list[PourDay] = []
        for day in days:
            free_at = pours[-1].pour.cut_from + TIME_TO_CUT if pours else self.now
            pours.append(self.pour_day(wish.recipe, day, free_at, span, by, moulds))
        last = self.workshop.local(pours[-1].pour.at).date()
        return RecipePlan(
            wish,
            fits,
            heat,
            bars,
            course,
            by,
            tuple(pours),
            ready_likely=last + timedelta(days=course.likely_days),
            ready_safe=last + timedelta(days=course.safe_days),
        )

    def pour_day(
        self, recipe: Recipe, day: date, free_at: datetime, span: CutSpan, by: PourBy, moulds: tuple[str, ...]
    ) -> PourDay:
        """At a time that lets the cut be made awake, where the day has one."""
        quiet, local = self.workshop.quiet_hours, self.workshop.local
        earliest = max(free_at, at_clock(day, DAY_BEGINS, self.workshop.zone))
        if night := quiet.night_of(earliest):
            earliest = night.ends
        better = better_pour_time(earliest, [span], quiet)
        is_awake = bool(better and local(better).date() == local(earliest).date())
        at = better if better and is_awake else half_hour(earliest, up=True)
        cut_from = half_hour(at + timedelta(hours=span.from_h), up=True)
        cut_by = half_hour(at + timedelta(hours=span.by_h), up=False)
        pour = PlannedPour(recipe.name, at, cut_from, cut_by, moulds)
        return PourDay(pour, by.chance(local(at).date()), is_awake)


def half_hour(moment: datetime, up: bool) -> datetime:
    """An estimate told to the minute would claim too much."""
    past = timedelta(minutes=moment.minute % 30, seconds=moment.second, microseconds=moment.microsecond)
    return moment - past + (HALF_HOUR if up and past else timedelta())


def bar_size(recipe: Recipe, mould: Mould) -> drying.BarSize:
    if mould.cavities:
        return drying.BarSize(mould.length_mm, mould.width_mm, mould.height_mm)
    return drying.BarSize(mould.width_mm, mould.height_mm, recipe.bar_thickness_mm)
