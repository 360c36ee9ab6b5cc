"""What is noted on the day is kept as happenings; who is out and back moves into them."""

import uuid
from typing import Any

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

SAME = ("session_id", "place_id", "leader_id", "hide_id")


def note_ticks(apps: Any, _: Any) -> None:
    """A happening for each tick; its uuid follows from the row's, as where an older trip file is read."""
    happening = apps.get_model("trips", "Happening")
    for row in apps.get_model("trips", "OutBack").objects.select_related("session").iterator():
        same = {name: getattr(row, name) for name in SAME} | {"trip_id": row.session.trip_id, "by_id": row.ticked_by_id}
        happening.objects.bulk_create(
            happening(uuid=uuid.uuid5(row.uuid, kind), kind=kind, at=at, **same)
            for kind, at in (("out", row.out_at), ("back", row.back_at))
            if at is not None
        )


def row_ticks(apps: Any, _: Any) -> None:
    """A row for each person of a session: first out, and first back after it; what was taken back is left out."""
    rows, found = apps.get_model("trips", "OutBack").objects, {}
    noted = apps.get_model("trips", "Happening").objects.filter(undoes=None, undone_by=None, kind__in=("out", "back"))
    for one in noted.exclude(hide=None).order_by("at", "uuid").iterator():
        values = found.setdefault((one.session_id, one.place_id, one.leader_id), {"hide_id": one.hide_id})
        if one.kind == "out" or "out_at" not in values or one.at >= values["out_at"]:
            values.setdefault(f"{one.kind}_at", one.at)
            values["ticked_by_id"] = one.by_id
    for (session, place, leader), values in found.items():
        if "out_at" in values and values.get("back_at", values["out_at"]) < values["out_at"]:
            del values["back_at"]
        rows.create(session_id=session, place_id=place, leader_id=leader, **values)


class Migration(migrations.Migration):
    dependencies = [
        ('trips', '0017_pairing_once_either_way'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Happening',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('kind', models.CharField(choices=[('out', 'out'), ('back', 'back'), ('not_coming', 'not coming'), ('late', 'late'), ('moved', 'moved'), ('left_early', 'left early'), ('hide_closed', 'hide closed'), ('hide_open', 'hide open again'), ('car_down', 'car down'), ('light_changed', 'light changed'), ('overdue_noted', 'overdue noted'), ('reached', 'reached')], max_length=14)),
                ('at', models.DateTimeField()),
                ('until_at', models.DateTimeField(blank=True, null=True)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='noted_happenings', to=settings.AUTH_USER_MODEL)),
                ('car', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='happenings', to='trips.car')),
                ('hide', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='happenings', to='trips.hide')),
                ('leader', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='happenings', to=settings.AUTH_USER_MODEL)),
                ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='happenings', to='trips.place')),
                ('seat', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='happenings', to='trips.seat')),
                ('session', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='happenings', to='trips.session')),
                ('trip', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='happenings', to='trips.trip')),
                ('undoes', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='undone_by', to='trips.happening')),
            ],
            options={
                'ordering': ['trip', 'at', 'uuid'],
            },
        ),
        migrations.AddConstraint(
            model_name='happening',
            constraint=models.CheckConstraint(condition=models.Q(('place__isnull', True), ('leader__isnull', True), _connector='OR'), name='happening_person_or_leader', violation_error_message='A happening is about one participant or one leader.'),
        ),
        migrations.AddConstraint(
            model_name='happening',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind__in', ('out', 'back', 'not_coming', 'late', 'moved', 'left_early', 'overdue_noted', 'reached')), _negated=True), models.Q(('session__isnull', False), models.Q(('place__isnull', False), ('leader__isnull', False), _connector='OR')), _connector='OR'), name='happening_of_a_person', violation_error_message='This kind of happening needs a person and a session.'),
        ),
        migrations.AddConstraint(
            model_name='happening',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind__in', ('moved', 'hide_closed', 'hide_open')), _negated=True), models.Q(('hide__isnull', False), ('session__isnull', False)), _connector='OR'), name='happening_at_a_hide', violation_error_message='This kind of happening needs a hide and a session.'),
        ),
        migrations.RunPython(note_ticks, row_ticks),
        migrations.DeleteModel(name="OutBack"),
    ]
