"""The demo: an invented club, made by the same actions as a real one."""
