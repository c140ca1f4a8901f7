from datetime import date, timedelta

import pytest

from curelog.models.room import RoomDayMean
from curelog.room_chart import bounds, room_chart

LAST = date(2026, 3, 1)
FIRST = LAST - timedelta(days=56)


def days(rhs: dict[int, float], temp_c: float | None = 18.0) -> list[RoomDayMean]:
    """Humidity by days before the last one."""
    return [
        RoomDayMean(LAST - timedelta(days=back), rh, temp_c) for back, rh in sorted(rhs.items(), reverse=True)
    ]


def test_nothing_read_draws_nothing() -> None:
    assert room_chart([], FIRST, LAST, "C") is None


def test_a_day_without_reading_breaks_the_line_and_a_lone_day_is_a_point() -> None:
    drawn = room_chart(days({20: 50, 19: 51, 18: 52, 10: 60, 3: 55, 2: 56}), FIRST, LAST, "C")
    assert drawn
    assert len(drawn.panels[0].lines) == 2
    assert len(drawn.panels[0].points) == 1


def test_only_what_was_read_gets_a_panel() -> None:
    drawn = room_chart(days({3: 50, 2: 52}, temp_c=None), FIRST, LAST, "C")
    assert drawn
    assert [panel.name for panel in drawn.panels] == ["Humidity"]


def test_everything_lies_inside_the_drawing() -> None:
    drawn = room_chart(days({back: 30 + back for back in range(57)}), FIRST, LAST, "F")
    assert drawn
    for panel in drawn.panels:
        for line in panel.lines:
            for pair in line[1:].split("L"):
                x, y = map(float, pair.split())
                assert drawn.left <= x <= drawn.width
                assert panel.top - 0.1 <= y <= panel.bottom + 0.1


@pytest.mark.parametrize(("values", "span"), [([55.0], 20.0), ([54.2, 56.9], 20.0), ([20.0, 83.3], 20.0)])
def test_the_scale_is_even_wide_enough_and_holds_every_value(values: list[float], span: float) -> None:
    low, high = bounds(values, span)
    assert low <= min(values) <= max(values) <= high
    assert high - low >= span
    assert low % 2 == high % 2 == 0
