"""A car to its next owner, with the history that its giver chooses."""
