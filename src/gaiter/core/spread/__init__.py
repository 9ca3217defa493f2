"""How far pressures spread: draws of whole bandages, their sums, what they come from."""
