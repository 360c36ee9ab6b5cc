
import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('trips', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='PaperPack',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('state', models.CharField(choices=[('waiting', 'waiting for a worker'), ('running', 'being printed'), ('finished', 'finished'), ('failed', 'not made'), ('not_finished', 'not finished, start again')], default='waiting', max_length=14)),
                ('page_size', models.CharField(choices=[('A4', 'A4'), ('Letter', 'Letter')], default='A4', max_length=6)),
                ('asked_at', models.DateTimeField()),
                ('heartbeat_at', models.DateTimeField(blank=True, null=True)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('done', models.PositiveIntegerField(default=0)),
                ('total', models.PositiveIntegerField(default=0)),
                ('fault', models.TextField(blank=True)),
                ('content', models.BinaryField(blank=True, null=True)),
                ('asked_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='paper_packs', to=settings.AUTH_USER_MODEL)),
                ('rota', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='paper_packs', to='trips.rota')),
                ('trip', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='paper_packs', to='trips.trip')),
            ],
            options={
                'ordering': ['trip', 'asked_at', 'uuid'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('state__in', ['waiting', 'running'])), fields=('trip',), name='paper_pack_active_once_a_trip', violation_error_message='Papers are already being printed for this trip.')],
            },
        ),
    ]
