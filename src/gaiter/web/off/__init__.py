"""A bandage loosened or taken off."""
