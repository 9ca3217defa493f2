"""Finding and adding people."""
