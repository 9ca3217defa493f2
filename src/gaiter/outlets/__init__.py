"""What leaves the clinic, made from the record."""
