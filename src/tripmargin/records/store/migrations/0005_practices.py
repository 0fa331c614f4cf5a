"""Practice: drills played move by move, and classes; what was played is only ever added."""

import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

# As they were when this was written: a migration does not follow the code.
TABLES = (
    "records_classlearner",
    "records_practice",
    "records_practicemove",
    "records_practiceresult",
)


def add(apps, schema_editor):
    """Set the triggers, as 0002 does: on PostgreSQL with the function that it made."""
    vendor = schema_editor.connection.vendor
    for table in TABLES:
        if vendor == "postgresql":
            schema_editor.execute(
                f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table}"
                " FOR EACH STATEMENT EXECUTE FUNCTION records_only_added()"
            )
        for what in ("update", "delete"):
            name = f"{table}_no_{what}"
            if vendor == "postgresql":
                schema_editor.execute(
                    f"CREATE TRIGGER {name} BEFORE {what.upper()} ON {table}"
                    " FOR EACH ROW EXECUTE FUNCTION records_only_added()"
                )
            else:
                schema_editor.execute(
                    f"CREATE TRIGGER {name} BEFORE {what.upper()} ON {table}"
                    f" BEGIN SELECT RAISE(ABORT, 'rows of {table} are only ever added'); END"
                )


def remove(apps, schema_editor):
    """Take them away again."""
    on = schema_editor.connection.vendor == "postgresql"
    for table in TABLES:
        for what in ("update", "delete", *(("truncate",) if on else ())):
            tail = f" ON {table}" if on else ""
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{what}{tail}")


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0004_names_and_coverage"),
    ]

    operations = [
        migrations.CreateModel(
            name="ClassLearner",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("uid", models.UUIDField(default=uuid.uuid4, unique=True)),
                ("number", models.PositiveIntegerField()),
                ("name", models.CharField(max_length=60)),
                ("name_key", models.CharField(max_length=200)),
                ("joined_at", models.DateTimeField(default=django.utils.timezone.now)),
            ],
        ),
        migrations.CreateModel(
            name="ClassDrill",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("kind", models.CharField(max_length=20)),
                ("seed", models.PositiveBigIntegerField()),
                ("demo", models.CharField(blank=True, max_length=40)),
                ("machine_name", models.CharField(max_length=100)),
                ("answer_shown_at", models.DateTimeField(null=True)),
                (
                    "version",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        to="records.machineversion",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Practice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("uid", models.UUIDField(default=uuid.uuid4, unique=True)),
                ("kind", models.CharField(max_length=20)),
                ("seed", models.PositiveBigIntegerField()),
                ("demo", models.CharField(blank=True, max_length=40)),
                ("machine_name", models.CharField(max_length=100)),
                ("machine_mark", models.CharField(max_length=64)),
                ("about", models.CharField(blank=True, max_length=200)),
                ("who_name", models.CharField(max_length=60)),
                ("begun_at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "class_drill",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="practices",
                        to="records.classdrill",
                    ),
                ),
                (
                    "learner",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="practices",
                        to="records.classlearner",
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        to="records.machineversion",
                    ),
                ),
                (
                    "who",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="practices",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="PracticeClass",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("uid", models.UUIDField(default=uuid.uuid4, unique=True)),
                ("name", models.CharField(max_length=60)),
                ("code", models.CharField(max_length=12, unique=True)),
                ("shows", models.CharField(default="names", max_length=20)),
                ("opened_at", models.DateTimeField(default=django.utils.timezone.now)),
                ("opened_by_name", models.CharField(max_length=60)),
                ("ends_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(null=True)),
                (
                    "opened_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="classlearner",
            name="of_class",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="learners",
                to="records.practiceclass",
            ),
        ),
        migrations.AddField(
            model_name="classdrill",
            name="of_class",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="drills",
                to="records.practiceclass",
            ),
        ),
        migrations.CreateModel(
            name="PracticeMove",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("uid", models.UUIDField(null=True)),
                ("do", models.CharField(max_length=20)),
                ("what", models.CharField(blank=True, max_length=300)),
                ("came", models.CharField(blank=True, max_length=300)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "practice",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="moves",
                        to="records.practice",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="PracticeResult",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("points", models.FloatField()),
                ("unsafe", models.PositiveIntegerField()),
                ("kept", models.JSONField()),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "practice",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="result",
                        to="records.practice",
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.AddIndex(
            model_name="practice",
            index=models.Index(fields=["who", "-begun_at"], name="practice_of_person"),
        ),
        migrations.AddConstraint(
            model_name="practice",
            constraint=models.UniqueConstraint(
                fields=("learner", "class_drill"), name="one_practice_a_drill"
            ),
        ),
        migrations.AddConstraint(
            model_name="classlearner",
            constraint=models.UniqueConstraint(
                fields=("of_class", "number"), name="one_learner_a_number"
            ),
        ),
        migrations.AddConstraint(
            model_name="classlearner",
            constraint=models.UniqueConstraint(
                fields=("of_class", "name_key"), name="one_learner_a_name"
            ),
        ),
        migrations.AddConstraint(
            model_name="classdrill",
            constraint=models.UniqueConstraint(
                fields=("of_class", "number"), name="one_class_drill"
            ),
        ),
        migrations.AddConstraint(
            model_name="practicemove",
            constraint=models.UniqueConstraint(
                fields=("practice", "number"), name="one_move_a_number"
            ),
        ),
        migrations.AddConstraint(
            model_name="practicemove",
            constraint=models.UniqueConstraint(
                fields=("practice", "uid"), name="one_practice_move"
            ),
        ),
        migrations.RunPython(add, remove),
    ]
