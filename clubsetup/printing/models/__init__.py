from clubsetup.printing.models.print_job import PrintJob, StoredPrint

__all__ = ["PrintJob", "StoredPrint"]
