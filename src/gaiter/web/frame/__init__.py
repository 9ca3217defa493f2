"""What every page shares: frame, access, words, errors, logs."""
