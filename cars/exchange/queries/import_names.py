"""What a file that was sent is called here."""

LONGEST_NAME = 200


def kept_name(name: str) -> str:
    """Its name without folders and what cannot be shown."""
    clean = "".join(char for char in name.rpartition("/")[2] if char.isprintable()).strip()
    return clean[-LONGEST_NAME:] or "table"
