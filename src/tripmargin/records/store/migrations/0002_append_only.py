"""The database itself refuses to change or delete what is only ever added."""

from django.db import migrations

# As they were when this was written: a migration does not follow the code.
TABLES = (
    "records_entry",
    "records_photo",
    "records_caseline",
    "records_auditline",
    "records_machineversion",
    "records_typesheetversion",
)


def add(apps, schema_editor):
    """Set the triggers."""
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE OR REPLACE FUNCTION records_only_added() RETURNS trigger AS $$"
            " BEGIN RAISE EXCEPTION 'rows of % are only ever added', TG_TABLE_NAME; END;"
            " $$ LANGUAGE plpgsql",
            params=None,  # the sign in the message is no placeholder
        )
        for table in TABLES:  # no row's trigger is asked at a TRUNCATE
            schema_editor.execute(
                f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table}"
                " FOR EACH STATEMENT EXECUTE FUNCTION records_only_added()"
            )
    for table in TABLES:
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
    """Triggers."""

    dependencies = [("records", "0001_initial")]
    operations = [migrations.RunPython(add, remove)]
