"""Really erasing: the one place where something told is not kept."""

from django.conf import settings
from django.db import transaction

from curelog import photos
from curelog.models import Fact, Photo


@transaction.atomic
def erase_photo(photo: Photo) -> None:
    """Erases the picture and every version of it. Files go first: a broken erasure can then be done again."""
    versions = all_versions(photo)
    for version in versions:
        photos.erase(settings.PHOTO_DIR, version.pk)
    versions[0].delete()


def all_versions(fact: Fact) -> list[Fact]:
    """The first told, then what corrects or withdraws it: deleting the first takes the others along."""
    while fact.corrects:
        fact = fact.corrects
    versions = [fact]
    for version in versions:
        versions.extend(Photo.objects.filter(corrects=version.pk))
    return versions
