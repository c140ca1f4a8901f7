from django.apps import AppConfig


class CurelogConfig(AppConfig):
    name = "curelog"
    verbose_name = "curelog"
