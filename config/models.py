"""Rows of the house itself."""

from django.db import models


class WorkerSeen(models.Model):
    """A sign of life of one worker; it goes when the worker ends in order. Backups leave it out."""

    worker_id = models.CharField(max_length=64, unique=True)
    seen_at = models.DateTimeField()

    class Meta:
        verbose_name = "worker"

    def __str__(self) -> str:
        return self.worker_id
