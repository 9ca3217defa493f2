"""The computation: pure functions on frozen records; no files, network or clock."""
