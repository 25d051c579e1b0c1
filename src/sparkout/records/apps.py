"""The records as a Django application."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """The workshop's records."""

    name = "sparkout.records"
    label = "records"
    default_auto_field = "django.db.models.BigAutoField"
