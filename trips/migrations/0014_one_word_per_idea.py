"""One word per idea in the rows: votes are spent, scoring turns light into points."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("trips", "0013_stage_by_dates_and_leaders_told")]

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
        migrations.RemoveConstraint("sessionlog", "session_log_yield"),
        migrations.RenameField("sessionlog", "yield_mark", "yield_rating"),
        migrations.AddConstraint(
            "sessionlog",
            models.CheckConstraint(
                condition=models.Q(("yield_rating__isnull", True), ("yield_rating__lte", 5), _connector="OR"),
                name="session_log_yield",
                violation_error_message="Yield is from 0 to 5.",
            ),
        ),
        migrations.RemoveConstraint("sighting", "sighting_once"),
        migrations.RenameModel("Sighting", "Arrival"),
        migrations.AlterField(
            "arrival",
            "log",
            models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="arrivals", to="trips.sessionlog"
            ),
        ),
        migrations.AlterField(
            "arrival",
            "subject",
            models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="arrivals", to="trips.subject"),
        ),
        migrations.AddConstraint(
            "arrival",
            models.UniqueConstraint(
                fields=("log", "subject"),
                name="arrival_once",
                violation_error_message="This subject is already in the log.",
            ),
        ),
        migrations.RenameField("hide", "in_demand", "sought_after"),
        migrations.RemoveConstraint("triprules", "rules_times"),
        migrations.RenameField("triprules", "burden_walk_m", "hardship_walk_m"),
        migrations.AddConstraint(
            "triprules",
            models.CheckConstraint(
                condition=models.Q(
                    models.Q(("set_up_min__isnull", True), ("set_up_min__gte", 0), _connector="OR"),
                    models.Q(("settle_min__isnull", True), ("settle_min__gte", 0), _connector="OR"),
                    models.Q(("stop_min__isnull", True), ("stop_min__gte", 0), _connector="OR"),
                    models.Q(("pick_up_window_min__isnull", True), ("pick_up_window_min__gte", 0), _connector="OR"),
                    models.Q(("later_untold_min__isnull", True), ("later_untold_min__gte", 0), _connector="OR"),
                    models.Q(("hardship_walk_m__isnull", True), ("hardship_walk_m__gte", 0), _connector="OR"),
                    models.Q(("ev_low__isnull", True), ("ev_low__gte", 0), _connector="OR"),
                    ("ev_span__gt", 0),
                    ("hand_over_min__gt", 0),
                    ("shutter_s__gt", 0),
                ),
                name="rules_times",
                violation_error_message="Minutes and metres are not negative; a hand-over comes after some minutes.",
            ),
        ),
        migrations.AlterField(
            "place",
            "entry_limit",
            models.CharField(
                blank=True,
                choices=[("walk", "walk in only"), ("stoop", "stoop"), ("ladder", "ladder"), ("crawl", "crawl")],
                max_length=8,
                verbose_name="hardest entrance",
            ),
        ),
    ]
