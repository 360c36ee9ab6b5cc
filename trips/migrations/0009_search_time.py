"""A search time in words takes the place of a number of effort; a run keeps how far it was."""

from typing import Any

from django.db import migrations, models

SEARCH_TIMES = [("quick", "quick"), ("normal", "normal"), ("thorough", "thorough")]
QUICK, NORMAL = 5, 20  # the most that was once quick, and usual; more was thorough
BACK = {"quick": 5, "normal": 10, "thorough": 40, "": 0}


def name_efforts(apps: Any, _: Any) -> None:
    """The search time that each number stood for; 0 stood for none."""
    for model, unstated in (("Rota", ""), ("Making", "normal")):
        rows = apps.get_model("trips", model).objects
        rows.filter(effort=0).update(search_time=unstated)
        rows.filter(effort__gt=0, effort__lte=QUICK).update(search_time="quick")
        rows.filter(effort__gt=QUICK, effort__lte=NORMAL).update(search_time="normal")
        rows.filter(effort__gt=NORMAL).update(search_time="thorough")


def number_search_times(apps: Any, _: Any) -> None:
    """The number that each search time stood for."""
    for model in ("Rota", "Making"):
        for word, effort in BACK.items():
            apps.get_model("trips", model).objects.filter(search_time=word).update(effort=effort)


class Migration(migrations.Migration):
    dependencies = [("trips", "0008_making_trip_changed")]

    operations = [
        migrations.AddField(
            model_name="rota",
            name="search_time",
            field=models.CharField(blank=True, choices=SEARCH_TIMES, default="", max_length=8),
        ),
        migrations.AddField(
            model_name="making",
            name="search_time",
            field=models.CharField(choices=SEARCH_TIMES, default="normal", max_length=8),
        ),
        migrations.RunPython(name_efforts, number_search_times),
        migrations.RemoveField(model_name="rota", name="effort"),
        migrations.RemoveField(model_name="making", name="effort"),
        migrations.AddField(
            model_name="making", name="progress", field=models.JSONField(blank=True, default=list)
        ),
    ]
