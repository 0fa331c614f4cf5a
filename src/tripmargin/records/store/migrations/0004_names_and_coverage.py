"""People: one name in whatever capitals on every database. What a version's daily check finds."""

import unicodedata

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


def name_key(name):
    """As it was when this was written: a migration does not follow the code."""
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFD", name).casefold())
    return " ".join(unicodedata.normalize("NFKC", folded.casefold()).split())[:180]


def fill(apps, schema_editor):
    """Give each person his key. Of two with one key both stay, and the audit says so."""
    person, line = (apps.get_model("records", name) for name in ("Person", "AuditLine"))
    first = {}
    for each in person.objects.order_by("pk"):
        key = name_key(each.name)
        other = first.setdefault(key, each.name)
        if other != each.name:
            key = f"{key}\n{each.pk}"  # no name holds a line's end, so nobody else has this key
            line.objects.create(
                who_name="tripmargin",
                what="two names alike",
                about=each.name,
                detail={
                    "like": other,
                    "said": "Both stay. Each signs in with his name as it is spelt here.",
                },
            )
        each.name_key = key
        each.save(update_fields=["name_key"])


class Migration(migrations.Migration):
    dependencies = [("records", "0003_doors")]

    operations = [
        migrations.RemoveConstraint(model_name="person", name="one_person_a_name"),
        migrations.AddField(
            model_name="person",
            name="name_key",
            field=models.CharField(max_length=200, null=True, editable=False),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="person",
            name="name_key",
            field=models.CharField(max_length=200, unique=True, editable=False),
        ),
        migrations.CreateModel(
            name="VersionCoverage",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("summary", models.JSONField()),
                ("program", models.CharField(max_length=40)),
                ("worked_out_at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "version",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="coverage",
                        to="records.machineversion",
                    ),
                ),
            ],
        ),
    ]
