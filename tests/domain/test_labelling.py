from datetime import date

import pytest

from curelog.domain.labelling import figure_height_mm, months_after


@pytest.mark.parametrize(
    ("label_g", "height_mm"),
    [(20, 2), (50, 2), (50.1, 3), (97, 3), (200, 3), (200.1, 4), (1000, 4), (1000.1, 6)],
)
def test_heights_at_their_edges(label_g: float, height_mm: float) -> None:
    """Directive 76/211/EEC, Annex I, 3.1, as the German Fertigpackungsverordnung, section 38(2), gives it (seen)."""
    assert figure_height_mm(label_g) == height_mm


def test_nothing_has_no_figure() -> None:
    with pytest.raises(ValueError, match="above 0 g"):
        figure_height_mm(0)


def test_months_are_counted_on_the_calendar() -> None:
    assert months_after(date(2026, 1, 12), 24) == date(2028, 1, 12)
    assert months_after(date(2026, 12, 31), 2) == date(2027, 2, 28)
    assert months_after(date(2027, 8, 31), 6) == date(2028, 2, 29)
