"""The office as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class OfficeConfig(AppConfig):
    """Name and label; nothing happens at start."""

    name = "slabwright.office"
    label = "office"
    verbose_name = "Slabwright office"
