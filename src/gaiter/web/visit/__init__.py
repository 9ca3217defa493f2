"""The visit: look, measure, safety, care, check."""
