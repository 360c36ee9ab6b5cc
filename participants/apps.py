from django.apps import AppConfig
from django.utils import translation

from participants.core.language import speak_through


class ParticipantsConfig(AppConfig):
    name = "participants"
    verbose_name = "People"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Let the core's sentences be translated by Django."""
        speak_through(translation)
