"""Materials and counts."""
