from django.urls import reverse
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.printing.models import PrintJob

# Named once for the schema: what is exported goes through the same states.
PRINT_STATES = PrintJob.State.choices


class AskSerializer(CreateOnceSerializer):
    """What to print."""

    document = serializers.SlugField(max_length=40, help_text="Which document, such as `sheet`.")
    subject_id = serializers.UUIDField(help_text="The id of what it is printed of.")


class PrintJobSerializer(serializers.ModelSerializer[PrintJob]):
    """A print that was asked for, and how far it is."""

    pages = serializers.IntegerField(
        source="stored.pages", default=None, allow_null=True, read_only=True
    )
    file = serializers.SerializerMethodField(help_text="Where the PDF is, once it is ready.")

    class Meta:
        model = PrintJob
        fields = (
            *("id", "document", "subject_id", "title", "state", "problem"),
            *("created_at", "finished_at", "pages", "file"),
        )
        read_only_fields = fields

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_file(self, job: PrintJob) -> str | None:
        """The file's address."""
        return reverse("api-print-file", args=[job.pk]) if job.stored_id else None
