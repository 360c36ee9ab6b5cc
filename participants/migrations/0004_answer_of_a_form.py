"""What was answered to a form stays with it, for when the form comes again."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("participants", "0003_leader_details")]

    operations = [
        migrations.AddField("submission", "answer", models.JSONField(blank=True, default=dict)),
    ]
