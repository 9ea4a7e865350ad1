"""Which reader a file is for."""

from cars.exchange.files.import_csv import read_csv
from cars.exchange.files.import_table import MOST_BYTES, Table, TableRefused
from cars.exchange.files.import_xlsx import read_xlsx

ZIPPED = b"PK\x03\x04"
OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


def read_table(name: str, content: bytes) -> Table:
    """The table of a file that was sent. Raises TableRefused."""
    if len(content) > MOST_BYTES:
        raise TableRefused(f"This file is larger than {MOST_BYTES // 1_000_000} MB. Split it.")
    if name.lower().endswith((".xlsm", ".xltm", ".xlsb", ".xlam")):
        raise TableRefused("A workbook with macros is not read. Save it as XLSX without macros.")
    if content.startswith(OLD_WORKBOOK):
        raise TableRefused(
            "This is a workbook of the old kind, or one locked by a password. Save it as XLSX "
            "without a password."
        )
    table = read_xlsx(content) if content.startswith(ZIPPED) else read_csv(content)
    if not table.rows:
        raise TableRefused("Nothing stands in this file.")
    return table
