"""Invented legs for whoever learns."""
