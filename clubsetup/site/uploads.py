"""Files that are sent to the service."""

from django.conf import settings
from django.core.files.uploadhandler import FileUploadHandler


class CutOff(FileUploadHandler):
    """Keeps no more of a file than the most that any form takes, and a little: enough for the form
    to say that it is too large, and not enough to fill a disk."""

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        """As FileUploadHandler: None keeps a chunk from those who store it."""
        return raw_data if start <= settings.MOST_UPLOAD_BYTES else None

    def file_complete(self, file_size: int) -> None:
        """The handlers after this one have the file."""
        return
