"""The clinic in the browser: one folder for each feature."""
