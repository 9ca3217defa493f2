"""Signing in, second factor, lock, accounts, standing orders."""
