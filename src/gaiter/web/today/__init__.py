"""What needs doing today, and the leg page."""
