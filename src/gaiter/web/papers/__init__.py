"""Papers that leave the clinic."""
