"""Backup, restore and key rotation."""
