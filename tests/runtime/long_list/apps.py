from django.apps import AppConfig


class LongListConfig(AppConfig):
    """Brings a print that takes a while."""

    name = "tests.runtime.long_list"
    documents = ("tests.runtime.long_list.prints.DOCUMENTS",)
