from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from curelog.backup import memory
from tests.factories import make_loaf

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_folder(tmp_path, settings):
    settings.DATA_DIR = tmp_path


def test_the_hub_reminds_an_owner_of_an_old_backup_and_leaves_a_helper_in_peace(
    owner_client, helper_client
) -> None:
    make_loaf()
    assert "No backup yet" in owner_client.get(reverse("settings")).content.decode()
    assert "No backup yet" not in helper_client.get(reverse("settings")).content.decode()


def test_a_fresh_backup_silences_it_for_a_fortnight(owner_client, settings) -> None:
    make_loaf()
    memory.remember(settings.DATA_DIR, timezone.now() - timedelta(days=13))
    assert "backup is of" not in owner_client.get(reverse("settings")).content.decode()
    memory.remember(settings.DATA_DIR, timezone.now() - timedelta(days=15))
    assert "The last backup is of" in owner_client.get(reverse("settings")).content.decode()


def test_the_page_says_how(owner_client, helper_client) -> None:
    assert "manage.py backup FILE" in owner_client.get(reverse("backups")).content.decode()
    assert helper_client.get(reverse("backups")).status_code == 403


@pytest.mark.parametrize("words", ["", "yesterday", "2026-01-12T09:00:00"])
def test_a_spoilt_memory_counts_as_none(owner_client, settings, words: str) -> None:
    (settings.DATA_DIR / memory.FILE).write_text(words)
    make_loaf()
    assert "No backup yet" in owner_client.get(reverse("settings")).content.decode()
