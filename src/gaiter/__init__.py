"""Plans, guides, checks and follows compression bandaging of the lower leg."""

__version__ = "0.1.0"
