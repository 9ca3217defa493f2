"""Pressure under a bandage: closed forms, surface maps, discs, padding, spread."""
