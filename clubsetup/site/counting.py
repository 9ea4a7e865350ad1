"""Things counted, in a sentence."""


def counted(count: int, one: str, more: str = "") -> str:
    """'1 photo', '2 photos'; `more` where it is not the same with an s."""
    return f"{count} {one if count == 1 else more or one + 's'}"
