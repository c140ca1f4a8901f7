import numpy as np
import pytest
import time_machine
from django.core.cache import cache

from curelog.domain.cutting import CutWindow, RestsOn
from curelog.domain.drying import NoForecast
from curelog.domain.quantiles import Spread
from curelog.models import outlook
from tests.factories import START
from tests.reminders.fakes import Recorder


@pytest.fixture
def clock():
    """Stands still until it is moved."""
    cache.clear()
    with time_machine.travel(START, tick=False) as traveller:
        yield traveller


def window_of(facts, checks=(), history=()):
    """Opens 11 h after the pour and closes at 16 h; each finger check puts it off by a day."""
    later = 24 * len(checks)
    opens, closes = Spread(later + 4, later + 11, later + 15), Spread(later + 16, later + 20, later + 30)
    return CutWindow(opens, closes, RestsOn(len(checks), 0), np.array([]), np.array([]), np.array([]))


@pytest.fixture
def known_window(monkeypatch):
    """For tests of what is made of a forecast, not of the forecast."""
    monkeypatch.setattr(outlook.cutting, "cut_window", window_of)
    monkeypatch.setattr(outlook, "summary", lambda question: NoForecast("not asked for here", ""))


@pytest.fixture
def recorder():
    return Recorder()


@pytest.fixture
def channels(recorder):
    return {"mail": recorder, "push": recorder}
