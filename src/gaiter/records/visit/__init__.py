"""One visit: its boxes, what is carried over, its case and its decision."""
