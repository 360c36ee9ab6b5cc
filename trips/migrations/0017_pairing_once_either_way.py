"""Two people have one pairing, whoever of them is named first."""

from django.db import migrations, models
from django.db.models.functions import Greatest, Least


def merge_doubles(apps, schema_editor):
    """Of two pairings of the same people "apart" stays, else the one changed last."""
    pairings = apps.get_model("trips", "Pairing").objects
    kept = set()
    for pairing in sorted(pairings.order_by("-changed_at", "-pk"), key=lambda row: row.kind != "apart"):
        two = frozenset((pairing.first_id, pairing.second_id))
        if two in kept:
            pairing.delete()
        kept.add(two)


class Migration(migrations.Migration):
    dependencies = [("trips", "0016_mails_of_notices")]

    operations = [
        migrations.RunPython(merge_doubles, migrations.RunPython.noop),
        migrations.RemoveConstraint("pairing", "pairing_once"),
        migrations.AddConstraint(
            "pairing",
            models.UniqueConstraint(
                Least("first", "second"),
                Greatest("first", "second"),
                name="pairing_once",
                violation_error_message="These two people already have a pairing; remove that one first.",
            ),
        ),
    ]
