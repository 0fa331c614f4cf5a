"""People: names that differ in capitals alone, ending all sessions, things limited in number."""

import django.db.models.functions.text
import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0002_append_only")]

    operations = [
        migrations.CreateModel(
            name="LimitedAct",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("what", models.CharField(max_length=40)),
                ("by", models.CharField(max_length=70)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
            ],
        ),
        migrations.AddField(
            model_name="person",
            name="sessions_ended",
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddConstraint(
            model_name="person",
            constraint=models.UniqueConstraint(
                django.db.models.functions.text.Lower("name"), name="one_person_a_name"
            ),
        ),
        migrations.AddIndex(
            model_name="limitedact",
            index=models.Index(fields=["what", "by", "at"], name="limited_act"),
        ),
    ]
