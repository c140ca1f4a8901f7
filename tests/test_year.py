"""A year of a workshop with time moved: 300 loaves poured at all hours, two people on different channels, outages.

The forecast is a stand-in whose truth is known: each loaf opens and closes at hours drawn from the doubt that it
states. So what was told can be held against what then was true. All else is real: actions, rows, worker, deliveries."""

import random
from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from math import exp
from uuid import uuid4
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import time_machine
from django.core.cache import cache

from curelog.actions import mould
from curelog.actions.cut import CutBars, cut
from curelog.actions.keeping import Told
from curelog.actions.reminding import set_rule
from curelog.actions.settings import change_workshop
from curelog.channels.message import SENT, Outcome, Result
from curelog.domain.cutting import CutWindow, RestsOn
from curelog.domain.quantiles import Spread
from curelog.domain.quiet import QuietHours
from curelog.domain.reminding import CUT_KINDS, Kind
from curelog.models import Batch, BatchFat, Delivery, Loaf, Reminder, ToReplan, Workshop, outlook
from curelog.reminders import worker
from curelog.reminders.planning import replan
from curelog.reminders.review import review
from curelog.reminders.worker import one_round
from tests.reminders.fakes import make_receiver

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("Europe/Berlin")
BEGIN = datetime(2026, 1, 5, 7, 0, tzinfo=UTC)
YEAR, LOAVES, SEED = timedelta(days=365), 300, 5
HOUR = timedelta(hours=1)
# Opens at (h), stays open for (h), doubt: salt bars, hard fats gelled, mixed, soft oils.
SORTS = ((2.5, 2.5, 0.2), (14, 8, 0.18), (20, 16, 0.2), (30, 40, 0.25))
# How often in the year each is away, and for how many hours at the longest.
OUTAGES = {"mail": (14, 30), "push": (14, 30), "server": (12, 24)}
ONE_IN_TEN = 1.2816  # standard deviations


@dataclass
class Case:
    """A loaf, what is stated of it, and what will be true of it, in hours after the pour."""

    loaf: Loaf
    middle_h: float
    width_h: float
    doubt: float
    truth: float
    is_checked: bool = False
    cut_at: datetime | None = None

    def window(self) -> CutWindow:
        """A finger check halves the doubt and brings the middle half of the way to the truth."""
        middle = self.truth**0.5 if self.is_checked else 1.0
        spread = self.doubt / 2 if self.is_checked else self.doubt
        low, mid, high = (middle * exp(spread * z) for z in (-ONE_IN_TEN, 0, ONE_IN_TEN))
        ends_h = self.middle_h + self.width_h
        opens = Spread(*(self.middle_h * factor for factor in (low, mid, high)))
        closes = Spread(*(ends_h * factor for factor in (low, mid, high)))
        return CutWindow(
            opens, closes, RestsOn(int(self.is_checked), 0), np.array([]), np.array([]), np.array([])
        )

    def after(self, hours: float) -> datetime:
        return self.loaf.batch.poured_at + timedelta(hours=hours)

    @property
    def stated_close(self) -> datetime:
        return self.after(self.window().closes.p10)

    @property
    def true_close(self) -> datetime:
        return self.after((self.middle_h + self.width_h) * self.truth)


class Year:
    """The script, drawn from a fixed seed; what people do depends on what they hear."""

    def __init__(self, clock):
        self.clock, self.chance, self.now = clock, random.Random(SEED), BEGIN
        self.cases, self.heard, self.plans = {}, [], []
        self.quiet = QuietHours(time(22, 0), time(6, 30), ZONE)
        self.outages = {name: self.spells(*told) for name, told in OUTAGES.items()}
        for _ in range(LOAVES):
            self.plan(BEGIN + YEAR * self.chance.random(), self.pour)

    def spells(self, count, longest_h):
        starts = [BEGIN + YEAR * self.chance.random() for _ in range(count)]
        return [(start, start + HOUR * self.chance.uniform(1, longest_h)) for start in starts]

    def back_at(self, name, moment):
        """The end of the outage that a moment falls into."""
        return max((end for start, end in self.outages[name] if start <= moment < end), default=None)

    def plan(self, moment, act, *what):
        self.plans.append((moment, len(self.plans), act, what))
        self.plans.sort(key=lambda plan: plan[:2], reverse=True)

    def pour(self):
        middle_h, width_h, doubt = self.chance.choice(SORTS)
        number = f"26-{len(self.cases):03d}"
        batch = Batch.objects.create(number=number, name="x", poured_at=self.now, superfat=0.05, water_g=300)
        BatchFat.objects.create(batch=batch, facts={}, weighed_g=700)
        loaf = Loaf.objects.create(batch=batch, poured_g=1000)
        case = Case(loaf, middle_h, width_h, doubt, exp(self.chance.gauss(0, doubt)))
        self.cases[number] = case
        replan(loaf, self.now)
        if self.chance.random() < 0.3:
            self.plan(case.after(middle_h * self.chance.uniform(0.5, 1.1)), self.feel, case)
        # Who never hears of it finds the loaf by chance a day or two later.
        self.plan(case.true_close + HOUR * self.chance.uniform(12, 48), self.cut, case)

    def feel(self, case):
        if not case.cut_at and not self.is_asleep(self.now):
            case.is_checked = True
            mould.check_firmness(case.loaf, self.told(), "dents")

    def cut(self, case):
        if case.cut_at:
            return
        if self.is_asleep(self.now):
            self.plan(self.now + HOUR, self.cut, case)
            return
        case.cut_at = self.now
        cut(case.loaf, self.told(), "clean", CutBars(10, 85, 65, 25))

    def told(self):
        return Told(uuid4(), self.now, None)

    def is_asleep(self, moment):
        return self.quiet.night_of(moment) is not None

    def hear(self, channel, line):
        """Somebody goes and cuts, as soon as the loaf lets itself be cut; one time in ten nobody does."""
        number = line.removeprefix(line.split("26-")[0]).split(":")[0]
        self.heard.append((self.now, channel, line))
        case = self.cases[number]
        if "cut" in line and self.chance.random() < 0.9:
            open_at = case.after(case.middle_h * case.truth)
            self.plan(max(self.now, open_at) + HOUR * self.chance.uniform(0.2, 2), self.cut, case)

    def live(self, channels):
        while self.plans:
            moment, is_worker = min((self.plans[-1][0], False), (self.worker_wants(), True))
            self.now = max(moment, self.now)
            self.clock.move_to(self.now)
            if is_worker:
                one_round(channels)
            else:
                _, _, act, what = self.plans.pop()
                act(*what)

    def worker_wants(self):
        """When the loop, which looks every few seconds, would next find something to do."""
        moments = [self.now] if ToReplan.objects.filter(tries=0).exists() else []
        due = (
            Reminder.objects.filter(due_at__isnull=False).order_by("due_at").values_list("due_at", flat=True)
        )
        waiting = (
            Delivery.objects.filter(state="waiting")
            .order_by("next_try_at")
            .values_list("next_try_at", flat=True)
        )
        moments += [found for found in (due.first(), waiting.first()) if found]
        moment = max(self.now, min(moments, default=BEGIN + 2 * YEAR)) + timedelta(seconds=1)
        return self.back_at("server", moment) or moment


class NoPast:
    """What other loaves teach is no part of this: reading it again after each fact would only cost time."""

    def cuts_before(self, *asked):
        return ()

    def bars_before(self, *asked):
        return ()


class Service:
    def __init__(self, name, year):
        self.name, self.year = name, year

    def send(self, receiver, message):
        if self.year.back_at(self.name, self.year.now):
            return Outcome(Result.LATER, f"The {self.name} service is away.")
        for line in message.lines:
            self.year.hear(self.name, line)
        return SENT


@pytest.fixture
def year(monkeypatch):
    cache.clear()
    with time_machine.travel(BEGIN, tick=False) as clock:
        script = Year(clock)
        # The pour facts, which a stand-in does not need, carry the number of the loaf and its checks.
        monkeypatch.setattr(
            outlook.evidence,
            "loaf_pour_facts",
            lambda record, *told: (record.loaf.number, script.cases[record.loaf.number].is_checked),
        )
        monkeypatch.setattr(
            outlook.cutting, "cut_window", lambda facts, *told: script.cases[facts[0]].window()
        )
        monkeypatch.setattr(outlook.Outlook, "summary", None)
        monkeypatch.setattr(outlook, "facts_mark", tuple)
        monkeypatch.setattr(worker, "BREATH_S", 0)
        monkeypatch.setattr(outlook.evidence.Experience, "of", lambda *told: NoPast())
        change_workshop(Workshop.current(), {"time_zone": "Europe/Berlin"})
        # Reminders with a date have tests of their own; here they would only take time.
        for kind in (Kind.TURN, Kind.SPOTS):
            set_rule(kind, "", {"is_on": False})
        yield script


def test_a_year_with_two_people_and_outages(year):
    make_receiver("Olga's phone", "olga", channel="push")
    make_receiver("Henk's mail", "henk", channel="mail")
    year.live({name: Service(name, year) for name in ("mail", "push")})
    sent = list(Delivery.objects.filter(state="sent").select_related("reminder__loaf__batch", "receiver"))
    counts = Counter()

    reviewed = defaultdict(set)
    for line in review(BEGIN, BEGIN + 2 * YEAR):
        reviewed[line.reminder.loaf.number].add(line.why)
    first_told = {}
    for delivery in sorted(sent, key=lambda delivery: delivery.ended_at):
        if delivery.reminder.kind in (Kind.CUT, Kind.CUT_BY):
            first_told.setdefault(delivery.reminder.loaf.number, delivery.ended_at)
    for number, case in year.cases.items():
        told_at = first_told.get(number)
        if told_at and told_at < case.stated_close:
            counts["told before it closed"] += 1
            counts["  really before it closed"] += told_at < case.true_close
        elif reviewed[number]:
            counts["not told in time, and the review says why"] += 1
        else:
            counts["cut before anything was due"] += bool(case.cut_at and case.is_checked)
            assert case.cut_at, (
                f"{number} was told at {told_at}, closed at {case.stated_close}, and nobody says why"
            )

    for delivery in sent:
        case = year.cases[delivery.reminder.loaf.number]
        if delivery.reminder.kind in CUT_KINDS and case.cut_at:
            assert delivery.ended_at <= case.cut_at, f"{delivery} after the cut"
    asleep = [delivery for delivery in sent if year.is_asleep(delivery.ended_at)]
    told_twice = Counter((d.reminder_id, d.receiver_id, d.occasion) for d in sent).most_common(1)[0][1]
    assert told_twice == 1
    counts |= Counter(
        {
            "loaves": len(year.cases),
            "lines told": len(year.heard),
            "reminders sent": len(sent),
            "sent in quiet hours, because waiting would lose the loaf": len(asleep),
            "sent late": sum(d.ended_at - d.due_at > timedelta(minutes=10) for d in sent),
            "dropped as no longer true": Reminder.objects.filter(outcome="dropped").count(),
        }
    )
    print("\n" + "\n".join(f"{number:6d}  {what}" for what, number in counts.items()))
    assert counts["loaves"] == LOAVES
    assert all(delivery.reminder.kind in CUT_KINDS for delivery in asleep)
    # There were outages, and they were felt.
    assert counts["sent late"] > 0
