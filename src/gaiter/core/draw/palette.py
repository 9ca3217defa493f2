"""Colours of paper and screen. A colour never says anything alone: sign and word come with it."""

PAPER, INK, QUIET, RULE = "#FBF8F3", "#22252B", "#5F646C", "#D9D3C8"
ACCENT, TINT = "#6A2C5B", "#F1E4EC"
GOOD, WATCH, STOP = "#2F6B4F", "#8A5A00", "#9B1C1C"

FONT = "Source Sans 3, Source Sans Pro, sans-serif"
