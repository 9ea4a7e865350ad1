"""Days, times and time zones as people read them: pure computation, no framework."""
