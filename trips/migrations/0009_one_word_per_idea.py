"""One word per idea in the rows: votes are spent, scoring turns light into points."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("trips", "0008_making_trip_changed")]

    operations = [
        migrations.RemoveConstraint("wish", "wish_marks"),
        migrations.RenameField("wish", "marks", "votes"),
        migrations.AddConstraint(
            "wish",
            models.CheckConstraint(
                condition=models.Q(("votes__gte", 1), ("votes__lte", 6)),
                name="wish_votes",
                violation_error_message="From one to six votes go to a subject.",
            ),
        ),
        migrations.AlterConstraint(
            "wish",
            "wish_once",
            models.UniqueConstraint(
                fields=("place", "subject"),
                name="wish_once",
                violation_error_message="Votes for this subject are already given.",
            ),
        ),
        migrations.RenameField("triprules", "height_marks", "height_scoring"),
        migrations.RenameField("triprules", "wish_marks", "wish_scoring"),
    ]
