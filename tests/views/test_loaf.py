"""The loaf's page: what the weighings themselves give away."""

import math

from django.urls import reverse

from tests.factories import make_cut_loaf, weigh_course

DAYS = (1, 3, 5, 8, 12, 15, 19, 24, 30)


def even_course(cut_g=140.0):
    return {day: round(cut_g * (1 - 0.13 * (1 - math.exp(-((day / 14) ** 0.7)))), 1) for day in DAYS}


def page_after(client, weights_g):
    loaf = make_cut_loaf()
    weigh_course(loaf, weights_g)
    return client.get(reverse("loaf", args=[loaf.pk])).content.decode()


def test_a_planing_that_nobody_told_is_asked_about(owner_client):
    page = page_after(owner_client, {day: g * (0.97 if day > 12 else 1) for day, g in even_course().items()})
    assert "Bar 2 lost weight at once" in page


def test_an_even_course_asks_for_nothing(owner_client):
    assert "lost weight at once" not in page_after(owner_client, even_course())


def test_a_weight_that_does_not_fit_is_told_with_its_date_in_the_workshops_unit(owner_client, workshop):
    workshop.mass_unit = "oz"
    workshop.save()
    page = page_after(owner_client, even_course() | {12: 400.0})
    assert "does not fit: bar 2 at 14.11" in page
    assert "was the tray tared?" in page
