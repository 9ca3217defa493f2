"""Papers: notes, letters, orders and leaflets as words in blocks."""
