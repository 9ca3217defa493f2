"""The plan: computed, changed by hand, compared, approved."""
