"""How fabric is laid: techniques, paths, strips, coverage, rolls."""
