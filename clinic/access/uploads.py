"""How much of a sent file is read at all, whoever sends it and wherever."""

from django.core.files.uploadhandler import FileUploadHandler, SkipFile

MOST_BYTES = 25 * 1024 * 1024


class UploadLimit(FileUploadHandler):
    """
    Goes before the other handlers: a file beyond the limit is read to its end and kept nowhere.

    It is then missing among the sent files; `was_too_large` tells why. Django takes a form apart
    before anybody is asked who they are, so that without a limit anyone could fill the disk.
    """

    def new_file(self, *args, **kwargs) -> None:
        super().new_file(*args, **kwargs)
        self.received = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.received += len(raw_data)
        if self.received > MOST_BYTES:
            if self.request is not None:
                self.request.META["clinic.upload_too_large"] = True
            raise SkipFile
        return raw_data

    def file_complete(self, file_size: int) -> None:
        """The handlers behind this one make the file."""


def was_too_large(request) -> bool:
    """Whether a file of this request went beyond the limit. Asked after reading request.FILES."""
    return bool(request.META.get("clinic.upload_too_large"))
