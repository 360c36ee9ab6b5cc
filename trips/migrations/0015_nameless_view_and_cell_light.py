"""A view without a name is called "view", no longer "window"; what a rota keeps of its cells' light has its name."""

from typing import Any

from django.db import migrations, models


def rename(apps: Any, before: str, after: str) -> None:
    """The name of every nameless view, unless its hide has another view of that name."""
    views = apps.get_model("trips", "View").objects
    taken = views.filter(name=after).values_list("hide", flat=True)
    views.filter(name=before).exclude(hide__in=list(taken)).update(name=after)


class Migration(migrations.Migration):
    dependencies = [("trips", "0014_one_word_per_idea")]

    operations = [
        migrations.RenameField("rota", "sheet", "cell_light"),
        migrations.AlterField("view", "name", models.CharField(default="view", max_length=120)),
        migrations.RunPython(
            lambda apps, _: rename(apps, "window", "view"), lambda apps, _: rename(apps, "view", "window")
        ),
    ]
