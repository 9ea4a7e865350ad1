"""What is said when something typed is not a quantity."""


class QuantityError(ValueError):
    """Typed text that is not a quantity of the kind wanted.

    Its message is a sentence for the person who typed, saying what is wrong and how to write
    it; `text` is what was typed, so that it can stay in the box.
    """

    def __init__(self, message: str, text: str) -> None:
        super().__init__(message)
        self.message = message
        self.text = text


class Refusal(Exception):
    """Why text is refused, as a sentence for who typed it; `parse` adds the text."""


def quoted(piece: str) -> str:
    """A piece of what was typed, fit to stand in a sentence: short and printable."""
    clean = "".join(char if char.isprintable() else "?" for char in piece)
    return clean if len(clean) <= 24 else clean[:23] + "…"
