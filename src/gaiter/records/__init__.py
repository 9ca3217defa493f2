"""The clinic's record: models, and actions that alone may write them."""
