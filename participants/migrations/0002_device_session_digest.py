"""Keys of sessions become digests, and everybody signs in once more.

The keys lay in clear in the database and in every backup, so a sign-in that went on could still be taken over.
"""

from django.db import migrations, models

from participants.session_store import session_digest


def sign_ins_end(apps, schema_editor):
    apps.get_model("sessions", "Session").objects.all().delete()
    devices = apps.get_model("participants", "Device").objects
    for pk, key in list(devices.values_list("pk", "session_digest")):
        devices.filter(pk=pk).update(session_digest=session_digest(key))


class Migration(migrations.Migration):

    dependencies = [
        ("participants", "0001_initial"),
        ("sessions", "0001_initial"),
    ]

    operations = [
        migrations.RenameField(model_name="device", old_name="session_key", new_name="session_digest"),
        migrations.AddField(model_name="device", name="is_new", field=models.BooleanField(default=False)),
        migrations.RunPython(sign_ins_end, migrations.RunPython.noop),
    ]
