"""The web bench as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Pages, templates and static files of the web bench."""

    name = "sparkout.web"
    label = "web"
