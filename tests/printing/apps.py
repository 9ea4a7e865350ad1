from django.apps import AppConfig


class PrintingTestsConfig(AppConfig):
    """Brings the tests' own documents."""

    name = "tests.printing"
    label = "printing_tests"
    documents = ("tests.printing.documents.DOCUMENTS",)
