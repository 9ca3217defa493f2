"""Questions about the record: what is due, what is in force, what was learnt."""
