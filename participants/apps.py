from django.apps import AppConfig


class ParticipantsConfig(AppConfig):
    name = "participants"
    verbose_name = "People"
    default_auto_field = "django.db.models.BigAutoField"
