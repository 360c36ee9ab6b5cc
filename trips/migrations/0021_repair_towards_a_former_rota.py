import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("trips", "0020_safety_on_the_day")]

    operations = [
        migrations.AddField(
            model_name="making",
            name="towards",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to="trips.rota",
            ),
        ),
    ]
