import uuid

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Max


def name_the_places(apps, schema_editor):
    """Each place that was written down becomes one of the workshop's, behind those it has."""
    Place, Release = apps.get_model("curelog", "Place"), apps.get_model("curelog", "Release")
    for release in Release.objects.exclude(retained_place=""):
        place = Place.objects.filter(name__iexact=release.retained_place).first()
        if place is None:
            last = Place.objects.aggregate(last=Max("order"))["last"]
            place = Place.objects.create(
                id=uuid.uuid4(), name=release.retained_place, order=0 if last is None else last + 1
            )
        release.sample_place = place
        release.save(update_fields=["sample_place"])


class Migration(migrations.Migration):
    dependencies = [("curelog", "0001_initial")]

    operations = [
        migrations.AlterField("place", "name", models.CharField(max_length=80)),
        migrations.AddField(
            "move",
            "part",
            models.CharField(
                choices=[("bars", "The bars"), ("sample", "The retained sample")],
                default="bars",
                help_text="What was put there.",
                max_length=6,
            ),
        ),
        migrations.AddField(
            "release",
            "sample_place",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="samples",
                to="curelog.place",
            ),
        ),
        migrations.RunPython(name_the_places, migrations.RunPython.noop),
        migrations.RemoveField("release", "retained_place"),
    ]
