"""The service as somebody meets it who wants what is not theirs."""
