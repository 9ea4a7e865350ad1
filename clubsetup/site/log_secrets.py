"""No secret of an address stands in a log: whoever reads the log could follow the link."""

import logging
import re

# What follows these in an address opens something: an invitation, a new password, a confirmation.
_SLASH = "(?:/|%2[Ff])"  # in the address to come back to after signing in
_BEFORE = "|".join(("join", f"password{_SLASH}reset{_SLASH}key", "confirm-email"))
SECRET = re.compile(rf"({_SLASH}(?:{_BEFORE}){_SLASH})[^/\s?#%&\"']+")
HIDDEN = r"\1…"


class HideSecrets(logging.Filter):
    """Hides the secret at the end of links, in the message and in a traceback's text."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Lets every record through, without its secrets."""
        message = record.getMessage()
        hidden = SECRET.sub(HIDDEN, message)
        if hidden != message:
            record.msg, record.args = hidden, ()
        if record.exc_info and not record.exc_text:
            record.exc_text = logging.Formatter().formatException(record.exc_info)
        if record.exc_text:
            record.exc_text = SECRET.sub(HIDDEN, record.exc_text)
        return True
