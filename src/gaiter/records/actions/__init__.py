"""Everything that may be written, each a verb."""
