import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def drivers_found(apps, schema_editor):
    """A driver typed by the name of a leader or of somebody on the trip is that person; any other is from outside."""
    for car in apps.get_model('trips', 'Car').objects.exclude(driver='').select_related('trip__leader'):
        typed = car.driver.strip().casefold()
        leaders = [car.trip.leader, *car.trip.co_leaders.all()]
        named = [user for user in leaders if typed in leader_names(user)]
        places = [place for place in car.trip.places.select_related('participant') if place.participant.name.casefold() == typed]
        if len(named) + len(places) == 1:
            who = {'driver_leader': next(iter(named), None), 'driver_place': next(iter(places), None)}
            type(car).objects.filter(pk=car.pk).update(driver='', **who)  # no papers go stale for it


def leader_names(user):
    """What a leader may be called in one field."""
    whole = f'{user.first_name} {user.last_name}'
    return {name.strip().casefold() for name in (user.username, user.first_name, whole)} - {''}


class Migration(migrations.Migration):

    dependencies = [
        ('trips', '0008_making_trip_changed'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterModelOptions(
            name='run',
            options={'ordering': ['session', 'car', 'number', 'uuid']},
        ),
        migrations.RemoveConstraint(
            model_name='run',
            name='run_once',
        ),
        migrations.RemoveConstraint(
            model_name='triprules',
            name='rules_times',
        ),
        migrations.AddField(
            model_name='car',
            name='driver_leader',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='driving leader'),
        ),
        migrations.AddField(
            model_name='car',
            name='driver_place',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='trips.place', verbose_name='driving person'),
        ),
        migrations.AddField(
            model_name='run',
            name='driver',
            field=models.CharField(blank=True, max_length=120),
        ),
        migrations.AddField(
            model_name='run',
            name='driver_leader',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL, verbose_name='driving leader'),
        ),
        migrations.AddField(
            model_name='run',
            name='driver_place',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='trips.place', verbose_name='driving person'),
        ),
        migrations.AddField(
            model_name='run',
            name='number',
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AddField(
            model_name='site',
            name='cars_leave_from',
            field=models.CharField(choices=[('lodge', 'the lodge'), ('meeting', 'the meeting point')], default='lodge', max_length=8),
        ),
        migrations.AddField(
            model_name='trip',
            name='drives_changed_at',
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name='triprules',
            name='later_untold_min',
            field=models.FloatField(default=5),
        ),
        migrations.AddConstraint(
            model_name='car',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('driver', ''), models.Q(('driver_place__isnull', True), ('driver_leader__isnull', True), _connector='OR')), models.Q(('driver_place__isnull', True), ('driver_leader__isnull', True)), _connector='OR'), name='car_one_driver', violation_error_message='Name one driver: a person of the trip, a leader, or somebody else.'),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=models.UniqueConstraint(fields=('session', 'car', 'number'), name='run_once', violation_error_message='This car already has a run of that number then.'),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=models.CheckConstraint(condition=models.Q(('number__gte', 1)), name='run_number', violation_error_message="A car's first run is number 1."),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('driver', ''), models.Q(('driver_place__isnull', True), ('driver_leader__isnull', True), _connector='OR')), models.Q(('driver_place__isnull', True), ('driver_leader__isnull', True)), _connector='OR'), name='run_one_driver', violation_error_message='Name one driver: a person of the trip, a leader, or somebody else.'),
        ),
        migrations.AddConstraint(
            model_name='triprules',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('set_up_min__isnull', True), ('set_up_min__gte', 0), _connector='OR'), models.Q(('settle_min__isnull', True), ('settle_min__gte', 0), _connector='OR'), models.Q(('stop_min__isnull', True), ('stop_min__gte', 0), _connector='OR'), models.Q(('pick_up_window_min__isnull', True), ('pick_up_window_min__gte', 0), _connector='OR'), models.Q(('later_untold_min__isnull', True), ('later_untold_min__gte', 0), _connector='OR'), models.Q(('burden_walk_m__isnull', True), ('burden_walk_m__gte', 0), _connector='OR'), models.Q(('ev_low__isnull', True), ('ev_low__gte', 0), _connector='OR'), ('ev_span__gt', 0), ('hand_over_min__gt', 0), ('shutter_s__gt', 0)), name='rules_times', violation_error_message='Minutes and metres are not negative; a hand-over comes after some minutes.'),
        ),
        migrations.RunPython(drivers_found, migrations.RunPython.noop),
    ]
