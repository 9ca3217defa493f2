"""Teams: whose people somebody sees, and who is opened from outside."""
