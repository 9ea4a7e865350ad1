"""What the API says of a field it cannot take: our sentence for each of the framework's.

The sentence names the field as it was sent and says what to send instead; one that a serializer
gives itself stays.
"""

import re

_WORDS = (
    (r"This field is required\.", "Send “{name}”: it is needed."),
    (r"This field may not be null\.", "“{name}” cannot be null. Send a value."),
    (r"This field may not be blank\.", "“{name}” cannot be empty. Write it out."),
    (r"Must be a valid boolean\.", "“{name}” is true or false."),
    (r"Not a valid string\.", "“{name}” is a text. Send it in quotes."),
    (
        r"Ensure this field has no more than (\d+) characters\.",
        "“{name}” has at most {0} letters. Shorten it.",
    ),
    (
        r"Ensure this field has at least (\d+) characters\.",
        "“{name}” has at least {0} letters. Write it out.",
    ),
    (
        r"Ensure this field has no more than (\d+) elements\.",
        "“{name}” has at most {0} entries. Send the rest apart.",
    ),
    (r"Ensure this field has at least (\d+) elements\.", "“{name}” has at least {0} entries."),
    (
        r'Enter a valid "slug" .*',
        "“{name}” is a word of letters, digits and hyphens, as in spring-seat.",
    ),
    (r"Enter a valid email address\.", "“{name}” is an e-mail address: name@club.example."),
    (r"“?(.*?)”? is not a valid UUID\.|Must be a valid UUID\.", "“{name}” is an id (a UUID)."),
    (r"A valid integer is required\.", "“{name}” is a whole number."),
    (r"A valid number is required\.", "“{name}” is a number."),
    (r"String value too large\.", "“{name}” has too many digits. Check the figure."),
    (
        r"Ensure this value is less than or equal to (\S+)\.",
        "“{name}” is never more than {0}. Check the figure.",
    ),
    (
        r"Ensure this value is greater than or equal to (\S+)\.",
        "“{name}” is never less than {0}. Check the figure.",
    ),
    (
        r"Ensure that there are no more than (\d+) digits? in total\.",
        "“{name}” has at most {0} digits. Shorten it.",
    ),
    (
        r"Ensure that there are no more than (\d+) decimal places?\.",
        "“{name}” has at most {0} digits after the point. Shorten it.",
    ),
    (
        r"Ensure that there are no more than (\d+) digits? before the decimal point\.",
        "“{name}” has at most {0} digits before the point. Check the figure.",
    ),
    (
        r"Datetime has wrong format\..*|Expected a datetime but got a date\.|"
        r"Invalid datetime for the timezone.*|Datetime value out of range\.",
        "“{name}” is a time: 2026-03-14T18:30:00Z.",
    ),
    (
        r"Date has wrong format\..*|Expected a date but got a datetime\.",
        "“{name}” is a day: 2026-03-14.",
    ),
    (
        r'"(.*)" is not a valid choice\.',
        "“{0}” is not among the choices of “{name}”; the schema lists them.",
    ),
    (r"Expected a list of items but got type .*", "“{name}” is a list."),
    (r"This list may not be empty\.", "“{name}” is empty. Send at least one entry."),
    (r"Expected a dictionary of items but got type .*", "“{name}” is an object."),
    (r"This dictionary may not be empty\.", "“{name}” is empty. Send at least one entry."),
    (r"Value must be valid JSON\.", "“{name}” is JSON, and what was sent is none."),
    (
        r'Invalid pk ".*" - object does not exist\.',
        "“{name}” names nothing that is there, or that is yours to see.",
    ),
    (r"Incorrect type\. Expected pk value, received .*", "“{name}” is an id, sent as text."),
    (r"Invalid data\. Expected a dictionary, but got .*", "“{name}” is an object."),
    (
        r"The submitted data was not a file\..*|No file was submitted\.|"
        r"No filename could be determined\.",
        "“{name}” is a file. Send it as multipart/form-data.",
    ),
    (r"The submitted file is empty\.", "The file “{name}” is empty. Send another."),
    (r"Null characters are not allowed\.", "“{name}” holds a sign that cannot be kept."),
    (r"(?:A \S+ with that|This field) .*must be unique\.", "“{name}” is taken. Send another."),
)
_PATTERNS = [(re.compile(pattern, re.DOTALL), words) for pattern, words in _WORDS]
WHOLE = "what was sent"


def reworded(message: str, at: str) -> str:
    """The framework's message about the field at a JSON pointer in our words; others as they are.

    An entry of a list is told with its place: 'readings, entry 2'.
    """
    for pattern, words in _PATTERNS:
        if match := pattern.fullmatch(message):
            return words.format(*match.groups(), name=_name(at))
    return message


def _name(at: str) -> str:
    parts = at.strip("/").split("/")
    names = [f"entry {int(part) + 1}" if part.isdigit() else part for part in parts]
    return ", ".join(part for part in names if part not in ("", "non_field_errors")) or WHOLE
