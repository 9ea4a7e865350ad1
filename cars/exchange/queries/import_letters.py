"""Columns by their letters; without Django, for the files' readers."""


def column_name(column: int) -> str:
    """A column as spreadsheets call it: A, B, ... Z, AA."""
    name, column = "", column + 1
    while column:
        column, letter = divmod(column - 1, 26)
        name = chr(ord("A") + letter) + name
    return name
